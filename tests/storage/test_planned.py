"""A cellar and planned flights: what is kept, what stays sealed, and what can be taken back."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

from drills.storage.repository import open_repository
from drills.storage.upgrade import REVISIONS, read_revision
from tests.storage.making import dump

THIRD = Path(__file__).parent / "old" / "revision-0003.sqlite3"


def test_a_file_of_the_third_revision_keeps_all_it_held(tmp_path: Path) -> None:
    file = tmp_path / "crosspour.sqlite3"
    shutil.copy(THIRD, file)
    with closing(sqlite3.connect(THIRD)) as reader:
        old = {
            name: reader.execute(f"SELECT * FROM {name}").fetchall()
            for (name,) in reader.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
            if name not in ("alembic_version", "meta")
        }
    assert all(old.values()), "the fixture has something in every table"
    with open_repository(file) as repository:
        assert repository.upgrade_copy is not None
        assert dump(repository.upgrade_copy) == dump(THIRD)
    assert read_revision(file) == REVISIONS[-1]
    with closing(sqlite3.connect(file)) as reader:
        for name, rows in old.items():
            wide = len(rows[0])
            now = [row[:wide] for row in reader.execute(f"SELECT * FROM {name}")]
            assert now == rows, name
        assert reader.execute("PRAGMA integrity_check").fetchone() == ("ok",)
