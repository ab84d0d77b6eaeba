"""A folder of the taster's own that is not there yet."""

from __future__ import annotations

from pathlib import Path

import pytest

from drills.overlay import Overlay


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Where the taster's folder will be; it is not there yet."""
    return tmp_path / "table"


@pytest.fixture
def own(folder: Path) -> Overlay:
    return Overlay(folder)
