"""The taster's own folder is written whole or not at all, never against the table or itself."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from cards.errors import TableError
from cards.facts import Fact, FactPath
from cards.profiles import UNLISTED
from drills.errors import OverlayError, UsageError
from drills.overlay import Overlay
from tests.drills.own_folder import ACID, BODY, OTHER, SHELF, WINE, change, files_of, profile_of

# ---- what is refused

REFUSED: list[tuple[dict[FactPath, Fact | None], str, str]] = [
    ({ACID: Fact("hihg")}, "structure.acid", "no level"),
    ({ACID: Fact("high", "hearsay")}, "structure.acid", "unknown basis “hearsay”"),
    ({("alcohol", "low"): Fact(15), ("alcohol", "high"): Fact(14)}, "alcohol.low", "above high"),
    ({("alcohol", "low"): Fact(2), ("alcohol", "high"): Fact(14)}, "alcohol.low", "outside 4"),
    ({("sugar", "low"): Fact(1), ("sugar", "high"): Fact(60)}, "sugar.class", "does not fit"),
    ({("laterals",): Fact(["nowhere"])}, "laterals", "no wine of the table"),
    ({("laterals",): Fact([])}, "laterals", "names no lateral"),
    ({("grape", "shares"): Fact({"merlot": "20"})}, "grape.shares", "add up to 100"),
    ({("grape", "shares"): Fact({"mrelot": "100"})}, "grape.shares", "not in names.toml"),
    ({("descriptors", "lemmon"): Fact("common")}, "descriptors.lemmon", "lexicon.toml"),
    ({("structure", "oak"): Fact("high"), ("oak", "months"): Fact("0")}, "structure.oak", "oak"),
    ({("short",): Fact("x" * 25)}, "short", "24 fit"),
    ({("structure", "finish"): Fact(UNLISTED)}, "structure.finish", "missing"),
]


@pytest.mark.parametrize(("facts", "field", "said"), REFUSED, ids=[r[2] for r in REFUSED])
def test_what_contradicts_the_table_is_refused_and_nothing_written(
    own: Overlay,
    folder: Path,
    facts: dict[FactPath, Fact | None],
    field: str,
    said: str,
) -> None:
    own.save([change({BODY: Fact("med")}, "sound")])
    before = files_of(folder)
    sound = change({ACID: Fact("low")}, wine=OTHER)
    with pytest.raises(TableError) as raised:
        own.save([sound, change(facts)])
    assert (raised.value.file, raised.value.field) == (str(folder / SHELF), field)
    assert said in raised.value.problem
    assert files_of(folder) == before


def test_a_wine_that_is_wrong_already_can_still_be_put_right(own: Overlay, folder: Path) -> None:
    file = folder / SHELF
    file.parent.mkdir(parents=True)
    file.write_text('[structure]\nacid = "much"\n', encoding="utf-8")
    own.save([change({BODY: Fact("med")})])
    assert [error.field for error in own.read().problems] == ["structure.acid"]
    own.save([change({ACID: Fact("high")})])
    assert own.read().problems == ()


def test_a_file_that_is_no_toml_is_left_as_it_is(own: Overlay, folder: Path) -> None:
    file = folder / SHELF
    file.parent.mkdir(parents=True)
    file.write_text('[structure]\nacid = "high\n', encoding="utf-8")
    with pytest.raises(TableError, match="no valid TOML") as raised:
        own.save([change({ACID: Fact("med")})])
    assert (raised.value.file, raised.value.line) == (str(file), 2)
    assert files_of(folder) == {SHELF: '[structure]\nacid = "high\n'}


@pytest.mark.parametrize("wine", ["../secret", "a/b", "A", "", "a b", "x" * 3 + "-", "wine.toml"])
def test_no_name_leads_out_of_the_folder(own: Overlay, folder: Path, wine: str) -> None:
    with pytest.raises(UsageError, match="no key"):
        own.save([change({ACID: Fact("med")}, wine=wine)])
    with pytest.raises(UsageError, match="none of white"):
        own.save([change({ACID: Fact("med")}, style="..")])
    assert files_of(folder) == {}


def test_a_folder_that_cannot_be_written_is_said(own: Overlay, folder: Path) -> None:
    folder.write_text("a file where the folder should be", encoding="utf-8")
    with pytest.raises(OverlayError, match="cannot be written"):
        own.save([change({ACID: Fact("med")})])


def test_a_full_disk_leaves_the_old_file(
    own: Overlay, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own.save([change({ACID: Fact("low")})])
    before = files_of(folder)

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OverlayError, match="No space left"):
        own.save([change({ACID: Fact("med")}), change({ACID: Fact("med")}, wine=OTHER)])
    assert files_of(folder) == before


# ---- a process that dies

DYING = """
import os, sys
from pathlib import Path
from cards.facts import Change, Fact
from drills.overlay import Overlay

left = [int(sys.argv[2])]
replace = os.replace

def dying(*given, **more):
    left[0] -= 1
    if left[0] < 0:
        os._exit(9)
    replace(*given, **more)

os.replace = dying
wines = sys.argv[3].split(",")
Overlay(Path(sys.argv[1])).save(
    [Change(wine, "white", {("structure", "acid"): Fact("med")}) for wine in wines]
)
"""


def dies_before_rename(folder: Path, number: int, *wines: str) -> bool:
    """Run a change that is killed before its renaming of that number; False once none is left."""
    ran = subprocess.run(
        [sys.executable, "-c", DYING, str(folder), str(number), ",".join(wines)],
        cwd=Path(__file__).parents[2],
        check=False,
        capture_output=True,
        text=True,
    )
    assert ran.returncode in (0, 9), ran.stderr
    return ran.returncode == 9


def test_killed_between_writing_and_renaming_the_old_file_stands(
    own: Overlay, folder: Path
) -> None:
    own.save([change({ACID: Fact("low")}, "mine")])
    old = (folder / SHELF).read_text(encoding="utf-8")
    for number in range(9):
        if not dies_before_rename(folder, number, WINE):
            break
        assert (folder / SHELF).read_text(encoding="utf-8") == old
        assert profile_of(folder).structure["acid"].low == 0
    else:
        raise AssertionError("the change never came to its end")
    assert number == 2
    assert (folder / f"{SHELF}.before").read_text(encoding="utf-8") == old
    assert str(profile_of(folder).structure["acid"]) == "med"


def test_killed_among_several_files_the_next_start_has_all_or_none(tmp_path: Path) -> None:
    seen = set()
    for number in range(12):
        folder = tmp_path / str(number)
        own = Overlay(folder)
        own.save([change({ACID: Fact("low")}), change({ACID: Fact("low")}, wine=OTHER)])
        died = dies_before_rename(folder, number, WINE, OTHER)
        reading = own.read()
        assert reading.problems == ()
        acids = {str(reading.table.profiles[wine].structure["acid"]) for wine in (WINE, OTHER)}
        assert len(acids) == 1, f"half of the change stands after the death before {number}"
        seen |= acids
        assert not (folder / "pending.json").exists()
        if not died:
            break
    assert seen == {"low", "med"}
    assert not died
