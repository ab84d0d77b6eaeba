"""Lists are written to a file and read."""

from __future__ import annotations

from pathlib import Path

import pytest

from drills.tastings.drafts import IntakeDraft
from drills.tastings.intake import read_intake
from tests.tastings.reading_lists import FewNames, Reading


@pytest.fixture
def read(tmp_path: Path) -> Reading:
    """Write content to a file and read it."""

    def reading(
        content: str | bytes, name: str = "list.csv", encoding: str = "utf-8", **options: str
    ) -> IntakeDraft:
        file = tmp_path / name
        file.write_bytes(content if isinstance(content, bytes) else content.encode(encoding))
        return read_intake(file, FewNames(), **options)  # type: ignore[arg-type]

    return reading
