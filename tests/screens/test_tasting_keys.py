"""The mouse, odd text, and every key named in the help."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from textual.binding import Binding
from textual.widgets import Static

from cards.scale import Level
from drills.screens.help import HelpScreen
from drills.screens.tasting_cautions import keep_seen
from drills.screens.widgets.choice_row import HueRow
from drills.screens.widgets.completing_line import PlainLine
from drills.screens.widgets.key_line import KeyLine
from drills.screens.widgets.offer_line import OfferLine
from drills.screens.widgets.pour_strip import PourStrip
from drills.service.desk import Desk
from tests.screens.sitting import begin, go_to, home_screen, page, typed, value
from tests.screens.terminal import SIZES, current, opened, seen

# ---- the mouse


async def test_the_mouse_places_chooses_takes_and_turns(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        screen = page(pilot)
        # The fourth step of a scale stands six columns after the first.
        await pilot.click(screen.fields["acid"], offset=(13 + 6, 0))
        assert value(pilot, "acid") == 3
        await pilot.click(screen.fields["world"], offset=(13 + 5, 0))
        assert value(pilot, "world") == "new"
        await pilot.click(HueRow, offset=(5, 0))
        assert screen.query_one(HueRow).colour == "red"
        row = str(screen.query_one(HueRow).render())
        await pilot.click(HueRow, offset=(row.index("garnet"), 0))
        assert value(pilot, "hue") == "garnet"
        await go_to(pilot, "nose")
        await typed(pilot, "petr")
        await pilot.click(OfferLine, offset=(2, 0))
        assert value(pilot, "nose") == "petrol, "
        await pilot.click(PourStrip, offset=(7, 0))
        assert screen.sheet.at == 2


# ---- odd text, keys, help


async def test_brackets_and_control_signs_in_every_line_break_nothing(desk: Desk) -> None:
    odd = "[/] [bold]x[/bold] \x1b]0;y\x07 \u202e [@click=app.quit]z"
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, name="[red]f", pours=1)
        for name, widget in page(pilot).fields.items():
            if isinstance(widget, PlainLine) and name not in ("candidate", "was"):
                widget.value = odd
                await pilot.pause()
        await go_to(pilot, "candidate")
        widget = page(pilot).fields["candidate"]
        assert isinstance(widget, PlainLine)
        widget.value = odd
        await pilot.press("enter", "up", "x")
        await pilot.press("[", "x", "]", "enter", "enter")
        await pilot.press("f5")
        await pilot.pause()
        widget = page(pilot).fields["was"]
        assert isinstance(widget, PlainLine)
        widget.value = odd
        await pilot.press("f5")
        await pilot.pause()
        assert "no wine of the table" in " ".join(seen(pilot).replace("█", " ").split())
        for sign in "\x1b\x07\u202e":
            assert sign not in seen(pilot)
        await pilot.press("escape")
        pour = page(pilot).sheet.pour
        plain = "[/] [bold]x[/bold] ]0;y  [@click=app.quit]z"
        assert pour.text("final") == plain
        assert pour.candidates[0].text == plain


def own_bindings(screen: Any) -> list[Binding]:
    from drills.screens.base import DeskScreen

    return [
        binding
        for owner in type(screen).__mro__
        if isinstance(owner, type) and issubclass(owner, DeskScreen)
        for binding in Binding.make_bindings(vars(owner).get("BINDINGS", ()))
    ]


async def test_the_help_lists_the_keys_of_the_page_and_of_the_line_under_the_cursor(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        for binding in own_bindings(page(pilot)):
            assert binding.id
            assert binding.description
        for name, words in (
            ("acid", "place it on the scale, low to high, and go on"),
            ("climate", "climate: moderate"),
            ("hue", "the hues of rosé wines"),
            ("nose", "take what is marked, or go on"),
        ):
            await go_to(pilot, name)
            await pilot.press("f1")
            text = "\n".join(str(one.content) for one in current(pilot, HelpScreen).query(Static))
            assert words in text
            for said in ("next pour", "what the wine was", "clock on or off", "keep it"):
                assert said in text
            await pilot.press("escape")


async def test_keys_of_ones_own_work_on_the_page(desk: Desk, home: Path) -> None:
    (home / "settings.toml").write_text(
        '[keys]\nturn-on = "f11"\nclimate-hot = "z"\nstep-5 = "9"\n', encoding="utf-8"
    )
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "climate")
        await pilot.press("z")
        assert value(pilot, "climate") == "hot"
        await go_to(pilot, "acid")
        await pilot.press("9", "f11")
        assert page(pilot).sheet.pours[0].levels == {"acid": Level.HIGH}
        assert page(pilot).sheet.at == 1


@pytest.mark.parametrize("theme", ["crosspour-dark", "crosspour-light"])
@pytest.mark.parametrize("size", SIZES)
async def test_the_foot_is_whole_on_every_terminal(
    desk: Desk, home: Path, size: tuple[int, int], theme: str
) -> None:
    (home / "settings.toml").write_text(f'theme = "{theme}"', encoding="utf-8")
    async with opened(desk, home_screen, size=size) as pilot:
        for press in ((), ("n",), ("f2",), ("f5", "f5"), ("escape",), ("f10",)):
            if press == ("n",):
                keep_seen(desk)
            await pilot.press(*press)
            pilot.app.clear_notifications()
            await pilot.pause()
            lines = seen(pilot).splitlines()
            assert all(len(line) <= size[0] for line in lines)
            foot = " ".join(" ".join(lines[-2:]).split())
            line = " ".join(pilot.app.screen.query_one(KeyLine).text.split())
            assert line in foot, (press, line, foot)


async def test_the_foot_names_the_key_that_lists_keys_where_one_types_too(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        foot = page(pilot).query_one(KeyLine)
        for field, key in (("acid", "?"), ("nose", "f1"), ("body", "?"), ("final", "f1")):
            await go_to(pilot, field)
            assert f" {key} keys" in foot.text, field
