"""A file of any earlier version opens with every row it held, and goes on from there."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from cards.cellar import Cellar
from cards.tables import Table
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.keeping_safe import back_up_now, restore
from drills.storage.upgrade import REVISIONS, read_revision
from tests.desks import Watch, answer_all

OLD = sorted((Path(__file__).parents[1] / "storage" / "old").glob("revision-*.sqlite3"))
Rows = dict[str, list[dict[str, object]]]


def rows(file: Path) -> Rows:
    """Every row of every table as a dictionary."""
    with closing(sqlite3.connect(file)) as reader:
        reader.row_factory = sqlite3.Row
        tables = reader.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        return {
            name: [dict(row) for row in reader.execute(f"SELECT * FROM {name} ORDER BY rowid")]
            for (name,) in tables
            if name not in ("alembic_version", "meta") and not name.startswith("sqlite_")
        }


def holds(now: list[dict[str, object]], old: list[dict[str, object]]) -> bool:
    """Whether the old rows are all there with the values they had; columns may have joined."""
    return len(now) >= len(old) and all(
        {key: new[key] for key in was} == was for new, was in zip(now, old, strict=False)
    )


@pytest.mark.parametrize("old", OLD, ids=lambda file: file.stem)
@pytest.mark.usefixtures("home")
def test_an_old_file_keeps_every_row_and_is_drilled_on(
    old: Path, tmp_path: Path, watch: Watch, table: Table, cellar: Cellar
) -> None:
    file = tmp_path / "crosspour.sqlite3"
    shutil.copyfile(old, file)
    before = rows(old)
    desk = Desk(str(file), clock=watch.clock)
    desk.table, desk.cellar = table, cellar
    taster = desk.repository.tasters()[0].name
    desk = _again(desk, taster)
    assert read_revision(file) == REVISIONS[-1]
    now = rows(file)
    # The contrasts of today's table join, and those of the old one rest.
    contrasts = {row["id"]: row["wine_a"] for row in now.pop("contrast")}
    assert all(contrasts[row["id"]] == row["wine_a"] for row in before.pop("contrast"))
    assert [name for name, held in before.items() if not holds(now[name], held)] == []
    session = DrillSession(desk, 600)
    answer_all(session, 5)
    assert session.undo() is not None
    back_up_now(desk)
    restore(desk)
    now = rows(file)
    assert len(now["answer"]) == len(before["answer"]) + 5
    assert [name for name, held in before.items() if not holds(now[name], held)] == []
    with closing(sqlite3.connect(file)) as reader:
        assert reader.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert reader.execute("PRAGMA foreign_key_check").fetchall() == []


def _again(desk: Desk, taster: str) -> Desk:
    """The same desk, at which a taster of this name sits: an old file may know several."""
    again = Desk(desk.location, desk.clock, taster)
    again.table, again.cellar = desk.table, desk.cellar
    desk.close()
    return again


def test_there_is_a_real_file_of_every_earlier_version() -> None:
    assert [file.stem.removeprefix("revision-") for file in OLD] == list(REVISIONS[:-1])
