"""Mistakes in the taster's own table are told with file and line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.saying import printed_json, refused, said

# No command of this file ever sees another home.
pytestmark = pytest.mark.usefixtures("home")


def test_the_shipped_table_has_nothing_wrong(capsys: pytest.CaptureFixture[str]) -> None:
    assert said(capsys, "table", "check").splitlines()[-1] == "nothing is wrong"
    found = printed_json(capsys, "table", "check")
    assert list(found) == [
        "wines",
        "descriptors",
        "facts",
        "by_basis",
        "sourced_core",
        "problems",
    ]
    assert found["problems"] == []
    assert sum(found["by_basis"].values()) == found["facts"]
    assert 0 < found["sourced_core"] < 1


def overlay(home: Path, text: str, name: str = "chardonnay-chablis") -> Path:
    file = home / "table" / "white" / f"{name}.toml"
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, encoding="utf-8")
    return file


def test_a_contradiction_in_an_own_profile_is_found_and_ends_with_code_one(
    capsys: pytest.CaptureFixture[str], home: Path
) -> None:
    overlay(home, 'laterals = ["no-such-wine"]\n')
    lines = said(capsys, "table", "check", code=1).splitlines()
    assert any("chardonnay-chablis" in line and "no-such-wine" in line for line in lines)
    assert lines[-1].endswith("problems") or lines[-1].endswith("problem")
    assert printed_json(capsys, "table", "check", code=1)["problems"]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('name = "Chablis\n', 1),
        ('name = "Mine"\n\n[structure]\nacid = "enormous"\n', 4),
        ("[alcohol]\nlow = 13\nhigh = 12\n", None),
        ('[descriptors]\nunheard-of = "common"\n', 2),
    ],
)
def test_a_broken_own_profile_is_told_with_file_and_line_by_every_command(
    capsys: pytest.CaptureFixture[str], home: Path, text: str, line: int | None
) -> None:
    file = overlay(home, text)
    where = f"{file}, line {line}: " if line else str(file)
    for command in (["weak"], ["laterals", "Barolo"], ["pair", "Barolo", "Chianti Classico"]):
        assert where in refused(capsys, *command)
    assert where in said(capsys, "table", "check", code=1)


def test_an_own_file_that_is_no_text_is_told(
    capsys: pytest.CaptureFixture[str], home: Path
) -> None:
    file = overlay(home, "")
    file.write_bytes('name = "Côte"'.encode("latin-1"))
    assert f"{file}: is not UTF-8" in refused(capsys, "weak")
