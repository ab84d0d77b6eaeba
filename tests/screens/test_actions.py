"""Finding an action by its name: all of ours, in the words and with the keys of the help."""

from __future__ import annotations

import pytest
from textual.command import CommandList
from textual.pilot import Pilot

from drills.screens.actions import ActionsScreen
from drills.screens.app import CrosspourApp
from drills.screens.drill import DrillScreen
from drills.screens.home import HomeScreen
from drills.screens.live_keys import actions
from drills.screens.weak import WeakScreen
from drills.service.desk import Desk
from tests.screens.sitting import until
from tests.screens.terminal import current, drilling, opened, seen

# What a screen may not say, DESIGN's words for what belongs to other programs.
LIBRARY = ("Theme", "Quit", "Screenshot", "Maximize", "Keys", "palette")


async def shown(pilot: Pilot[int], *typed: str) -> list[str]:
    """What is offered for typed letters."""
    await pilot.press("ctrl+p", *typed)
    current(pilot, ActionsScreen)
    await pilot.app.workers.wait_for_complete()
    await pilot.pause()
    found = pilot.app.screen.query_one(CommandList)
    return [str(found.get_option_at_index(n).prompt) for n in range(found.option_count)]


async def test_every_action_of_a_screen_is_offered_with_its_keys_and_none_of_the_librarys(
    desk: Desk,
) -> None:
    async with opened(desk, lambda: HomeScreen()) as pilot:
        expected = actions(pilot.app.screen, own=True)
        assert {"start the daily drill", "leave the program"} <= {one.words for one in expected}
        offered = await shown(pilot)
        assert len(offered) == len(expected)
        for one in expected:
            assert any(one.words in line and one.keys in line for line in offered), one.words
        assert not any(word in seen(pilot) for word in LIBRARY)


@pytest.mark.parametrize(
    ("typed", "screen"), [("daily", DrillScreen), ("confused", WeakScreen), ("drlldaily", None)]
)
async def test_enter_does_what_was_found(desk: Desk, typed: str, screen: type | None) -> None:
    async with opened(desk, lambda: HomeScreen()) as pilot:
        await shown(pilot, *typed)
        await pilot.press("enter", "enter") if screen is None else await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, screen or ActionsScreen))


async def test_an_action_of_a_card_is_done_on_that_card(desk: Desk) -> None:
    async with opened(desk) as pilot:
        card = drilling(pilot).showing
        await shown(pilot, *"rightglassguess")
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, DrillScreen))
        await until(pilot, lambda: drilling(pilot).reveal is not None)
        reveal = drilling(pilot).reveal
        assert reveal is not None
        assert reveal.showing is card
        assert reveal.sureness.label == "guess"


async def test_escape_leaves_it_and_a_second_one_never_opens(desk: Desk) -> None:
    async with opened(desk) as pilot:
        await pilot.press("ctrl+p", "ctrl+p")
        assert sum(isinstance(one, ActionsScreen) for one in pilot.app.screen_stack) == 1
        await pilot.press("escape")
        assert drilling(pilot).reveal is None


def test_the_key_can_be_changed() -> None:
    assert any(getattr(binding, "id", "") == "actions" for binding in CrosspourApp.BINDINGS)
