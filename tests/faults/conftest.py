"""A home for processes of their own."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest


@pytest.fixture
def library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What is preloaded to note every write; without a C compiler the test is skipped."""
    from tests.faults.power import compiled

    found = compiled(tmp_path_factory.mktemp("library"))
    if found is None:
        pytest.skip("cutting the power needs a C compiler (cc) and a system that preloads")
    return found


@pytest.fixture
def copied(furnished: Path, tmp_path: Path) -> Path:
    """A furnished home of this test's own, for processes that are told of it."""
    return Path(shutil.copytree(furnished, tmp_path / "home"))
