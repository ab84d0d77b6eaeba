"""Every screen on every terminal: nothing cut off, the keys at the foot, both colours."""

from __future__ import annotations

from pathlib import Path

import pytest

from drills.screens.widgets.key_line import KeyLine
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from tests.desks import answer, mix_up
from tests.screens.every_screen import SCREENS, types
from tests.screens.terminal import LOOKS, drilling, opened, seen, settled, truth_key


@pytest.mark.parametrize("name", SCREENS)
async def test_the_line_at_the_foot_shows_keys_that_work(desk: Desk, name: str) -> None:
    async with opened(desk, lambda: SCREENS[name](desk)) as pilot:
        await settled(pilot)
        line = pilot.app.screen.query_one(KeyLine).text
        shown = [
            active.binding
            for active in pilot.app.screen.active_bindings.values()
            if active.binding.description in line and active.binding.id
        ]
        assert shown
        help_key = "f1" if types(pilot.app.screen) else "?"
        assert f" {help_key} keys" in line


@pytest.mark.parametrize("width", [60, 72, 80, 100])
async def test_no_key_at_the_foot_stands_on_another_line_than_its_words(
    desk: Desk, width: int
) -> None:
    async with opened(desk, lambda: SCREENS["home"](desk), size=(width, 24)) as pilot:
        await settled(pilot)
        lines = pilot.app.screen.query_one(KeyLine).text.splitlines()
        stand = [line.strip() for line in seen(pilot).splitlines()[-len(lines) :]]
        assert stand == [line.strip() for line in lines]
        for words in ("d drill", "n note", "w weak pairs", "t table", "? keys", "q leave"):
            assert sum(words in line for line in lines) == 1


@pytest.mark.parametrize("name", SCREENS)
async def test_one_key_changes_between_dark_and_light_everywhere(desk: Desk, name: str) -> None:
    async with opened(desk, lambda: SCREENS[name](desk)) as pilot:
        assert pilot.app.theme == "crosspour-dark"
        await pilot.press("f4")
        assert pilot.app.theme == "crosspour-light"
        await pilot.press("f4")
        assert pilot.app.theme == "crosspour-dark"


async def test_a_theme_that_does_not_exist_leaves_the_dark_one(desk: Desk, home: Path) -> None:
    (home / "settings.toml").write_text('theme = "burgundy"', encoding="utf-8")
    async with opened(desk) as pilot:
        assert pilot.app.theme == "crosspour-dark"


@pytest.mark.parametrize(("size", "theme"), LOOKS)
@pytest.mark.parametrize("name", SCREENS)
async def test_every_screen_stands_on_every_terminal(
    desk: Desk, home: Path, name: str, size: tuple[int, int], theme: str
) -> None:
    (home / "settings.toml").write_text(f'theme = "{theme}"', encoding="utf-8")
    mix_up(desk, "sauvignon-sancerre", "sauvignon-marlborough")
    answer(DrillSession(desk, 60))
    async with opened(desk, lambda: SCREENS[name](desk), size=size) as pilot:
        await settled(pilot)
        for line in seen(pilot).splitlines():
            assert len(line) <= size[0]
        foot = " ".join(" ".join(seen(pilot).splitlines()[-2:]).split())
        assert "keys" in foot
        # No key is cut off, however narrow the terminal.
        assert " ".join(pilot.app.screen.query_one(KeyLine).text.split()) in foot
        if name == "drill":
            await pilot.press(truth_key(drilling(pilot)))
            assert "next card" in "\n".join(seen(pilot).splitlines()[-2:])
