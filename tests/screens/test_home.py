"""The first screen: what waits, how to begin, and how to go on with a stopped drill."""

from __future__ import annotations

import pytest

from drills.phrases import clock
from drills.screens.drill import DrillScreen
from drills.screens.home import HomeScreen
from drills.screens.summary import SummaryScreen
from drills.service.desk import Desk
from drills.service.resuming import left_over
from tests.desks import Watch, mix_up
from tests.screens.logged import NEAR
from tests.screens.terminal import (
    SIZES,
    current,
    drilling,
    notices,
    opened,
    refusing,
    seen,
    text_of,
    truth_key,
)


@pytest.mark.parametrize("size", SIZES)
async def test_the_first_screen_says_what_waits_and_how_to_begin(
    desk: Desk, size: tuple[int, int]
) -> None:
    mix_up(desk, *NEAR)
    async with opened(desk, HomeScreen, size=size) as pilot:
        text = " ".join(seen(pilot).split())
        confused = len(desk.repository.contrasts_of_pair(*NEAR))
        assert f"{confused} cards of pairs mixed up in tastings come first" in text
        assert "0 cards due today" in text
        assert "contrasts unseen" in text
        assert "D start the drill" in text
        # Alcohol can hurt: the cautions stand here, and promise nothing of driving.
        assert "does not make driving safe" in text


async def test_the_first_screen_counts_one_card_as_one(desk: Desk, watch: Watch) -> None:
    async with opened(desk) as pilot:
        await pilot.press(truth_key(drilling(pilot)), "escape")
        await pilot.pause()
        current(pilot, SummaryScreen)
        watch.go_on(60 * 86_400)
        await pilot.press("enter")
        await pilot.pause()
        assert "1  card due today" in seen(pilot)


async def test_one_key_starts_the_drill(desk: Desk) -> None:
    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("d")
        await pilot.pause()
        assert drilling(pilot).showing is not None


async def test_coming_back_the_first_screen_counts_anew(desk: Desk) -> None:
    async with opened(desk, HomeScreen) as pilot:
        unseen = desk.repository.counts(desk.taster.id, desk.clock.today()).unseen
        assert f"{unseen:,}  contrasts unseen" in seen(pilot)
        await pilot.press("d")
        await pilot.pause()
        await pilot.press("a", "space", "a", "escape")
        await pilot.pause()
        current(pilot, SummaryScreen)
        await pilot.press("enter")
        await pilot.pause()
        current(pilot, HomeScreen)
        assert f"{unseen - 2:,}  contrasts unseen" in seen(pilot)
        assert "the next card is due tomorrow" in seen(pilot) or "due in" in seen(pilot)


async def test_a_drill_that_was_stopped_goes_on_from_its_summary_and_from_the_first_screen(
    desk: Desk, watch: Watch
) -> None:
    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("r")
        await pilot.pause()
        current(pilot, HomeScreen)
        assert notices(pilot) == ["no drill was stopped today with time left"]
        await pilot.press("d")
        await pilot.pause()
        watch.go_on(240)
        await pilot.press("a", "escape")
        await pilot.pause()
        left = left_over(desk)
        assert 0 < left < 60 * desk.settings.minutes
        assert f"{clock(left)} are left of this drill" in seen(pilot)
        await pilot.press("r")
        await pilot.pause()
        assert drilling(pilot).session.left == pytest.approx(left)
        await pilot.press("a", "escape", "enter")
        await pilot.pause()
        current(pilot, HomeScreen)
        assert f"a drill stopped with {clock(left_over(desk))} left:  R  goes on" in seen(pilot)
        left = left_over(desk)
        await pilot.press("r")
        await pilot.pause()
        assert drilling(pilot).session.left == pytest.approx(left)
        # One that is left without an answer takes nothing away.
        await pilot.press("escape")
        await pilot.pause()
        assert left_over(desk) == left


async def test_a_drill_that_used_its_time_up_does_not_go_on(desk: Desk, watch: Watch) -> None:
    async with opened(desk) as pilot:
        for _ in range(desk.settings.minutes):
            watch.go_on(60)
            await pilot.press("a", "space")
        await pilot.pause()
        current(pilot, SummaryScreen)
        assert "go on" not in seen(pilot)
        await pilot.press("r")
        await pilot.pause()
        current(pilot, SummaryScreen)


async def test_a_drill_that_cannot_start_says_so_and_starts_at_the_next_try(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    monkeypatch.setattr(repository, "start_drill", refusing(1, repository.start_drill))
    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("d")
        current(pilot, HomeScreen)
        assert notices(pilot) == ["another program is writing [to it]; try again in a moment"]
        await pilot.press("d")
        await pilot.pause()
        assert isinstance(pilot.app.screen, DrillScreen)


async def test_numbers_that_cannot_be_read_are_said_to_be_missing(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    monkeypatch.setattr(repository, "counts", refusing(1, repository.counts))
    async with opened(desk, HomeScreen) as pilot:
        current(pilot, HomeScreen)
        assert "is writing [to it]" in text_of(pilot, "#waiting")


async def test_one_key_leaves_the_program(desk: Desk) -> None:
    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("q")
        await pilot.pause()
        assert not pilot.app.is_running
