"""The guide for developers names what is there, and is wrapped as its lines say."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
_FENCE = re.compile(r"^```.*?^```$", re.MULTILINE | re.DOTALL)


def test_every_file_that_the_guide_names_exists() -> None:
    there = {
        file.relative_to(ROOT).as_posix()
        for folder in ("cards", "drills", "tests")
        for file in (ROOT / folder).rglob("*")
    } | {file.name for file in ROOT.iterdir()}
    named = set(re.findall(r"[\w./-]*\w\.(?:py|toml|md|c)\b", GUIDE))
    assert len(named) > 80
    missing = [name for name in named if not any(f"/{one}".endswith(f"/{name}") for one in there)]
    assert missing == []


def test_every_test_that_the_guide_names_exists() -> None:
    named = re.findall(r"`(tests/[\w/]+\.py)::(\w+)`", GUIDE)
    assert len(named) >= 3
    for file, test in named:
        assert f"def {test}(" in (ROOT / file).read_text(encoding="utf-8")


def test_its_lines_have_at_most_a_hundred_columns() -> None:
    prose = _FENCE.sub("", GUIDE).splitlines()
    # A name or an address is not broken, and a row of a table cannot be.
    breakable = [line for line in prose if not line.startswith("|") and " " in line.strip()]
    assert len(breakable) > 200
    assert [line for line in breakable if len(line) > 100] == []
