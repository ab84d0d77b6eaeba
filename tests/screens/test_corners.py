"""Weak pairs between theory and glass, in a picture of four corners."""

from __future__ import annotations

import re

import pytest
from textual.widgets import DataTable

from drills.screens.pair import PairScreen
from drills.screens.weak import WeakScreen
from drills.screens.widgets.corners import CornersPicture
from drills.service.desk import Desk
from drills.service.tasting import log_flight
from drills.tastings.drafts import Named
from drills.tastings.notes import FullFlight, FullPour, Verdict
from tests.desks import Watch, mix_up
from tests.screens.logged import FAR, NEAR, confuse
from tests.screens.terminal import (
    LEAST,
    USUAL,
    WIDE,
    current,
    drilling,
    opened,
    seen,
    settled,
    text_of,
)


@pytest.mark.parametrize("size", [USUAL, LEAST])
async def test_one_key_shows_the_pairs_between_four_corners(
    desk: Desk, size: tuple[int, int]
) -> None:
    confuse(desk)
    async with opened(desk, WeakScreen, size=size) as pilot:
        await settled(pilot)
        assert not pilot.app.screen.query_one(CornersPicture).display
        await pilot.press("v")
        await pilot.pause()
        text = seen(pilot)
        for words in ("resolved", "more cards", "pour side by side", "cards lag behind"):
            assert words in text
        assert re.search(r"[┈┊│ ]ab?[┈┊│ ]", text)
        assert "Marlborough Sauvignon / Sancerre" in text_of(pilot, "#advice")
        await pilot.press("v")
        await pilot.pause()
        assert pilot.app.screen.query_one(DataTable).has_focus


async def test_on_a_wide_terminal_list_and_picture_stand_side_by_side(desk: Desk) -> None:
    confuse(desk)
    async with opened(desk, WeakScreen, size=WIDE) as pilot:
        await settled(pilot)
        screen = current(pilot, WeakScreen)
        assert screen.query_one(DataTable).display
        picture = screen.query_one(CornersPicture)
        assert picture.display
        assert picture.at == 0
        await pilot.press("down", "down")
        await pilot.pause()
        # The cursor of the list marks the point.
        assert screen.corner is not None
        assert picture.corners[picture.at].wines == screen.corner.wines


async def test_every_point_can_be_reached_by_arrows_and_opened(desk: Desk) -> None:
    confuse(desk)
    async with opened(desk, WeakScreen) as pilot:
        await settled(pilot)
        await pilot.press("v")
        picture = pilot.app.screen.query_one(CornersPicture)
        reached = {picture.at}
        for key in ("left", "right", "up", "down") * 2:
            await pilot.press(key)
            reached.add(picture.at)
        assert reached == {0, 1}
        wanted = picture.corners[picture.at].wines
        await pilot.press("enter")
        await settled(pilot)
        page = current(pilot, PairScreen).page
        assert page is not None
        assert page.wines == wanted
        await pilot.press("escape")
        current(pilot, WeakScreen)


async def test_a_click_marks_a_point_and_a_second_opens_it(desk: Desk) -> None:
    confuse(desk)
    async with opened(desk, WeakScreen) as pilot:
        await settled(pilot)
        await pilot.press("v")
        await pilot.pause()
        picture = pilot.app.screen.query_one(CornersPicture)
        ((x, y),) = [cell for cell, number in picture.places().items() if number == 1]
        # A frame and a line of words come before the first cell, a column of padding as well.
        offset = (x + 2, y + 2)
        await pilot.click(CornersPicture, offset=offset)
        assert picture.at == 1
        assert isinstance(pilot.app.screen, WeakScreen)
        await pilot.click(CornersPicture, offset=offset)
        await settled(pilot)
        page = current(pilot, PairScreen).page
        assert page is not None
        assert page.wines == picture.corners[1].wines


async def test_one_key_drills_the_weakest_pairs_together(desk: Desk) -> None:
    confuse(desk)
    async with opened(desk, WeakScreen) as pilot:
        await settled(pilot)
        await pilot.press("w")
        await pilot.pause()
        assert drilling(pilot).session.pairs == (NEAR, FAR)
        assert len(pilot.app.screen_stack) <= 2


async def test_a_resolved_pair_is_off_the_list_and_in_the_picture(desk: Desk, watch: Watch) -> None:
    mix_up(desk, *NEAR)
    for _ in range(12):
        watch.next_morning()
        for wine in NEAR:
            right(desk, wine, watch)
    async with opened(desk, WeakScreen) as pilot:
        await settled(pilot)
        assert "No pair is weak now; 1 pair resolved" in text_of(pilot, "#head")
        assert pilot.app.screen.query_one(DataTable).row_count == 0
        await pilot.press("v")
        await pilot.pause()
        assert "You tell" in text_of(pilot, "#advice")
        await pilot.press("w")
        current(pilot, WeakScreen)


def right(desk: Desk, wine: str, watch: Watch) -> None:
    """Log a pour that was called rightly."""
    flight = FullFlight(
        f"{watch.at} {wine}",
        watch.at.astimezone().date(),
        (FullPour(1, final=Verdict(wine, wine), reveal=Named(wine, wine)),),
    )
    log_flight(desk, flight)
