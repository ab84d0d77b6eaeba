"""What may only be read can still be looked at, and says why nothing is kept."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from drills.errors import DatabaseReadOnly, StorageError
from drills.storage.repository import open_repository
from drills.storage.restore import restore_database
from drills.storage.rotation import back_up, named_backups
from tests.faults.making import DAY, answered

# A process to whom file permissions apply: root ignores them.
NOBODY = 65534


@pytest.fixture
def powerless() -> Iterator[Path]:
    """An own folder with a database and a backup of it, seen by somebody who is not root."""
    if not hasattr(os, "geteuid"):
        pytest.skip("needs file permissions as Unix has them")
    was_root = os.geteuid() == 0
    if was_root:
        os.seteuid(NOBODY)
    folder = Path(tempfile.mkdtemp(prefix="crosspour-"))
    try:
        answered(folder / "crosspour.sqlite3")
        yield folder
    finally:
        if was_root:
            os.seteuid(0)
        for path in (folder, *folder.rglob("*")):
            path.chmod(0o700)
        shutil.rmtree(folder)


def test_a_read_only_file_is_refused_for_writing_and_backed_up_all_the_same(
    powerless: Path,
) -> None:
    file = powerless / "crosspour.sqlite3"
    file.chmod(0o400)
    with pytest.raises(DatabaseReadOnly, match="may be read but not written"):
        open_repository(file)
    with open_repository(file, readonly=True) as repository:
        assert len(repository.drills(repository.taster().id)) == 1
    before = len(named_backups(file))
    assert back_up(file, DAY) is not None
    assert len(named_backups(file)) == before + 1
    with pytest.raises(DatabaseReadOnly):
        restore_database(named_backups(file)[0].file, file)


def test_a_read_only_folder_takes_no_backup_and_says_so(powerless: Path) -> None:
    file = powerless / "crosspour.sqlite3"
    before = [one.file.read_bytes() for one in named_backups(file)]
    folder = named_backups(file)[0].file.parent
    folder.chmod(0o500)
    powerless.chmod(0o500)
    with pytest.raises(StorageError, match=r"cannot be (written|made)"):
        back_up(file, DAY)
    assert [one.file.read_bytes() for one in named_backups(file)] == before
    with open_repository(file, readonly=True) as repository:
        assert len(repository.drills(repository.taster().id)) == 1
    with pytest.raises(DatabaseReadOnly):
        open_repository(file)
