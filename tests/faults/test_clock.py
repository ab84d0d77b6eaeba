"""Whatever the clock does, nothing is due twice and no number of days is below zero."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from itertools import pairwise

import pytest

from drills.grading import Sureness
from drills.planner import Why
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.keeping_safe import backups, keep_safe
from drills.service.progress import progress
from drills.service.showing import Reveal
from drills.service.today import today
from drills.service.traces import as_trace
from drills.service.weak import weak
from tests.desks import Watch, answer_all, mix_up, right_answer

NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")
Open = Callable[[], Desk]
HOUR, DAY = 3600.0, 86_400.0


@pytest.fixture
def go_to() -> Iterator[Callable[[str], None]]:
    """Move the machine to another time zone."""
    before = os.environ.get("TZ")

    def go(name: str) -> None:
        os.environ["TZ"] = name
        time.tzset()

    yield go
    if before is None:
        os.environ.pop("TZ", None)
    else:
        os.environ["TZ"] = before
    time.tzset()


def all_holds(desk: Desk) -> None:
    """What is shown of days, minutes and recall can be meant."""
    now = today(desk)
    assert min(now.confused, now.due, now.unseen) >= 0
    assert now.next_in is None or now.next_in >= 0
    effort = progress(desk).basics.effort
    assert all(one.minutes >= 0 for one in effort.days)
    weak(desk)
    day = desk.clock.today()
    for row in desk.repository.memories(desk.taster.id):
        assert row.memory is not None
        assert row.memory.due_day >= row.memory.last_day
        assert 0 <= desk.memory.recall(as_trace(row.memory), day) <= 1


def go_through(session: DrillSession, number: int) -> list[Reveal]:
    """So many cards, answered rightly and surely."""
    reveals = []
    for _ in range(number):
        if (showing := session.next()) is None:
            break
        reveals.append(session.answer(right_answer(showing), Sureness.SURE, 5.0))
    return reveals


def shown(reveals: list[Reveal]) -> list[int]:
    return [one.showing.question.contrast.id for one in reveals]


@pytest.mark.parametrize("back", [HOUR, DAY, 40 * DAY])
def test_a_clock_set_back_in_a_drill_shows_nothing_twice(
    open_desk: Open, watch: Watch, back: float
) -> None:
    desk = open_desk()
    session = DrillSession(desk, 36_000)
    first = go_through(session, 10)
    # The stopwatch of the machine does not follow its wall clock.
    watch.at -= _seconds(back)
    second = go_through(session, 10)
    assert len(set(shown(first + second))) == 20
    assert all(one.back_in is not None and one.back_in >= 0 for one in second)
    assert session.left > 0
    assert session.end().next_in is not None
    all_holds(desk)
    again = go_through(DrillSession(open_desk(), 36_000), 20)
    assert not set(shown(again)) & set(shown(first + second))
    session.undo()
    all_holds(desk)


@pytest.mark.parametrize("back", [HOUR, DAY])
def test_a_clock_set_back_makes_nothing_due_that_was_answered(
    open_desk: Open, watch: Watch, back: float
) -> None:
    desk = open_desk()
    answer_all(DrillSession(desk, 36_000), 30)
    watch.next_morning(10)
    due = {row.contrast.id for row in desk.repository.due(desk.taster.id, _day(desk), 400)}
    assert due
    done = go_through(DrillSession(open_desk(), 36_000), 60)
    assert due <= set(shown(done))
    watch.at -= _seconds(back)
    assert today(desk).due == 0
    all_holds(desk)


@pytest.mark.parametrize("back", [HOUR, DAY])
def test_a_confusion_answered_after_the_clock_was_set_back_is_done(
    open_desk: Open, watch: Watch, back: float
) -> None:
    desk = open_desk()
    mix_up(desk, *NEAR)
    watch.at -= _seconds(back)
    waiting = today(desk).confused
    assert waiting > 0
    done = go_through(DrillSession(desk, 36_000), waiting)
    assert {one.showing.why for one in done} == {Why.CONFUSED}
    assert today(desk).confused == 0


@pytest.mark.parametrize("back", [HOUR, DAY])
def test_a_confusion_after_the_clock_was_set_back_comes_first_all_the_same(
    open_desk: Open, watch: Watch, back: float
) -> None:
    desk = open_desk()
    number = len(desk.repository.contrasts_of_pair(*NEAR))
    go_through(DrillSession(desk, 36_000, pair=NEAR), number)
    watch.at -= _seconds(back)
    mix_up(desk, *NEAR)
    assert today(desk).confused == number
    showing = DrillSession(desk, 36_000).next()
    assert showing is not None
    assert showing.why is Why.CONFUSED


def test_a_day_on_the_way_west_and_back_is_no_second_day(
    open_desk: Open, watch: Watch, go_to: Callable[[str], None]
) -> None:
    go_to("Asia/Tokyo")
    watch.set_local(2026, 3, 2, 9)
    desk = open_desk()
    first = go_through(DrillSession(desk, 36_000), 20)
    day = _day(desk)
    go_to("Pacific/Honolulu")
    assert _day(desk) == day - 1
    assert today(desk).due == 0
    second = go_through(DrillSession(open_desk(), 36_000), 20)
    assert not set(shown(first)) & set(shown(second))
    all_holds(desk)
    go_to("Pacific/Kiritimati")
    all_holds(desk)


# Europe/Berlin: 2026-03-29 lacks the hour from two to three, 2026-10-25 has it twice.
@pytest.mark.parametrize(("month", "day"), [(3, 28), (10, 24)])
def test_a_night_of_daylight_saving_turns_the_study_day_once_at_four(
    open_desk: Open, watch: Watch, go_to: Callable[[str], None], month: int, day: int
) -> None:
    go_to("Europe/Berlin")
    watch.set_local(2026, month, day, 23, 30)
    desk = open_desk()
    session = DrillSession(desk, 36_000)
    evening, days = _day(desk), []
    for _ in range(24):
        go_through(session, 1)
        watch.go_on(15 * 60)
        days.append((watch.at.astimezone().strftime("%H:%M"), _day(desk)))
    assert [new - old for (_, old), (_, new) in pairwise(days)].count(1) == 1
    turned = [hour for hour, number in days if number == evening + 1]
    assert turned[0].startswith("04:")
    assert days[0][1] == evening
    assert len(set(shown(session.reveals))) == len(session.reveals)
    all_holds(desk)


def test_a_clock_set_back_makes_no_second_backup_of_a_day_and_loses_none(
    open_desk: Open, watch: Watch
) -> None:
    desk = open_desk()
    go_through(DrillSession(desk, 600), 2)
    assert keep_safe(desk) is not None
    watch.at -= _seconds(DAY)
    go_through(DrillSession(desk, 600), 2)
    assert keep_safe(desk) is not None
    assert keep_safe(desk) is None
    watch.at += _seconds(DAY)
    assert keep_safe(desk) is None
    assert [one.answers for one in backups(desk)] == [2, 4]


def _seconds(number: float) -> timedelta:
    return timedelta(seconds=number)


def _day(desk: Desk) -> int:
    return desk.clock.today()
