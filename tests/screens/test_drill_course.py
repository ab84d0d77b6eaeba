"""The course of a drill: undo, why, the end, and what cannot be kept or read."""

from __future__ import annotations

import pytest

from drills.screens.drill import DrillScreen
from drills.screens.home import HomeScreen
from drills.screens.opening import drill_screen
from drills.screens.summary import SummaryScreen
from drills.screens.why import WhyScreen
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from tests.desks import Watch
from tests.screens.answering import kept
from tests.screens.logged import NEAR
from tests.screens.terminal import (
    SIZES,
    current,
    drilling,
    notices,
    opened,
    refusing,
    seen,
    truth_key,
)


async def test_undo_takes_the_answer_back_and_asks_again(desk: Desk) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        first = screen.showing
        await pilot.press(truth_key(screen, wrong=True), "u")
        assert screen.showing is first
        assert screen.reveal is None
        assert "0 answers" in seen(pilot)
        await pilot.press(truth_key(screen))
        assert [one.undone_at is None for one in kept(desk, screen)] == [False, True]
        assert "1 answer, 1 right" in seen(pilot)


async def test_undo_reaches_back_over_the_next_card(desk: Desk) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        first = screen.showing
        await pilot.press("a", "space", "u")
        assert screen.showing is first


async def test_undo_with_nothing_to_undo_says_so(desk: Desk) -> None:
    async with opened(desk) as pilot:
        await pilot.press("u")
        assert notices(pilot) == ["There is no answer to take back."]
        assert drilling(pilot).reveal is None


@pytest.mark.parametrize("size", SIZES)
async def test_why_gives_causes_and_sources_and_closes_again(
    desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(desk, size=size) as pilot:
        screen = drilling(pilot)
        await pilot.press("w")
        assert isinstance(pilot.app.screen, DrillScreen)
        await pilot.press("a", "w")
        current(pilot, WhyScreen)
        reveal = screen.reveal
        assert reveal is not None
        assert reveal.explanation.telling.split()[0] in seen(pilot)
        await pilot.press("escape")
        assert pilot.app.screen is screen
        assert screen.reveal is reveal


@pytest.mark.parametrize("key", ["w", "enter", "space", "q"])
async def test_any_likely_key_closes_why(desk: Desk, key: str) -> None:
    async with opened(desk) as pilot:
        await pilot.press("a", "w")
        current(pilot, WhyScreen)
        await pilot.press(key)
        assert drilling(pilot).reveal is not None


async def test_finishing_leads_to_the_summary_and_from_there_home(desk: Desk) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        await pilot.press(truth_key(screen), "space")
        await pilot.press(truth_key(screen, wrong=True), "escape")
        summary = current(pilot, SummaryScreen)
        assert summary.summary.answered == 2
        text = seen(pilot)
        assert "2 answers, 1 right" in text
        assert "what slipped" in text
        assert "you were sure" in text
        await pilot.press("escape")
        await pilot.pause()
        current(pilot, HomeScreen)
        (row,) = desk.repository.drills(desk.taster.id)
        assert row.ended_at is not None


async def test_from_the_summary_one_key_starts_another_drill(desk: Desk) -> None:
    async with opened(desk) as pilot:
        first = drilling(pilot).session.drill_id
        await pilot.press("escape")
        assert "Nothing was answered." in seen(pilot)
        await pilot.press("d")
        await pilot.pause()
        assert drilling(pilot).session.drill_id != first


async def test_when_the_time_is_up_the_open_card_is_the_last(desk: Desk, watch: Watch) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        await pilot.press("a", "space")
        watch.go_on(700)
        screen._put_on()
        assert "time is up: last card" in seen(pilot)
        await pilot.press("l")
        assert screen.reveal is not None
        await pilot.press("space")
        await pilot.pause()
        assert current(pilot, SummaryScreen).summary.answered == 2


async def test_a_drill_of_one_pair_ends_in_the_summary_by_itself(desk: Desk) -> None:
    number = len(desk.cellar.contrasts(*NEAR))
    async with opened(desk, lambda: drill_screen(desk, pair=NEAR)) as pilot:
        screen = drilling(pilot)
        assert "this pair was asked for" in seen(pilot)
        for _ in range(number):
            await pilot.press(truth_key(screen), "space")
        await pilot.pause()
        assert current(pilot, SummaryScreen).summary.right == number


async def test_a_drill_with_nothing_to_ask_says_so_at_once(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(DrillSession, "next", lambda _self: None)
    async with opened(desk) as pilot:
        await pilot.pause()
        current(pilot, SummaryScreen)
        assert "Nothing was answered." in seen(pilot)


async def test_an_undo_that_could_not_be_kept_says_so_and_works_at_the_next_try(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    monkeypatch.setattr(repository, "undo_answer", refusing(1, repository.undo_answer))
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        first = screen.showing
        await pilot.press("a", "u")
        assert notices(pilot)[0].startswith("Not undone: ")
        assert screen.reveal is not None
        await pilot.press("u")
        assert screen.showing is first
        assert screen.reveal is None


async def test_a_drill_that_could_not_be_closed_stays_open(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    monkeypatch.setattr(repository, "end_drill", refusing(1, repository.end_drill))
    async with opened(desk) as pilot:
        await pilot.press("a", "escape")
        assert isinstance(pilot.app.screen, DrillScreen)
        assert len(notices(pilot)) == 1
        await pilot.press("escape")
        await pilot.pause()
        assert current(pilot, SummaryScreen).summary.answered == 1


async def test_a_next_card_that_could_not_be_read_says_so_and_comes_at_the_next_try(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with opened(desk, lambda: drill_screen(desk)) as pilot:
        screen = drilling(pilot)
        screen.session._choice._queue.clear()
        repository = desk.repository
        monkeypatch.setattr(repository, "urgent", refusing(2, repository.urgent))
        await pilot.press("a")
        await pilot.pause()
        await pilot.press("space")
        assert screen.reveal is not None
        assert any("another program is writing" in one for one in notices(pilot))
        await pilot.press("space")
        assert screen.reveal is None
        assert screen.session.answered == 1


async def test_another_drill_that_cannot_start_says_so_and_leaves_the_summary(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    async with opened(desk) as pilot:
        await pilot.press("escape")
        monkeypatch.setattr(repository, "start_drill", refusing(1, repository.start_drill))
        await pilot.press("d")
        current(pilot, SummaryScreen)
        assert len(notices(pilot)) == 1
        await pilot.press("d")
        await pilot.pause()
        assert isinstance(pilot.app.screen, DrillScreen)
