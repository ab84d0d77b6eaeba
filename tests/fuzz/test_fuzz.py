"""Altered inputs of every kind end in work done or in one clear error; never in a traceback."""

from __future__ import annotations

import os
import random
from pathlib import Path

import pytest

from tests.fuzz.running import TooLong, limited, tried
from tests.fuzz.target import Target
from tests.fuzz.targets import FOUND, TARGETS, kept_inputs

# A run by hand takes a hundred thousand: `python -m tests.fuzz 100000`.
INPUTS = int(os.environ.get("CROSSPOUR_FUZZ", "60"))
ONCE = [(file.parent.name, file.name) for name in TARGETS for file in kept_inputs(name)]


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own for a target, which may go elsewhere and change the environment."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CROSSPOUR_HOME", str(tmp_path / "home"))
    return tmp_path


@pytest.mark.parametrize("name", TARGETS)
def test_altered_inputs_are_taken_or_refused(name: str, place: Path) -> None:
    target = TARGETS[name](place)
    findings = [tried(target, number, target.input(number)) for number in range(INPUTS)]
    assert [one.text for one in findings if one] == []


@pytest.mark.parametrize(("name", "kept"), ONCE)
def test_what_broke_the_program_once_does_not_again(name: str, kept: str, place: Path) -> None:
    content = (FOUND / name / kept).read_bytes()
    finding = tried(TARGETS[name](place), 0, content)
    assert finding is None, finding.text


def test_the_same_number_is_the_same_input(place: Path) -> None:
    for name, kind in TARGETS.items():
        inputs = [kind(place / name / run).input(7) for run in ("one", "other")]
        assert inputs[0] == inputs[1]


class _Broken(Target):
    name = "broken"

    def altered(self, rng: random.Random) -> bytes:
        return rng.randbytes(4)

    def take(self, content: bytes) -> None:
        if content == b"slow":
            while True:
                pass
        raise KeyError(content)


def test_a_traceback_would_be_found(place: Path) -> None:
    finding = tried(_Broken(place), 3, b"x")
    assert finding is not None
    assert finding.kind.startswith("KeyError at ")
    assert "b'x'" in finding.text


def test_work_without_end_would_be_found(place: Path) -> None:
    with pytest.raises(TooLong), limited(0.02):
        _Broken(place).take(b"slow")
