"""An old file becomes a new one whole, or stays as it was."""

from __future__ import annotations

import shutil
import signal
import sqlite3
import threading
from contextlib import closing
from pathlib import Path

import pytest

from drills.errors import StorageError
from drills.storage.engine import locate
from drills.storage.repository import open_repository
from drills.storage.upgrade import MIGRATIONS, REVISIONS, prepare_file, read_revision
from tests.storage.making import answer, contrast, dump, intake, memory, pour, spawn

NOW, NEXT = REVISIONS[-1], f"{len(REVISIONS) + 1:04d}"
AND_NEXT = (*REVISIONS, NEXT)
HEAD = f"""
import os, signal
import sqlalchemy as sa
from alembic import op
revision, down_revision, branch_labels, depends_on = "{NEXT}", "{NOW}", None, None
"""

# Recreates the table that answers and memories refer to: with foreign keys on, they would go.
RECREATE = """
def upgrade():
    with op.batch_alter_table("contrast") as batch:
        batch.add_column(sa.Column("hint", sa.Text(), nullable=True))
        batch.alter_column("rank", new_column_name="place")
    op.execute("UPDATE contrast SET hint = 'smell first'")
"""
FAIL = (
    RECREATE
    + """
    op.create_table("vintage", sa.Column("year", sa.Integer()))
    raise RuntimeError("the cellar is flooded")
"""
)
DIE = (
    RECREATE
    + """
    os.kill(os.getpid(), signal.SIGKILL)
"""
)
DANGLE = (
    RECREATE
    + """
    op.execute("DELETE FROM contrast WHERE id = 1")
"""
)


def migrations(folder: Path, body: str) -> Path:
    """The migrations of the program with one more behind them."""
    shutil.copytree(MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "versions" / f"r{NEXT}_next.py").write_text(HEAD + body, encoding="utf-8")
    return folder


def upgrade_with(file: Path, folder: Path) -> Path | None:
    return prepare_file(locate(file), migrations=folder, revisions=AND_NEXT, wait_seconds=10)


@pytest.fixture
def old(file: Path) -> Path:
    """A file of this revision with something in most tables."""
    with open_repository(file) as repository:
        me = repository.taster().id
        repository.keep_contrasts([contrast(n) for n in range(1, 50)], "f")
        drill = repository.start_drill(me, 600)
        for number in range(1, 20):
            repository.record_answer(answer(me, number, drill.id), memory(me, number))
        repository.record_pours(me, intake(), [pour("p1"), pour("p2", flight="Friday")])
    return file


def tables(file: Path) -> dict[str, int]:
    with closing(sqlite3.connect(file)) as reader:
        names = reader.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        return {n: reader.execute(f"SELECT count(*) FROM {n}").fetchone()[0] for (n,) in names}


def test_an_upgrade_keeps_every_row_and_a_copy_of_the_old_file(old: Path, tmp_path: Path) -> None:
    before, counted = dump(old), tables(old)
    copy = upgrade_with(old, migrations(tmp_path / "m", RECREATE))
    assert read_revision(old) == NEXT
    assert tables(old) == counted
    with closing(sqlite3.connect(old)) as reader:
        assert reader.execute("SELECT DISTINCT hint FROM contrast").fetchall() == [("smell first",)]
        assert reader.execute("PRAGMA foreign_key_check").fetchall() == []
        assert reader.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert copy is not None
    assert dump(copy) == before
    assert copy.parent == old.parent
    assert upgrade_with(old, tmp_path / "m") is None


def test_an_upgrade_that_fails_half_way_leaves_the_old_file(old: Path, tmp_path: Path) -> None:
    before, files = dump(old), {path.name for path in old.parent.iterdir()}
    folder = migrations(tmp_path / "m", FAIL)
    with pytest.raises(StorageError, match=r"it is as it was \(the cellar is flooded\)"):
        upgrade_with(old, folder)
    assert dump(old) == before
    assert {path.name for path in old.parent.iterdir()} - {"m"} == files
    with open_repository(old) as repository:
        assert len(repository.answers_of(repository.taster().id, 3)) == 1


def test_an_upgrade_that_would_leave_answers_without_their_contrast_is_taken_back(
    old: Path, tmp_path: Path
) -> None:
    before = dump(old)
    with pytest.raises(StorageError, match="would refer to nothing"):
        upgrade_with(old, migrations(tmp_path / "m", DANGLE))
    assert dump(old) == before


def test_a_process_killed_in_the_middle_of_an_upgrade_leaves_the_old_file(
    old: Path, tmp_path: Path
) -> None:
    before = dump(old)
    folder = migrations(tmp_path / "m", DIE)
    script = (
        "import sys; from pathlib import Path\n"
        "from drills.storage.engine import locate\n"
        "from drills.storage.upgrade import prepare_file\n"
        "prepare_file(locate(sys.argv[1]), migrations=Path(sys.argv[2]),"
        f" revisions={AND_NEXT!r})"
    )
    killed = spawn(script, old, folder)
    killed.communicate()
    assert killed.returncode == -signal.SIGKILL
    assert read_revision(old) == NOW
    assert dump(old) == before
    folder2 = migrations(tmp_path / "m2", RECREATE)
    assert upgrade_with(old, folder2) is not None
    assert read_revision(old) == NEXT


def test_two_that_upgrade_at_once_upgrade_once(old: Path, tmp_path: Path) -> None:
    counted = tables(old)
    folder = migrations(tmp_path / "m", RECREATE)
    failures: list[Exception] = []

    def run() -> None:
        try:
            upgrade_with(old, folder)
        except Exception as error:  # noqa: BLE001 - reported to the test below
            failures.append(error)

    # Alembic's context is one per process, so the second here is a process of its own.
    script = (
        "import sys; from pathlib import Path\n"
        "from drills.storage.engine import locate\n"
        "from drills.storage.upgrade import prepare_file\n"
        "prepare_file(locate(sys.argv[1]), migrations=Path(sys.argv[2]),"
        f" revisions={AND_NEXT!r}, wait_seconds=10)"
    )
    thread = threading.Thread(target=run)
    other = spawn(script, old, folder)
    thread.start()
    thread.join()
    other.communicate(timeout=60)
    assert other.returncode == 0
    assert failures == []
    assert read_revision(old) == NEXT
    assert len(list(old.parent.glob("*before*"))) == 1
    assert tables(old) == counted


def test_a_stale_file_is_not_upgraded_by_reading_it(old: Path, tmp_path: Path) -> None:
    before = dump(old)
    folder = migrations(tmp_path / "m", RECREATE)
    with pytest.raises(StorageError, match="open it once for writing"):
        prepare_file(locate(old), readonly=True, migrations=folder, revisions=AND_NEXT)
    assert dump(old) == before


def test_earlier_copies_are_never_overwritten(old: Path, tmp_path: Path) -> None:
    taken = old.with_name(f"crosspour.before-{NEXT}.sqlite3")
    taken.write_bytes(b"a copy of long ago")
    copy = upgrade_with(old, migrations(tmp_path / "m", RECREATE))
    assert copy == old.with_name(f"crosspour.before-{NEXT}-2.sqlite3")
    assert taken.read_bytes() == b"a copy of long ago"


def test_no_upgrade_without_room_for_the_copy(
    old: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise StorageError("the disk is full")

    before = dump(old)
    monkeypatch.setattr("drills.storage.upgrade.copy_database", full)
    with pytest.raises(StorageError, match="disk is full"):
        upgrade_with(old, migrations(tmp_path / "m", RECREATE))
    assert dump(old) == before
