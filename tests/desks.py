"""What tests do at a desk: set the clock, answer, log what was mixed up."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING

from drills.clock import Clock
from drills.storage.records import AnswerRecord, IntakeDraft, PourDraft

if TYPE_CHECKING:
    from cards.cellar import Cellar
    from drills.grading import Sureness
    from drills.service.desk import Desk
    from drills.service.drilling import DrillSession
    from drills.service.showing import Reveal, Showing
    from drills.storage.repository import Repository

# Ten in the morning wherever the tests run, so that the study day is the same everywhere.
START = datetime(2026, 3, 2, 10, 0).astimezone(UTC)
TODAY = START.astimezone().date().toordinal()


@dataclass
class Watch:
    """A wall clock and a stopwatch that move when told to.

    The wall clock also moves by a millisecond whenever it is read: no two things happen at once.
    """

    at: datetime = START
    seconds: float = 0.0
    clock: Clock = field(init=False)

    def __post_init__(self) -> None:
        self.clock = Clock(now=self._now, stopwatch=lambda: self.seconds)

    def _now(self) -> datetime:
        self.at += timedelta(milliseconds=1)
        return self.at

    def go_on(self, seconds: float) -> None:
        """Let time pass within a drill."""
        self.seconds += seconds
        self.at += timedelta(seconds=seconds)

    def set_local(self, year: int, month: int, day: int, hour: int, minute: int = 0) -> None:
        """Set the wall clock to a local time."""
        self.at = datetime(year, month, day, hour, minute).astimezone(UTC)

    def next_morning(self, days: int = 1) -> None:
        """Sleep until four in the morning, so many days on, when the study day turns."""
        here = (self.at.astimezone() + timedelta(days=days)).date()
        self.set_local(here.year, here.month, here.day, 4)


def right_answer(showing: Showing) -> str | int:
    """What answers a card rightly: a wine for *which glass?*, else the place of an option."""
    question = showing.question
    if question.options:
        return next(n for n, option in enumerate(question.options) if option.distance == 0)
    return question.truth


def wrong_answer(showing: Showing) -> str | int:
    """What answers a card as wrongly as it can be."""
    question = showing.question
    if question.options:
        return max(range(len(question.options)), key=lambda n: question.options[n].distance)
    return question.other


def answer(
    session: DrillSession,
    *,
    right: bool = True,
    sureness: Sureness | None = None,
    seconds: float = 6.0,
) -> Reveal:
    """Take the next card and answer it."""
    from drills.grading import Sureness

    showing = session.next()
    assert showing is not None, "the drill is over"
    given = right_answer(showing) if right else wrong_answer(showing)
    return session.answer(given, sureness or Sureness.SURE, seconds)


def answer_all(
    session: DrillSession, number: int, right: Callable[[Showing], bool] = lambda _: True
) -> list[Reveal]:
    """Take and answer so many cards, surely; `right` says which of them rightly."""
    from drills.grading import Sureness

    reveals: list[Reveal] = []
    for _ in range(number):
        showing = session.next()
        assert showing is not None, f"the drill is over after {len(reveals)} answers"
        given = right_answer(showing) if right(showing) else wrong_answer(showing)
        reveals.append(session.answer(given, Sureness.SURE, 6.0))
    return reveals


def answers_of_pair(
    repository: Repository, taster_id: int, wine: str, other: str
) -> list[AnswerRecord]:
    """The answers that stand to all contrasts of two wines, also retired ones, in their order."""
    from sqlalchemy import select

    from drills.storage.columns import CONTRAST

    a, b = sorted((wine, other))
    of_pair = select(CONTRAST.c.id).where(CONTRAST.c.wine_a == a, CONTRAST.c.wine_b == b)
    with repository.reading() as connection:
        contrasts = set(connection.scalars(of_pair))
    given = [
        one
        for drill in repository.drills(taster_id, limit=1000)
        for one in repository.answers_of_drill(drill.id)
        if one.contrast_id in contrasts and one.undone_at is None
    ]
    return sorted(given, key=lambda one: one.id)


@cache
def versatile(cellar: Cellar) -> tuple[str, str]:
    """A pair whose contrasts can be put in every form, levels with a near miss and a far one."""
    from cards.questions import Form, ask

    for pair in cellar.pairs():
        missing = {Form.WHICH_CUE, Form.NAME_IT, "near", "far"}
        for contrast in cellar.contrasts(*pair):
            for form in Form:
                question = ask(cellar, contrast, random.Random(1), form=form)
                missing.discard(question.form)
                if question.form is Form.WHICH_LEVEL:
                    distances = {option.distance for option in question.options}
                    missing -= {"near"} if 1 in distances else set()
                    missing -= {"far"} if distances & {2, 3, 4} else set()
        if not missing:
            return pair
    raise AssertionError("no pair of the table can be put in every form")


def mix_up(desk: Desk, called: str, was: str, *, times: int = 1, flight: str = "Tuesday") -> None:
    """Log pours of one wine that were called another, and keep the pair's contrasts."""
    desk.ensure_pairs([(called, was)] if called < was else [(was, called)])
    now = desk.clock.now()
    known = len(desk.repository.pours(desk.taster.id))
    pours = [
        PourDraft(
            flight=flight,
            tasted_on=now.astimezone().date(),
            position=number + 1,
            fingerprint=f"{flight}-{called}-{was}-{known + number}",
            called_text=called,
            called_wine=called,
            was_text=was,
            was_wine=was,
        )
        for number in range(times)
    ]
    desk.repository.record_pours(desk.taster.id, IntakeDraft(flight, "digest", now), pours)
