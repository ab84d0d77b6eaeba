"""A fresh database for each test, with a clock of its own.

Tests that speak to a repository alone run twice: on a file, and on a study group's server. Those
that also look into the file run on a file.
"""

from __future__ import annotations

import inspect
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


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Run what needs a repository, and no file, on both kinds of database."""
    if "where" in metafunc.fixturenames:
        on_file = {"file", "tmp_path"} & set(inspect.signature(metafunc.function).parameters)
        both = getattr(metafunc.module, "KINDS", ("file", "server"))
        metafunc.parametrize("kind", ("file",) if on_file else both)


@pytest.fixture
def where(kind: str, request: pytest.FixtureRequest) -> str:
    """The place of an empty database."""
    if kind == "file":
        return str(request.getfixturevalue("file"))
    server = request.getfixturevalue("server")
    return str(server.url(request.getfixturevalue("database")))


@pytest.fixture
def repository(where: str, wound: Wound) -> Iterator[Repository]:
    with open_repository(where, clock=wound.clock) as opened:
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
