"""Nothing tells what a pour is before its reveal, and the clock hurries nobody."""

from __future__ import annotations

from typing import Any

import pytest
from textual.widgets import Input

from drills.screens.tasting import TastingScreen
from drills.screens.tasting_draft import half_entered
from drills.screens.tasting_open import OpenFlight
from drills.screens.tasting_sheet import usual_minutes
from drills.service.desk import Desk
from tests.desks import Watch
from tests.screens.sitting import (
    Terminal,
    begin,
    clock_line,
    focused,
    go_to,
    home_screen,
    kept,
    offers,
    page,
    planned,
    typed,
    value,
)
from tests.screens.terminal import LEAST, USUAL, notices, opened, seen

# ---- the reveal


async def test_the_reveal_waits_for_the_final_call_unless_it_is_asked_for_twice(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=2)
        await pilot.press("f5")
        assert "was" not in (focused(pilot) or "")
        assert notices(pilot) == ["No final call yet. F5 again reveals without one."]
        # Anything noted in between, and it is asked anew.
        await pilot.press("w", "1", "f5")
        assert not page(pilot).sheet.pour.opened
        await pilot.press("f5")
        assert page(pilot).sheet.pour.opened
        assert page(pilot).sheet.pour.skipped
        assert focused(pilot) == "was"
        await pilot.press("escape", "pagedown")
        await go_to(pilot, "final")
        await typed(pilot, "Barolo")
        await pilot.press("f5")
        assert page(pilot).sheet.pour.opened
        assert not page(pilot).sheet.pour.skipped


@pytest.mark.parametrize("size", [USUAL, LEAST])
async def test_nothing_on_the_screen_follows_from_what_a_pour_is_before_its_reveal(
    desk: Desk, size: tuple[int, int]
) -> None:
    """The same keys on flights that differ in what is stored give the same pictures."""
    pictures: list[list[Any]] = []
    for identity in ("Barolo", "[x] nobody's wine", ""):
        sheet = planned(identity)
        if not identity:
            for pour in sheet.pours:
                for name in ("was", "was-vintage", "label", "remark"):
                    pour.type(name, "")
        looks: list[Any] = []
        async with opened(desk, home_screen, size=size) as pilot:

            async def look(looks: list[Any] = looks, pilot: Terminal = pilot) -> None:
                await pilot.pause()
                looks.append(pilot.app.screen._compositor.render_strips())
                # Nor do lines that are out of sight hold any of it.
                for line in pilot.app.screen.query(Input):
                    assert "nobody" not in line.value
                    assert line.value in ("", "Chinon", "pencil", "tar", "Bar", "tar, ba", "b")

            pilot.app.push_screen(TastingScreen(OpenFlight(desk, sheet)))
            await pilot.pause()
            for _ in range(3):
                await look()
                await pilot.press("f2", "f2", "f2", "f2")
                await look()
                await pilot.press("pagedown")
            await pilot.press("pageup")
            await go_to(pilot, "nose")
            await typed(pilot, ", ba")
            await look()
            await go_to(pilot, "final")
            await typed(pilot, "b")
            await look()
            await pilot.press("backspace", "f5")
            await look()
            for half in half_entered(desk):
                desk.repository.drop_draft(half.draft_id)
        pictures.append(looks)
    assert all(looks == pictures[0] for looks in pictures)
    assert len(pictures[0]) == 9, len(pictures[0])


async def test_a_stored_identity_shows_once_the_reveal_is_opened(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        pilot.app.push_screen(TastingScreen(OpenFlight(desk, planned("Barolo"))))
        await pilot.pause()
        assert "Barolo" not in seen(pilot)
        await pilot.press("pagedown", "f5")
        await pilot.pause()
        assert value(pilot, "was") == "Barolo"
        assert value(pilot, "was-vintage") == "2019"


async def test_after_the_reveal_the_note_is_closed_and_opens_only_for_corrections(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "final")
        await typed(pilot, "Barolo")
        await pilot.press("f5", "escape")
        await pilot.pause()
        assert page(pilot).focused is None
        assert "this note is closed" in offers(pilot)
        await pilot.press("r", "1", "tab", "x")
        assert page(pilot).sheet.pour.choices == {}
        assert page(pilot).sheet.pour.text("final") == "Barolo"
        await pilot.press("f6")
        await pilot.press("r", "1")
        assert page(pilot).sheet.pour.choices == {"hue": "purple"}
        await pilot.press("f5")
        assert focused(pilot) == "was"


# ---- the clock


def test_a_flight_of_six_has_twenty_five_minutes_and_others_in_proportion() -> None:
    assert [usual_minutes(pours) for pours in (6, 3, 12, 8, 1)] == [25, 12, 50, 33, 4]


async def tick(pilot: Terminal, watch: Watch, seconds: int) -> None:
    """Let seconds pass, one at a time."""
    for _ in range(seconds):
        watch.go_on(1)
        page(pilot).tick()
    await pilot.pause()


async def test_the_clock_is_off_until_it_is_wanted(desk: Desk, watch: Watch) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await tick(pilot, watch, 5)
        assert clock_line(pilot) == ""
        assert page(pilot).sheet.pour.seconds is None
        await pilot.press("f3")
        await tick(pilot, watch, 12)
        assert "pour 0:12/4:10" in clock_line(pilot)
        assert "flight 0:12/25:00" in clock_line(pilot)
        await pilot.press("pagedown")
        await tick(pilot, watch, 3)
        assert "pour 0:03/4:10" in clock_line(pilot)
        assert "flight 0:15/25:00" in clock_line(pilot)
        await pilot.press("f3")
        assert clock_line(pilot) == ""


async def test_time_that_is_over_is_said_and_stops_nothing(desk: Desk, watch: Watch) -> None:
    async with opened(desk, home_screen, size=LEAST) as pilot:
        await begin(pilot, pours=1)
        await pilot.press("f3")
        await tick(pilot, watch, 260)
        assert "4:20/4:00!" in clock_line(pilot)
        assert notices(pilot) == []
        await pilot.press("w", "1")
        assert value(pilot, "hue") == "greenish"


async def test_a_closed_lid_and_the_reveal_take_no_time(desk: Desk, watch: Watch) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await pilot.press("f3")
        await tick(pilot, watch, 2)
        watch.go_on(3600)
        await tick(pilot, watch, 1)
        assert page(pilot).sheet.seconds <= 8
        seconds = page(pilot).sheet.seconds
        await pilot.press("f5", "f5")
        await tick(pilot, watch, 30)
        assert page(pilot).sheet.seconds == seconds


async def test_a_pour_keeps_the_seconds_that_it_took(desk: Desk, watch: Watch) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=1)
        await pilot.press("f3", "w", "1")
        await tick(pilot, watch, 42)
        await pilot.press("f9", "f9")
        await pilot.pause()
    assert kept(desk)[0].seconds == pytest.approx(42)
