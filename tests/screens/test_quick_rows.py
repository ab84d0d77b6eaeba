"""The short form on a low terminal: its pours do not all fit, and every one can be reached."""

from __future__ import annotations

from drills.screens.tasting_open import OpenFlight
from drills.screens.tasting_quick import QuickScreen
from drills.screens.tasting_sheet import FlightSheet, PourSheet
from drills.service.desk import Desk
from tests.screens.terminal import LEAST, opened, seen

POURS = 24


async def test_a_glass_of_a_planned_flight_stands_under_its_code(desk: Desk) -> None:
    pours = [PourSheet(code=514), PourSheet(code=208), PourSheet()]
    sheet = FlightSheet(name="Flight 1", pours=pours, planned=1)
    async with opened(desk, lambda: QuickScreen(OpenFlight(desk, sheet)), size=LEAST) as pilot:
        rows = [line.split()[:1] for line in seen(pilot).splitlines()]
        assert [row for row in rows if row and row[0].isdecimal()] == [["514"], ["208"], ["3"]]
        await pilot.press("enter")
        await pilot.pause()
        assert "sealed: leave it empty, and the key says it" in seen(pilot)


async def test_down_goes_from_pour_to_pour_also_where_they_do_not_all_fit(desk: Desk) -> None:
    sheet = FlightSheet(name="Tuesday", pours=[PourSheet() for _ in range(POURS)])
    async with opened(desk, lambda: QuickScreen(OpenFlight(desk, sheet)), size=LEAST) as pilot:
        reached = []
        for _ in range(POURS):
            reached.append(pilot.app.screen.focused)
            await pilot.press("down")
        assert len(set(reached)) == POURS
        await pilot.pause()
        lines = seen(pilot).splitlines()
        assert any(line.split()[:1] == [str(POURS)] for line in lines), lines
        for _ in range(POURS):
            await pilot.press("up")
        assert pilot.app.screen.focused is reached[0]
