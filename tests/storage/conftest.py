"""A fresh database for each test, with a clock of its own."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from drills.storage.repository import Repository, open_repository
from tests.storage.making import Wound


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "crosspour.sqlite3"


@pytest.fixture
def wound() -> Wound:
    return Wound()


@pytest.fixture
def repository(file: Path, wound: Wound) -> Iterator[Repository]:
    with open_repository(file, clock=wound.clock) as opened:
        yield opened


@pytest.fixture
def me(repository: Repository) -> int:
    return repository.taster().id


@pytest.fixture
def powerless() -> Iterator[Path]:
    """An own folder, and a process to whom file permissions apply (root ignores them)."""
    if not hasattr(os, "geteuid"):
        pytest.skip("needs file permissions as Unix has them")
    was_root = os.geteuid() == 0
    if was_root:
        os.seteuid(65534)
    folder = Path(tempfile.mkdtemp(prefix="crosspour-"))
    try:
        yield folder
    finally:
        if was_root:
            os.seteuid(0)
        folder.chmod(0o700)
        shutil.rmtree(folder)
