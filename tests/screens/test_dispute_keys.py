"""The keys of a dispute: those that open it, pick, and go back."""

from __future__ import annotations

from pathlib import Path

from textual.widgets import Input, OptionList

from drills.screens.dispute import DisputeScreen
from drills.screens.drill import DrillScreen
from drills.screens.help import HelpScreen
from drills.screens.why import WhyScreen
from drills.service.desk import Desk
from drills.service.showing import Showing
from tests.screens.disputing import disputing, first_of_pair, say
from tests.screens.terminal import drilling, notices, opened, seen, text_of, truth_key


def drilling_reveal(screen: DisputeScreen) -> Showing:
    below = screen.app.screen_stack[-2]
    assert isinstance(below, DrillScreen)
    assert below.reveal is not None
    return below.reveal.showing


async def test_arrows_and_enter_do_what_the_numbers_do(own_desk: Desk) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        await disputing(pilot)
        await say(pilot, "enter", "down", "enter")
        screen = pilot.app.screen
        assert isinstance(screen, DisputeScreen)
        assert len(screen._dispute.picked) == 2
        assert screen._dispute.glass == drilling_reveal(screen).right


async def test_escape_goes_back_step_by_step_and_out(own_desk: Desk, home: Path) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        await disputing(pilot)
        first = text_of(pilot, "#asks")
        await say(pilot, "1")
        second = text_of(pilot, "#asks")
        await say(pilot, "1", "1", "escape", "escape")
        assert text_of(pilot, "#asks") == second
        await say(pilot, "escape")
        assert text_of(pilot, "#asks") == first
        await say(pilot, "escape")
        assert drilling(pilot).reveal is not None
        assert notices(pilot) == []
        assert not list(home.rglob("*.toml"))


async def test_escape_leaves_the_line_of_the_reason_too(own_desk: Desk) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        await disputing(pilot)
        await say(pilot, "1", "1", "1")
        screen = pilot.app.screen
        assert screen.focused is screen.query_one(Input)
        await say(pilot, *"x1?", "escape")
        assert screen.query_one(OptionList).display
        assert not screen.query_one(Input).display


async def test_numbers_without_a_line_do_nothing(own_desk: Desk) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        await disputing(pilot)
        await say(pilot, "1")
        before = text_of(pilot, "#asks")
        await say(pilot, "9", "3", "a", "x", "space")
        assert text_of(pilot, "#asks") == before


async def test_before_the_answer_there_is_nothing_to_dispute(own_desk: Desk) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        await say(pilot, "x")
        assert drilling(pilot).reveal is None
        assert "dispute" not in seen(pilot)


async def test_the_key_stands_in_the_foot_and_in_the_help(own_desk: Desk) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        await pilot.press(truth_key(drilling(pilot)))
        await pilot.pause()
        assert "x dispute" in seen(pilot)
        await say(pilot, "w")
        assert isinstance(pilot.app.screen, WhyScreen)
        assert "x disputes a fact" in seen(pilot)
        await say(pilot, "escape", "f1")
        assert isinstance(pilot.app.screen, HelpScreen)
        assert "dispute a fact of the card" in seen(pilot)


async def test_another_key_can_open_the_dispute(own_desk: Desk, home: Path) -> None:
    (home / "settings.toml").write_text('[keys]\ndispute = "m"\n', encoding="utf-8")
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        await pilot.press(truth_key(drilling(pilot)))
        await say(pilot, "m")
        assert isinstance(pilot.app.screen, DisputeScreen)
