"""The reveal shows at once; the answer is kept right after it, and before anything else is done."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest

from drills.errors import DatabaseLocked
from drills.grading import Sureness
from drills.screens.app import CrosspourApp
from drills.screens.drill import DrillScreen
from drills.screens.opening import drill_screen
from drills.screens.summary import SummaryScreen
from drills.screens.why import WhyScreen
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from tests.desks import Watch, right_answer, wrong_answer
from tests.screens.answering import kept
from tests.screens.terminal import (
    SIZES,
    USUAL,
    current,
    drilling,
    notices,
    opened,
    refusing,
    seen,
    truth_key,
)


@pytest.fixture
def busy(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> Callable[[int], None]:
    """Let the database refuse so many answers, as while another program writes to it."""

    def refuse(times: int) -> None:
        repository = desk.repository
        monkeypatch.setattr(repository, "record_answer", refusing(times, repository.record_answer))

    return refuse


async def test_the_reveal_waits_for_no_disk_and_the_next_card_does(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        told: list[str] = []
        keep, go_on = desk.repository.record_answer, screen.session.next

        def record(*given: object, again: bool) -> int:
            told.append("right" if "✓ right" in seen(pilot) else "not told yet")
            return keep(*given, again=again)  # type: ignore[arg-type]

        def following() -> object:
            session = screen.session
            session.keep()
            told.append(f"{len(kept(desk, screen))} kept")
            return go_on()

        monkeypatch.setattr(desk.repository, "record_answer", record)
        monkeypatch.setattr(screen.session, "next", following)
        await pilot.press(truth_key(screen), "space")
        assert told == ["right", "1 kept"]


@pytest.mark.parametrize("size", SIZES)
async def test_a_first_card_that_cannot_be_read_leaves_its_place_to_the_reason(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    screen = drill_screen(desk)
    monkeypatch.setattr(screen.session, "next", refusing(2, screen.session.next))
    async with opened(desk, lambda: screen, size=size) as pilot:
        told = " ".join(seen(pilot).split())
        assert "another program is writing [to it]; try again in a moment. SPACE tries" in told
        assert notices(pilot) == []
        await pilot.press("a", "space")
        await pilot.resize_terminal(*USUAL)
        await pilot.pause()
        assert "another program is writing [to it]" in seen(pilot)
        await pilot.press("space")
        assert screen.showing is not None
        assert "another program" not in seen(pilot)


async def test_an_answer_that_could_not_be_kept_is_told_and_going_on_tries_again(
    desk: Desk, busy: Callable[[int], None]
) -> None:
    busy(3)
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        first = screen.showing
        await pilot.press(truth_key(screen))
        for tries in (1, 2, 3):
            assert len(notices(pilot)) == tries
            assert "Not kept yet: another program is writing [to it]" in notices(pilot)[-1]
            assert screen.showing is first
            assert screen.reveal is not None
            assert "1 answer, 1 right" in seen(pilot)
            assert kept(desk, screen) == []
            await pilot.press("space")
        assert len(notices(pilot)) == 3
        assert screen.showing is not first
        (answer,) = kept(desk, screen)
        assert answer.correct
        assert answer.sureness == 3


async def test_the_seconds_of_an_answer_kept_late_are_those_until_it_was_given(
    desk: Desk, busy: Callable[[int], None], watch: Watch
) -> None:
    busy(1)
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        watch.go_on(4.25)
        given_at = desk.clock.now()
        await pilot.press("a")
        watch.go_on(30)
        await pilot.press("space")
        (answer,) = kept(desk, screen)
        assert answer.seconds == 4.25
        assert answer.answered_at - given_at < timedelta(seconds=1)


async def test_a_second_answer_to_the_same_card_is_not_taken_while_the_first_is_not_kept(
    desk: Desk, busy: Callable[[int], None]
) -> None:
    busy(1)
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        await pilot.press("a", "l", "k", "space")
        (answer,) = kept(desk, screen)
        assert answer.sureness == 3
        assert screen.session.answered == 1


async def test_an_answer_not_kept_yet_is_kept_and_then_taken_back_by_undo(
    desk: Desk, busy: Callable[[int], None]
) -> None:
    busy(2)
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        first = screen.showing
        await pilot.press("a", "u")
        assert notices(pilot)[-1].startswith("Not undone: ")
        assert screen.reveal is not None
        await pilot.press("u")
        assert screen.showing is first
        assert screen.reveal is None
        (answer,) = kept(desk, screen)
        assert answer.undone_at is not None
        assert "0 answers" in seen(pilot)


async def test_finishing_keeps_what_is_not_kept_yet_or_says_which_answer_is_lost(
    desk: Desk, busy: Callable[[int], None]
) -> None:
    busy(2)
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        await pilot.press("a", "escape")
        assert "All answers but the last are kept; once more leaves" in notices(pilot)[-1]
        assert isinstance(pilot.app.screen, DrillScreen)
        assert kept(desk, screen) == []
        await pilot.press("escape")
        await pilot.pause()
        assert current(pilot, SummaryScreen).summary.answered == 1
        assert len(kept(desk, screen)) == 1


async def test_leaving_the_program_keeps_what_is_not_kept_yet(
    desk: Desk, busy: Callable[[int], None]
) -> None:
    busy(1)
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        await pilot.press("a")
        assert kept(desk, screen) == []
        pilot.app.exit()
    assert len(kept(desk, screen)) == 1


async def test_an_answer_that_cannot_be_kept_as_the_program_ends_is_told_to_the_shell(
    desk: Desk, busy: Callable[[int], None]
) -> None:
    busy(9)
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        await pilot.press("a")
        app = screen.app
        assert isinstance(app, CrosspourApp)
        app.exit()
    assert kept(desk, screen) == []
    assert app.last_words.startswith("the last answer is not kept: another program is writing")


async def test_an_answer_is_kept_once_where_the_program_breaks_as_it_keeps_it(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    record, breaks = desk.repository.record_answer, [True]

    def then_break(*given: object, **named: object) -> int:
        number = record(*given, **named)  # type: ignore[arg-type]
        if breaks:
            breaks.clear()
            raise RuntimeError("out of order")
        return number

    screens: list[DrillScreen] = []

    async def answer_one() -> None:
        async with opened(desk) as pilot:
            screens.append(drilling(pilot))
            monkeypatch.setattr(desk.repository, "record_answer", then_break)
            await pilot.press("a")

    with pytest.raises(RuntimeError, match="out of order"):
        await answer_one()
    assert len(kept(desk, screens[0])) == 1


async def test_going_on_before_the_next_card_is_ready_keeps_the_order_of_the_cards(
    desk: Desk,
) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        first = screen.showing
        # Three keys typed ahead: nothing is drawn between them.
        screen.action_answer("left", 3)
        screen.action_next()
        second = screen.showing
        await pilot.pause()
        assert screen.session.upcoming is None
        await pilot.press("u")
        assert screen.showing is first
        await pilot.press(truth_key(screen), "space")
        assert second is not None
        assert screen.showing is not None
        assert screen.showing.question.contrast.id == second.question.contrast.id
        assert [one.undone_at is None for one in kept(desk, screen)] == [False, True]


async def test_why_may_be_asked_before_the_answer_is_kept(
    desk: Desk, busy: Callable[[int], None]
) -> None:
    busy(1)
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        await pilot.press("a", "w")
        current(pilot, WhyScreen)
        await pilot.press("escape", "space")
        assert len(kept(desk, screen)) == 1


def test_an_answer_judged_is_kept_by_whatever_is_asked_of_the_drill_next(desk: Desk) -> None:
    def judged() -> DrillSession:
        session = DrillSession(desk, 600)
        showing = session.next()
        assert showing is not None
        session.judge(right_answer(showing), Sureness.SURE, 3.0)
        assert not session.kept
        assert session.answered == len(session.reveals) == 1
        with pytest.raises(ValueError, match="no card is waiting"):
            session.judge(right_answer(showing), Sureness.SURE, 3.0)
        return session

    asked: list[Callable[[DrillSession], object]] = [
        DrillSession.next,
        DrillSession.prepare,
        DrillSession.end,
        DrillSession.table_changed,
        DrillSession.keep,
    ]
    for ask in asked:
        session = judged()
        ask(session)
        assert session.kept
        assert len(desk.repository.answers_of_drill(session.drill_id)) == 1
        assert session.answered == 1


def test_an_answer_that_must_be_kept_at_once_leaves_the_card_open_where_it_is_not(
    desk: Desk, busy: Callable[[int], None]
) -> None:
    busy(1)
    session = DrillSession(desk, 600)
    showing = session.next()
    assert showing is not None
    with pytest.raises(DatabaseLocked):
        session.answer(wrong_answer(showing), Sureness.SURE, 3.0)
    assert session.answered == 0
    assert session.answer(right_answer(showing), Sureness.GUESS, 5.0).correct
    (answer,) = desk.repository.answers_of_drill(session.drill_id)
    assert answer.correct
