"""`crosspour pair --causes` says below each cue why it is in the glass."""

from __future__ import annotations

import pytest

from drills.cli import main
from drills.service.desk import Desk
from drills.service.wines import pair_view

NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")


def test_every_known_cause_stands_below_its_cue(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["pair", *NEAR]) == 0
    plain = capsys.readouterr().out.splitlines()
    assert main(["pair", *NEAR, "--causes"]) == 0
    told = capsys.readouterr().out.splitlines()
    expected = plain[:1]
    for line, cue in zip(plain[1:], pair_view(desk, *NEAR).cues, strict=True):
        expected.append(line)
        if cue.because:
            expected.append(" " * 21 + cue.because)
    assert told == expected
    assert len(told) > len(plain)
