"""Weak pairs in a list: the most costly first, each to be drilled."""

from __future__ import annotations

import asyncio
import threading
from pathlib import Path

import pytest

from cards.cellar import Cellar
from cards.tables import Table
from drills.screens.drill import DrillScreen
from drills.screens.home import HomeScreen
from drills.screens.weak import WeakScreen
from drills.service.desk import Desk
from drills.service.weak import weak
from tests.desks import Watch, mix_up
from tests.screens.logged import FAR, NEAR, confuse
from tests.screens.terminal import (
    SIZES,
    current,
    drilling,
    notices,
    opened,
    refusing,
    rows_of,
    seen,
    settled,
    text_of,
    truth_key,
)


@pytest.mark.parametrize("size", SIZES)
async def test_weak_pairs_are_listed_the_most_costly_first(
    desk: Desk, size: tuple[int, int]
) -> None:
    confuse(desk)
    expected = weak(desk)
    async with opened(desk, HomeScreen, size=size) as pilot:
        await pilot.press("w")
        rows = await rows_of(pilot)
        current(pilot, WeakScreen)
        assert [row[1:5] for row in rows] == [
            [desk.short(p.called), desk.short(p.was), str(p.times), f"{p.rate:.0%}"]
            for p in expected
        ]
        assert desk.short(expected[0].was) in seen(pilot)
        await pilot.press("escape")
        current(pilot, HomeScreen)


async def test_the_pair_under_the_cursor_can_be_drilled(desk: Desk) -> None:
    confuse(desk)
    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("w")
        await settled(pilot)
        await pilot.press("down", "d")
        await pilot.pause()
        showing = drilling(pilot).showing
        assert showing is not None
        assert showing.question.contrast.pair == FAR


async def test_from_a_pairs_drill_the_way_leads_home(desk: Desk) -> None:
    mix_up(desk, *NEAR)
    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("w")
        await settled(pilot)
        await pilot.press("d")
        await pilot.pause()
        await pilot.press(truth_key(drilling(pilot)), "escape")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        current(pilot, HomeScreen)


async def test_without_a_confusion_the_list_says_what_would_stand_there(desk: Desk) -> None:
    async with opened(desk, WeakScreen) as pilot:
        await settled(pilot)
        assert "No confusion is logged yet" in seen(pilot)
        await pilot.press("d")
        current(pilot, WeakScreen)


async def test_a_log_that_cannot_be_read_says_so(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    monkeypatch.setattr(repository, "reveals", refusing(1, repository.reveals))
    async with opened(desk, WeakScreen) as pilot:
        await settled(pilot)
        assert "another program is writing [to it]" in text_of(pilot, "#head")


async def test_leaving_while_the_pairs_are_still_counted_is_no_trouble(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    counting, go_on = threading.Event(), threading.Event()
    reveals = desk.repository.reveals

    def slow(taster: int) -> object:
        counting.set()
        assert go_on.wait(10)
        return reveals(taster)

    mix_up(desk, *NEAR)
    monkeypatch.setattr(desk.repository, "reveals", slow)
    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("w")
        assert await asyncio.to_thread(counting.wait, 10)
        await pilot.press("escape")
        current(pilot, HomeScreen)
        go_on.set()
        await settled(pilot)
        await pilot.press("d")
        await pilot.pause()
        assert isinstance(pilot.app.screen, DrillScreen)


async def test_two_wines_that_nothing_tells_apart_are_said_to_be_so(
    home: Path, watch: Watch, table: Table, cellar: Cellar
) -> None:
    assert cellar.table is table
    shipped = Path(__file__).parents[2] / "cards" / "table" / "white" / "chardonnay-chablis.toml"
    own = home / "table" / "white" / "twin-chablis.toml"
    own.parent.mkdir(parents=True)
    text = shipped.read_text(encoding="utf-8").replace('"Chablis"', '"Twin"')
    own.write_text(text, encoding="utf-8")
    desk = Desk(clock=watch.clock)
    mix_up(desk, "twin-chablis", "chardonnay-chablis")
    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("w")
        await settled(pilot)
        await pilot.press("d")
        await pilot.pause()
        current(pilot, WeakScreen)
        (told,) = notices(pilot)
        assert told.startswith("no cue of the table tells")
    desk.close()
