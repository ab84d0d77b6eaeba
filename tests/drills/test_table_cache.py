"""The cache of the table: never wrong, never in the way."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from cards.errors import TableError
from cards.tables import SHIPPED, Table, load_table
from drills import table_cache, table_text
from drills.table_cache import load_cached_table


@pytest.fixture(autouse=True)
def shipped(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the shipped table that nobody edits meanwhile."""
    folder = tmp_path_factory.mktemp("shipped") / "table"
    shutil.copytree(SHIPPED, folder)
    monkeypatch.setattr(table_cache, "SHIPPED", folder)
    return folder


@pytest.fixture
def table(shipped: Path) -> Table:
    return load_table(shipped=shipped)


@pytest.fixture
def cache(tmp_path: Path) -> Path:
    return tmp_path / "cache"


@pytest.fixture
def own(tmp_path: Path) -> Path:
    folder = tmp_path / "own"
    (folder / "white").mkdir(parents=True)
    return folder


def write(own: Path, text: str) -> Path:
    file = own / "white" / "chardonnay-chablis.toml"
    file.write_text(text, encoding="utf-8")
    return file


def no_parsing(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise AssertionError("a file of the table was parsed")

    monkeypatch.setattr(table_cache, "read_documents", refuse)


def test_the_table_from_the_cache_is_the_table_of_the_files(
    cache: Path, table: Table, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert load_cached_table(cache) == table
    no_parsing(monkeypatch)
    assert load_cached_table(cache) == table


def test_own_profiles_are_in_the_cache_too(
    cache: Path, own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(own, 'telling = "My own words."')
    first = load_cached_table(cache, own)
    no_parsing(monkeypatch)
    again = load_cached_table(cache, own)
    assert again == first
    assert again.profiles["chardonnay-chablis"].telling == "My own words."


def test_an_edited_file_shows_at_the_next_start(cache: Path, own: Path) -> None:
    write(own, 'telling = "First."')
    load_cached_table(cache, own)
    file = write(own, 'telling = "Other."')
    # An edit of the same length within the file system's tick would be missed; editors take longer.
    os.utime(file, ns=(1, 1))
    assert load_cached_table(cache, own).profiles["chardonnay-chablis"].telling == "Other."
    file.unlink()
    assert load_cached_table(cache, own).profiles["chardonnay-chablis"].telling != "Other."


def test_a_mistake_is_told_at_every_start_until_it_is_mended(cache: Path, own: Path) -> None:
    load_cached_table(cache, own)
    write(own, "telling = 3")
    for _ in range(2):
        with pytest.raises(TableError, match="line 1: telling"):
            load_cached_table(cache, own)
    write(own, 'telling = "Mended."')
    assert load_cached_table(cache, own).profiles["chardonnay-chablis"].telling == "Mended."


def damage_cut(file: Path) -> None:
    file.write_bytes(file.read_bytes()[:-100])


def damage_binary(file: Path) -> None:
    file.write_bytes(b"\xff\xfe\x00")


def damage_shape(file: Path) -> None:
    file.write_text("[]", encoding="utf-8")


def damage_one_wine(file: Path) -> None:
    """As long as before, and still JSON."""
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("Chablis", "Shablis"), encoding="utf-8", newline="")


def damage_other_form(file: Path) -> None:
    """Whole, but from a version whose classes had other fields."""
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace('"short", ', "", 1), encoding="utf-8", newline="")


def damage_folder(file: Path) -> None:
    file.unlink()
    file.mkdir()


@pytest.mark.parametrize(
    "damage",
    [
        damage_cut,
        damage_binary,
        damage_shape,
        damage_one_wine,
        damage_other_form,
        damage_folder,
    ],
)
def test_a_damaged_cache_is_read_past(
    cache: Path, table: Table, damage: Callable[[Path], None]
) -> None:
    load_cached_table(cache)
    whole = (cache / "table.json").read_bytes()
    damage(cache / "table.json")
    assert load_cached_table(cache) == table
    if (cache / "table.json").is_file():
        assert (cache / "table.json").read_bytes() == whole


def test_where_no_cache_can_be_written_the_program_works_all_the_same(
    tmp_path: Path, table: Table
) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way", encoding="utf-8")
    assert load_cached_table(blocked / "cache") == table
    assert list(tmp_path.iterdir()) == [blocked]


def test_the_cache_is_written_whole_and_leaves_nothing_beside_it(cache: Path) -> None:
    load_cached_table(cache)
    assert [file.name for file in cache.iterdir()] == ["table.json"]


def test_from_the_cache_a_wine_is_read_when_it_is_asked_for(
    cache: Path, table: Table, monkeypatch: pytest.MonkeyPatch
) -> None:
    load_cached_table(cache)
    read = load_cached_table(cache)
    parsed: list[str] = []
    loads = table_text.json.loads
    monkeypatch.setattr(
        table_text.json, "loads", lambda text: (parsed.append(text), loads(text))[1]
    )
    assert read.profiles.keys() == table.profiles.keys()
    assert "chardonnay-chablis" in read.profiles
    assert parsed == []
    assert read.profiles["chardonnay-chablis"] == table.profiles["chardonnay-chablis"]
    assert read.profiles["chardonnay-chablis"] is read.profiles["chardonnay-chablis"]
    assert len(parsed) == 1
    with pytest.raises(KeyError):
        read.profiles["no-such-wine"]
    assert len(parsed) == 1


def test_a_value_without_a_text_is_refused_not_lost(table: Table) -> None:
    with pytest.raises(TypeError, match="set has no text"):
        table_text.table_text(replace(table, fingerprint={"a"}))  # type: ignore[arg-type]


def test_newer_code_builds_the_table_anew(
    cache: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    load_cached_table(cache)
    before = (cache / "table.json").read_bytes()
    package = tmp_path / "cards"
    package.mkdir()
    (package / "__init__.py").write_text("", encoding="utf-8")
    monkeypatch.setattr(table_cache.cards, "__file__", str(package / "__init__.py"))
    load_cached_table(cache)
    assert (cache / "table.json").read_bytes() != before
