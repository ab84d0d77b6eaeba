"""Where files are kept."""

from __future__ import annotations

from pathlib import Path

import pytest

from drills import paths
from tests.storage.making import spawn


def test_one_variable_puts_everything_under_one_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CROSSPOUR_HOME", str(tmp_path))
    monkeypatch.delenv("CROSSPOUR_DATABASE", raising=False)
    places = [
        paths.data_folder(),
        paths.cache_folder(),
        paths.settings_file(),
        paths.table_folder(),
        paths.database_file(),
        Path(paths.database_location()),
    ]
    assert all(place == tmp_path or tmp_path in place.parents for place in places)
    assert len({*places[1:5]}) == 4


def test_without_it_the_systems_own_folders_are_used(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CROSSPOUR_HOME", raising=False)
    for place in (paths.data_folder(), paths.cache_folder(), paths.settings_file()):
        assert place.is_absolute()
        assert "crosspour" in place.parts


def test_an_argument_beats_the_variable_and_the_variable_the_usual_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CROSSPOUR_HOME", str(tmp_path))
    monkeypatch.setenv("CROSSPOUR_DATABASE", "postgresql+psycopg://group/wine")
    assert paths.database_location("other.sqlite3") == str(Path("other.sqlite3").absolute())
    assert paths.database_location() == "postgresql+psycopg://group/wine"
    monkeypatch.setenv("CROSSPOUR_DATABASE", " ")
    assert paths.database_location() == str(tmp_path / "crosspour.sqlite3")


def test_a_tilde_means_the_home_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    assert paths.database_location("~/wine.sqlite3") == str(tmp_path / "wine.sqlite3")


@pytest.mark.parametrize("module", ["drills.paths", "drills.errors", "drills.storage.records"])
def test_light_modules_load_nothing_of_the_database(module: str) -> None:
    check = (
        f"import sys, {module};"
        "print([m for m in ('sqlalchemy', 'sqlmodel', 'pydantic', 'alembic') if m in sys.modules])"
    )
    assert spawn(check).communicate()[0].strip() == "[]"
