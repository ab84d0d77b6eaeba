"""Two servers for the tests that answer nothing: one near, one far."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.serving.running import Served, served
from tests.serving.visiting import TOKEN


@pytest.fixture(scope="module")
def shared_home(tmp_path_factory: pytest.TempPathFactory, furnished: Path) -> Path:
    """One home for the tests that answer nothing."""
    folder = tmp_path_factory.mktemp("served") / "home"
    shutil.copytree(furnished, folder)
    return folder


@pytest.fixture(scope="module")
def near(shared_home: Path) -> Iterator[Served]:
    """A server for this machine only, with one place."""
    with served(shared_home, "--visitors", "1") as running:
        yield running


@pytest.fixture(scope="module")
def far(shared_home: Path) -> Iterator[Served]:
    """A server that others could reach, with a token."""
    with served(shared_home, "--host", "0.0.0.0", CROSSPOUR_TOKEN=TOKEN) as running:
        yield running
