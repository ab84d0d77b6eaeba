"""No module is longer than one can read at a sitting: 400 lines, in the program and its tests."""

from __future__ import annotations

from pathlib import Path

ROOT = Path(__file__).parents[2]
MOST = 400


def modules() -> dict[str, int]:
    """Every Python module of the project and how many lines it has."""
    return {
        file.relative_to(ROOT).as_posix(): len(file.read_text(encoding="utf-8").splitlines())
        for folder in ("cards", "drills", "tests")
        for file in sorted((ROOT / folder).rglob("*.py"))
    }


def test_no_module_is_longer_than_four_hundred_lines() -> None:
    found = modules()
    assert {"cards/evidence.py", "drills/cli.py", "tests/conftest.py"} <= found.keys()
    assert {name: lines for name, lines in found.items() if lines > MOST} == {}
