"""A fact disputed in the drill: from the first card of a pair to what is written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from textual.pilot import Pilot

from cards.explaining import CueStory
from drills.screens.dispute import DisputeScreen
from drills.screens.drill import DrillScreen
from drills.screens.opening import drill_screen
from drills.service.desk import Desk
from tests.screens.terminal import drilling, truth_key

PAIR = ("sauvignon-marlborough", "sauvignon-sancerre")


def first_of_pair(desk: Desk) -> Callable[[], DrillScreen]:
    return lambda: drill_screen(desk, pair=PAIR)


async def disputing(pilot: Pilot[int]) -> DisputeScreen:
    """Answer the card and open the dispute."""
    await pilot.press(truth_key(drilling(pilot)))
    await pilot.press("x")
    await pilot.pause()
    screen = pilot.app.screen
    assert isinstance(screen, DisputeScreen)
    return screen


async def say(pilot: Pilot[int], *keys: str) -> None:
    """Press keys slowly, each when the one before has done its work."""
    for key in keys:
        await pilot.press(key)
        await pilot.pause()
    await pilot.pause()


def own_text(home: Path, wine: str) -> str:
    return (home / "table" / "white" / f"{wine}.toml").read_text(encoding="utf-8")


def asked_for(screen: DrillScreen, attribute: str) -> None:
    """Let the reveal speak of one more cue, so that every kind can be disputed."""
    assert screen.reveal is not None
    story = screen.reveal.explanation
    more = CueStory(attribute, attribute, 1.0, "", "", "", "practice")
    screen.reveal = replace(screen.reveal, explanation=replace(story, cues=(more,), also=()))
