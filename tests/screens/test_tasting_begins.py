"""Where a flight begins, and what is said before the first."""

from __future__ import annotations

import asyncio
import threading

import pytest
from textual.widgets import OptionList

from drills.screens.debrief import DebriefScreen
from drills.screens.tasting import TastingScreen
from drills.screens.tasting_cautions import CautionsScreen, keep_seen
from drills.screens.tasting_start import TastingStartScreen
from drills.screens.widgets.choice_row import ClockRow
from drills.service.desk import Desk
from tests.desks import Watch
from tests.screens.logged import live
from tests.screens.sitting import (
    begin,
    clock_line,
    focused,
    home_screen,
    page,
    typed,
    until,
)
from tests.screens.terminal import LEAST, current, notices, opened, seen

# ---- where a flight begins


async def test_two_keys_lead_from_the_first_screen_to_the_first_glass(desk: Desk) -> None:
    keep_seen(desk)
    async with opened(desk, home_screen) as pilot:
        await pilot.press("n")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        sheet = page(pilot).sheet
        assert len(sheet.pours) == 6
        assert sheet.tasted_on == desk.clock.now().astimezone().date()
        assert sheet.minutes is None


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("pours", "0", "1 to 60"),
        ("pours", "seven", "1 to 60"),
        ("pours", "", "1 to 60"),
        ("date", "3/4/2026", "could be"),
        ("date", "[yesterday]", "is no date"),
        ("date", "2026-02-30", "no such day"),
    ],
)
async def test_a_flight_does_not_begin_with_what_cannot_be_read(
    desk: Desk, field: str, text: str, said: str
) -> None:
    keep_seen(desk)
    async with opened(desk, home_screen) as pilot:
        await pilot.press("n")
        await pilot.pause()
        start = current(pilot, TastingStartScreen)
        start._line(field).value = text
        await pilot.press("f2")
        await pilot.pause()
        assert current(pilot, TastingStartScreen) is start
        assert said in notices(pilot)[0]
        assert focused(pilot) == field
        assert start._line(field).has_class("-odd")


async def test_the_clock_and_a_date_can_be_set_before_the_flight(desk: Desk) -> None:
    keep_seen(desk)
    async with opened(desk, home_screen) as pilot:
        await pilot.press("n")
        await pilot.pause()
        start = current(pilot, TastingStartScreen)
        start._line("date").value = ""
        start._line("pours").value = "3"
        start.set_focus(start.query_one(ClockRow))
        await pilot.press("n", "f2")
        await pilot.pause()
        assert page(pilot).sheet.minutes == 12
        assert page(pilot).sheet.tasted_on is None
        assert "/12:00" in clock_line(pilot)


async def test_a_kept_flight_opens_its_debrief(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, name="[kept] one", pours=1, short=True)
        await typed(pilot, "Sancerre")
        await pilot.press("tab")
        await typed(pilot, "Chablis")
        await pilot.press("f9")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        start = current(pilot, TastingStartScreen)
        assert "[kept] one" in seen(pilot)
        start.query_one(OptionList).highlighted = 0
        start.set_focus(start.query_one(OptionList))
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, DebriefScreen))
        assert "[kept] one" in seen(pilot)


# ---- cautions


async def test_the_cautions_come_before_the_first_flight_and_stay_within_reach(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen, size=LEAST) as pilot:
        await pilot.press("n")
        await pilot.pause()
        current(pilot, CautionsScreen)
        text = " ".join(seen(pilot).replace("│", " ").split())
        for words in (
            "Spit every pour",
            "Spitting does not make driving safe",
            "Pregnancy.",
            "sulphites",
            "law of the place",
            "ask a clinician",
        ):
            assert words in text
        await pilot.press("enter")
        await pilot.pause()
        current(pilot, TastingStartScreen)
        await pilot.press("escape", "n")
        await pilot.pause()
        current(pilot, TastingStartScreen)
        for screen in (TastingStartScreen, TastingScreen):
            current(pilot, screen)
            await pilot.press("f12")
            await pilot.pause()
            current(pilot, CautionsScreen)
            await pilot.press("escape")
            await pilot.press("f2")
            await pilot.pause()


async def test_a_debrief_that_takes_long_to_weigh_does_not_cover_what_was_opened_meanwhile(
    desk: Desk, watch: Watch, monkeypatch: pytest.MonkeyPatch
) -> None:
    live(desk, watch)
    keep_seen(desk)
    begun, left, told = threading.Event(), threading.Event(), threading.Event()
    weigh, call_up = DebriefScreen.of_flight, TastingStartScreen._call_up

    def when_left(*given: object) -> DebriefScreen:
        begun.set()
        assert left.wait(30)
        return weigh(*given)  # type: ignore[arg-type]

    def called_up(self: TastingStartScreen, screen: DebriefScreen) -> None:
        call_up(self, screen)
        told.set()

    monkeypatch.setattr(DebriefScreen, "of_flight", when_left)
    monkeypatch.setattr(TastingStartScreen, "_call_up", called_up)
    async with opened(desk, home_screen) as pilot:
        await pilot.press("n")
        await pilot.pause()
        start = current(pilot, TastingStartScreen)
        start._open_kept(start._kept[0])
        assert await asyncio.to_thread(begun.wait, 30)
        await pilot.press("f12")
        await pilot.pause()
        left.set()
        assert await asyncio.to_thread(told.wait, 30)
        await pilot.pause()
        current(pilot, CautionsScreen)
