"""A backup takes the database's place whole, and what stood there is never lost."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from drills.errors import DatabaseCorrupt, DatabaseLocked, StorageError
from drills.storage.locks import in_use
from drills.storage.repository import Repository, open_repository
from drills.storage.restore import restore_database
from drills.storage.upgrade import REVISIONS
from tests.storage.making import answer, beside, contrast, dump, memory, spawn

OLD = Path(__file__).with_name("old")


@pytest.fixture
def backup(repository: Repository, me: int, tmp_path: Path) -> Path:
    """A backup of one answer; the database has two by now, the second in its log."""
    repository.keep_contrasts([contrast(n) for n in range(1, 50)], "f")
    drill = repository.start_drill(me, 600)
    repository.record_answer(answer(me, 1, drill.id), memory(me, 1))
    target = tmp_path / "stick" / "copy.sqlite3"
    target.parent.mkdir()
    repository.backup(target)
    repository.record_answer(answer(me, 2, drill.id), memory(me, 2))
    return target


def answers(file: Path) -> int:
    with open_repository(file) as repository:
        drills = repository.drills(repository.taster().id)
        return sum(len(repository.answers_of_drill(one.id)) for one in drills)


def test_a_backup_takes_the_place_and_the_file_from_before_stays(
    repository: Repository, backup: Path, file: Path
) -> None:
    repository.close()
    done = restore_database(backup, file)
    assert (done.answers, done.pours) == (1, 0)
    assert done.kept == file.with_name("crosspour.replaced.sqlite3")
    assert answers(file) == 1
    assert answers(done.kept) == 2
    assert backup.exists()


def test_a_damaged_file_keeps_a_name_of_its_own_with_its_log(
    repository: Repository, backup: Path, file: Path
) -> None:
    log = file.with_name(file.name + "-wal").read_bytes()
    damaged = b"\0" * 100 + file.read_bytes()[100:]
    repository.close()
    file.write_bytes(damaged)
    file.with_name(file.name + "-wal").write_bytes(log)
    done = restore_database(backup, file)
    assert done.kept == file.with_name("crosspour.damaged.sqlite3")
    assert done.kept.read_bytes() == damaged
    assert done.kept.with_name(done.kept.name + "-wal").read_bytes() == log
    # The old log is not played into the new file.
    assert dump(file) == dump(backup)
    assert answers(file) == 1


def test_restoring_twice_keeps_both_files_from_before(
    repository: Repository, backup: Path, file: Path
) -> None:
    repository.close()
    first = restore_database(backup, file).kept
    second = restore_database(backup, file).kept
    assert first != second
    assert first is not None
    assert second is not None
    assert answers(first) == 2
    assert answers(second) == 1


def test_a_missing_database_is_restored_too(
    repository: Repository, backup: Path, file: Path
) -> None:
    repository.close()
    file.unlink()
    assert restore_database(backup, file).kept is None
    assert answers(file) == 1


def test_an_old_backup_is_restored_and_upgraded_when_it_is_opened(file: Path) -> None:
    restore_database(OLD / "revision-0001.sqlite3", file)
    with closing(sqlite3.connect(file)) as reader:
        (old,) = reader.execute("SELECT count(*) FROM answer").fetchone()
    assert old == 5
    with open_repository(file) as repository:
        assert repository.upgrade_copy is not None
    assert answers(file) == old


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "is no database"),
        (b"holiday pictures" * 1000, "is no database"),
        (b"SQLite format 3\0" + b"\0" * 5000, "another program"),
    ],
    ids=["empty", "pictures", "another program's"],
)
def test_what_is_no_backup_changes_nothing(
    repository: Repository, backup: Path, file: Path, content: bytes, message: str
) -> None:
    repository.close()
    backup.write_bytes(content)
    before = file.read_bytes(), os.listdir(file.parent), beside(backup)
    with pytest.raises(DatabaseCorrupt, match=message):
        restore_database(backup, file)
    assert (file.read_bytes(), os.listdir(file.parent), beside(backup)) == before


def test_a_damaged_backup_or_one_of_a_later_version_is_refused(
    repository: Repository, backup: Path, file: Path
) -> None:
    repository.close()
    with closing(sqlite3.connect(backup)) as editor:
        editor.execute("UPDATE alembic_version SET version_num = '9999'")
        editor.commit()
    with pytest.raises(StorageError, match="later version"):
        restore_database(backup, file)
    backup.write_bytes(backup.read_bytes()[:30_000])
    with pytest.raises(DatabaseCorrupt, match="damaged"):
        restore_database(backup, file)
    with pytest.raises(StorageError, match="no file"):
        restore_database(backup.with_name("none"), file)
    with pytest.raises(StorageError, match="from itself"):
        restore_database(file, file)
    assert answers(file) == 2


IDLE = """
import sys
from drills.storage.repository import open_repository
repository = open_repository(sys.argv[1])
repository.taster()
print("open", flush=True)
sys.stdin.read()
"""


@pytest.mark.parametrize("damaged", [False, True])
def test_a_database_that_another_window_has_open_is_not_replaced(
    repository: Repository, backup: Path, file: Path, damaged: bool
) -> None:
    repository.close()
    other = spawn(IDLE, file)
    assert other.stdout is not None
    assert other.stdout.readline() == "open\n"
    if damaged:
        with file.open("rb+") as stream:
            stream.write(b"\0" * 100)
    before = file.read_bytes()
    with pytest.raises(DatabaseLocked, match="open in another window"):
        restore_database(backup, file)
    assert file.read_bytes() == before
    other.communicate()
    assert not in_use(file)
    assert restore_database(backup, file).kept is not None
    assert answers(file) == 1


def test_a_database_behind_a_link_is_restored_where_it_is(
    repository: Repository, backup: Path, file: Path, tmp_path: Path
) -> None:
    repository.close()
    link = tmp_path / "elsewhere" / "link.sqlite3"
    link.parent.mkdir()
    link.symlink_to(file)
    restore_database(backup, link)
    assert link.is_symlink()
    assert answers(link) == answers(file) == 1


@pytest.mark.parametrize("left", ["waiting", "and no log"])
def test_a_restore_that_was_cut_short_is_finished_by_the_next_start(
    repository: Repository, backup: Path, file: Path, left: str
) -> None:
    """The states between standing ready and having taken the place."""
    log = file.with_name(file.name + "-wal")
    kept_log = log.read_bytes()
    content = file.read_bytes()
    repository.close()
    file.write_bytes(content)
    if left == "waiting":
        log.write_bytes(kept_log)
    shutil.copyfile(backup, file.with_name("crosspour.sqlite3-restored"))
    assert answers(file) == 1
    assert not file.with_name("crosspour.sqlite3-restored").exists()


KILLED = """
import os, signal, sys
from pathlib import Path
from drills.storage import restore
step, source, file = int(sys.argv[1]), Path(sys.argv[2]), Path(sys.argv[3])
count = 0
def dying(work):
    def run(*given, **named):
        global count
        count += 1
        if count == step:
            os.kill(os.getpid(), signal.SIGKILL)
        return work(*given, **named)
    return run
os.link, os.replace, os.rename = dying(os.link), dying(os.replace), dying(os.rename)
os.unlink, Path.unlink, Path.replace = dying(os.unlink), dying(Path.unlink), dying(Path.replace)
restore.restore_database(source, file)
"""


def test_a_restore_killed_at_any_step_leaves_the_one_or_the_other(
    repository: Repository, backup: Path, file: Path
) -> None:
    repository.close()
    seen, step = set(), 0
    while True:
        step += 1
        folder = file.parent / f"step-{step}"
        folder.mkdir()
        shutil.copyfile(file, folder / file.name)
        process = spawn(KILLED, step, backup, folder / file.name)
        process.communicate()
        if process.returncode == 0:
            break
        assert process.returncode == -signal.SIGKILL
        found = answers(folder / file.name)
        seen.add(found)
        if found == 1:
            assert answers(folder / "crosspour.replaced.sqlite3") == 2
    assert seen == {1, 2}
    assert step > 4


def test_every_revision_of_the_schema_has_a_file_of_its_time() -> None:
    old = {file.stem.removeprefix("revision-") for file in OLD.iterdir()}
    assert old == set(REVISIONS[:-1])


def test_only_the_taster_may_read_a_restored_file(
    repository: Repository, backup: Path, file: Path
) -> None:
    repository.close()
    restore_database(backup, file)
    assert os.stat(file).st_mode & 0o077 == 0
