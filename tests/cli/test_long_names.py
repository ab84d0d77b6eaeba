"""A name longer than a file may have is one sentence, in whatever command it stands."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.running import crosspour

LONG = "x" * 300 + ".csv"


@pytest.mark.parametrize(
    "words",
    [
        ["backup", LONG],
        ["export", LONG],
        ["report", LONG],
        ["table", "export", LONG],
        ["cellar", "export", LONG],
        ["restore", LONG],
        ["import", LONG],
        ["table", "import", LONG],
        ["cellar", "import", LONG],
        ["group", "import", LONG],
        ["move", "--to", LONG],
        ["--database", LONG, "weak"],
    ],
    ids=" ".join,
)
def test_a_name_too_long_for_a_file_is_one_sentence(home: Path, words: list[str]) -> None:
    done = crosspour(home, *words)
    assert done.returncode == 1
    assert done.stdout == ""
    (said,) = done.stderr.splitlines()
    assert said.startswith("crosspour: ")
    assert "File name too long" in said


def test_a_home_with_a_name_too_long_is_one_sentence(home: Path) -> None:
    done = crosspour(home, "weak", CROSSPOUR_HOME=str(home / LONG))
    assert done.returncode == 1
    (said,) = done.stderr.splitlines()
    assert "File name too long" in said
