"""What a command says: what it prints, or the one line with which it refuses."""

from __future__ import annotations

import json
from typing import Any

import pytest

from drills.cli import main

NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")
FLIGHT = """date,called,was
2026-02-27,Sancerre,Marlborough Sauvignon Blanc
2026-02-27,Barolo,Barolo
"""


def said(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 0) -> str:
    """What a command prints; it must end with `code` and complain of nothing."""
    assert main(list(arguments)) == code
    out, err = capsys.readouterr()
    assert err == ""
    return out


def refused(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 1) -> str:
    """The one line on standard error with which a command says why it could not."""
    assert main(list(arguments)) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1, err
    assert err.startswith("crosspour: ")
    return err.removeprefix("crosspour: ").strip()


def printed_json(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 0) -> Any:
    return json.loads(said(capsys, *arguments, "--json", code=code))
