"""Weak pairs in a list: the most costly first, each to be drilled."""

from __future__ import annotations

import asyncio
import threading
from itertools import pairwise
from pathlib import Path

import pytest
from textual.widgets import DataTable

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
    LEAST,
    SIZES,
    USUAL,
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
        assert [row[3:5] for row in rows] == [[str(p.times), f"{p.rate:.0%}"] for p in expected]
        for pair, row in zip(expected, rows, strict=True):
            for wine, told in zip((pair.called, pair.was), row[1:3], strict=True):
                name = desk.short(wine)
                assert told == name or (size == LEAST and name.startswith(told.removesuffix("…")))
        assert desk.short(expected[0].was) in seen(pilot)
        await pilot.press("escape")
        current(pilot, HomeScreen)


async def test_on_a_small_terminal_names_are_cut_and_times_and_rate_are_not(desk: Desk) -> None:
    # The longest short names of the table, and so many pairs that the list has a scroll bar.
    longest = sorted(desk.table.profiles, key=lambda wine: -len(desk.short(wine)))
    for one, other in pairwise(longest[:30]):
        mix_up(desk, one, other, times=2)
    pair = weak(desk)[0]
    async with opened(desk, WeakScreen, size=LEAST) as pilot:
        await settled(pilot)
        lines = seen(pilot).splitlines()
        head = next(line for line in lines if "called" in line)
        assert head.split()[:4] == ["called", "was", "times", "rate"]
        assert f" {pair.rate:.0%}" in lines[lines.index(head) + 1]
        assert desk.short(pair.called)[:15] in lines[lines.index(head) + 1]
        await pilot.press("down", "down")
        await pilot.resize_terminal(*USUAL)
        await settled(pilot)
        assert pilot.app.screen.query_one(DataTable).cursor_row == 2
        assert all("…" not in cell for row in await rows_of(pilot) for cell in row)


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
