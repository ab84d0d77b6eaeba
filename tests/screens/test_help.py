"""The help lists what really works: it is made from the bindings as they are."""

from __future__ import annotations

import importlib
import pkgutil
from dataclasses import replace
from typing import Any

import pytest
from textual.actions import parse
from textual.binding import Binding
from textual.screen import Screen

import drills.screens
from drills.screens.app import CrosspourApp
from drills.screens.base import DeskScreen
from drills.screens.help import HelpScreen
from drills.screens.live_keys import words_of, working
from drills.service.desk import Desk
from tests.screens.every_screen import SCREENS, types
from tests.screens.terminal import SIZES, current, drilling, listed, opened, seen, settled


def own_bindings(screen: Screen[Any]) -> list[Binding]:
    """Every binding that the program itself declares for the screen."""
    return [
        binding
        for owner in (*type(screen).__mro__, CrosspourApp)
        if owner is CrosspourApp or issubclass(owner, DeskScreen)
        for binding in Binding.make_bindings(vars(owner).get("BINDINGS", ()))
    ]


def asleep(screen: Screen[Any], binding: Binding) -> bool:
    """Whether a key has nothing to do in the state that the screen is in."""
    _, name, arguments = parse(binding.action)
    return screen.check_action(name, arguments) is False


async def test_every_screen_is_looked_at_here(desk: Desk) -> None:
    modules = [
        importlib.import_module(f"drills.screens.{one.name}")
        for one in pkgutil.iter_modules(drills.screens.__path__)
    ]
    assert modules
    kinds: list[type[Any]] = DeskScreen.__subclasses__()
    for kind in kinds:
        kinds += kind.__subclasses__()
    # What other screens are made from is never shown itself; a test's own screens do not count.
    shown = {
        kind
        for kind in kinds
        if not kind.__subclasses__() and kind.__module__.startswith("drills.screens.")
    }
    assert shown - {type(make(desk)) for make in SCREENS.values()} == set()


@pytest.mark.parametrize("name", SCREENS)
async def test_the_help_lists_every_key_of_a_screen_with_what_it_does(
    desk: Desk, name: str
) -> None:
    async with opened(desk, lambda: SCREENS[name](desk)) as pilot:
        await settled(pilot)
        screen = pilot.app.screen
        expected = own_bindings(screen)
        works = working(screen)
        await pilot.press("f1")
        rows = listed(pilot)
        for binding in expected:
            if asleep(screen, binding):
                continue
            if binding.key not in works:
                # Where one types, ? is a letter.
                assert types(screen)
                assert binding.key == "question_mark"
                continue
            active = works[binding.key].binding
            # A list under the cursor takes Enter first, and says so; a line takes what edits it.
            edits = types(screen) and works[binding.key].node is screen.focused
            assert active.id == binding.id or binding.key == "enter" or edits, binding
            key = pilot.app.get_key_display(replace(active, key_display=None))
            words = words_of(active)
            assert any(key in keys and words == said for keys, said in rows), (binding.key, rows)
        # Nothing is listed twice.
        assert len({said for _, said in rows}) == len(rows)


@pytest.mark.parametrize("name", SCREENS)
async def test_every_key_of_a_screen_can_be_changed_and_explains_itself(
    desk: Desk, name: str
) -> None:
    async with opened(desk, lambda: SCREENS[name](desk)) as pilot:
        for binding in own_bindings(pilot.app.screen):
            assert binding.id, binding
            assert binding.description, binding


@pytest.mark.parametrize("key", ["escape", "question_mark", "f1", "q", "enter", "space"])
async def test_any_likely_key_closes_the_help(desk: Desk, key: str) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        await pilot.press("question_mark")
        current(pilot, HelpScreen)
        await pilot.press(key)
        assert pilot.app.screen is screen
        assert screen.reveal is None


@pytest.mark.parametrize("size", SIZES)
async def test_the_whole_help_can_be_reached(desk: Desk, size: tuple[int, int]) -> None:
    async with opened(desk, size=size) as pilot:
        await pilot.press("question_mark")
        await pilot.pause()
        assert "?, f1  every key that works here" in seen(pilot)
        await pilot.press("end")
        await pilot.pause()
        assert "leave the program" in seen(pilot)


@pytest.mark.parametrize("name", SCREENS)
async def test_the_help_says_in_plain_words_what_the_usual_keys_do(desk: Desk, name: str) -> None:
    async with opened(desk, lambda: SCREENS[name](desk)) as pilot:
        await settled(pilot)
        await pilot.press("f1")
        for _, words in listed(pilot):
            # The library names some after its own parts, each word with a capital.
            assert words[0] == words[0].lower(), words
            assert "focus" not in words
