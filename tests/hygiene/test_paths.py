"""No file names a place on the machine of whoever wrote it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
# What tools leave behind, and what is no part of the project.
LEFT_OUT = {".dmypy.json", "__pycache__", "build", "dist", "node_modules"}

# A path from the root of a file system to somebody's folder. A web address does not count: there a
# word or a slash stands before the first slash.
MACHINE_PATH = re.compile(
    r"(?<![\w.:/~<-])/(?:work|tmp|home|root|Users|mnt|var/folders)/\w|\b[A-Za-z]:\\+Users\\+\w"
)


def files() -> Iterator[Path]:
    """Every file of the project that can be read as text."""
    for file in sorted(ROOT.rglob("*")):
        parts = file.relative_to(ROOT).parts
        if not file.is_file() or LEFT_OUT & set(parts):
            continue
        if any(part.endswith(".egg-info") for part in parts):
            continue
        if any(part.startswith(".") for part in parts[:-1]):
            continue
        yield file


def machine_paths(file: Path) -> list[str]:
    try:
        text = file.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return []
    name = file.relative_to(ROOT).as_posix()
    return [
        f"{name}, line {number}: {line.strip()[:120]}"
        for number, line in enumerate(text.splitlines(), 1)
        if MACHINE_PATH.search(line)
    ]


def test_no_file_names_a_machine_path() -> None:
    looked_at = list(files())
    assert len(looked_at) > 100
    assert [line for file in looked_at for line in machine_paths(file)] == []


# Put together here, for this file is looked at too.
SOMEBODY = "somebody/file"
UNDER = ["work", "tmp", "home", "root", "Users", "var/folders"]


@pytest.mark.parametrize("folder", UNDER)
@pytest.mark.parametrize("text", ["{}", '"{}"', "see {}.", "path={}", "[{}]"])
def test_a_machine_path_would_be_seen(folder: str, text: str) -> None:
    assert MACHINE_PATH.search(text.format(f"/{folder}/{SOMEBODY}"))


def test_a_path_of_windows_would_be_seen() -> None:
    assert MACHINE_PATH.search("C:" + "\\" + "Users" + "\\" + "somebody")


@pytest.mark.parametrize("folder", UNDER)
@pytest.mark.parametrize("text", ["https://example.org{}", "cards{}", ".{}", "~{}", "and{}"])
def test_what_is_no_machine_path_passes(folder: str, text: str) -> None:
    assert not MACHINE_PATH.search(text.format(f"/{folder}/{SOMEBODY}"))
