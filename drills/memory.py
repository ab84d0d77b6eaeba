"""The memory model: how long a contrast holds. The only module that imports `fsrs`.

Days are study days (ordinals). The library is handed noon UTC of the study day, so that the days it
counts between two answers are study days wherever and whenever the taster drills.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from functools import lru_cache

from fsrs import Card, Rating, Scheduler, State

from drills.grading import Grade

TARGET_RECALL = 0.9
_RATINGS = {
    Grade.NOT_RECALLED: Rating.Again,
    Grade.WITH_EFFORT: Rating.Hard,
    Grade.RECALLED: Rating.Good,
    Grade.AT_EASE: Rating.Easy,
}
# A card id is asked for by the library, which otherwise sleeps to make one; it has no meaning here.
_ANY_ID = 1


@dataclass(frozen=True, slots=True)
class Trace:
    """What is left of a contrast in memory.

    `stability` is in days (recall falls to 90% after so many), `difficulty` runs from 1 to 10;
    `last_day` and `due_day` are study days; `answers` and `slips` count what was graded.
    """

    stability: float
    difficulty: float
    last_day: int
    due_day: int
    answers: int = 1
    slips: int = 0


def _noon(day: int) -> datetime:
    return datetime.combine(date.fromordinal(day), time(12), UTC)


@lru_cache(maxsize=8)
def _scheduler(target: float, parameters: tuple[float, ...] | None) -> Scheduler:
    # No steps inside the day: a slip is checked once more in the same drill, and that is not
    # counted. Fuzz would make the same history give different days.
    steps = {"learning_steps": (), "relearning_steps": (), "enable_fuzzing": False}
    if parameters is None:
        return Scheduler(desired_retention=target, **steps)  # type: ignore[arg-type]
    return Scheduler(parameters, desired_retention=target, **steps)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class MemoryModel:
    """The model with a target recall and, when fitted, a taster's own parameters."""

    target: float = TARGET_RECALL
    parameters: tuple[float, ...] | None = None

    @property
    def numbers(self) -> tuple[float, ...]:
        """The model's parameters: the taster's own, or the library's."""
        return tuple(_scheduler(self.target, self.parameters).parameters)

    def after(self, trace: Trace | None, grade: Grade, day: int) -> Trace:
        """The trace once an answer of `day` is graded; None before is a contrast never seen."""
        day = day if trace is None else max(day, trace.last_day)
        card = _card(trace)
        card, _ = _scheduler(self.target, self.parameters).review_card(
            card, _RATINGS[grade], _noon(day)
        )
        if card.stability is None or card.difficulty is None:
            raise AssertionError("the library left a graded card without a state")
        slip = grade is Grade.NOT_RECALLED
        return Trace(
            stability=card.stability,
            difficulty=card.difficulty,
            last_day=day,
            due_day=card.due.date().toordinal(),
            answers=(trace.answers if trace else 0) + 1,
            slips=(trace.slips if trace else 0) + slip,
        )

    def replay(self, history: Iterable[tuple[Grade, int]]) -> Trace | None:
        """The trace that a whole history of (grade, day) leaves; None if it is empty."""
        trace = None
        for grade, day in history:
            trace = self.after(trace, grade, day)
        return trace

    def recall(self, trace: Trace | None, day: int) -> float:
        """The probability of knowing the contrast on `day`; 0 for one never seen."""
        if trace is None:
            return 0.0
        scheduler = _scheduler(self.target, self.parameters)
        return float(scheduler.get_card_retrievability(_card(trace), _noon(day)))

    def holds(self, trace: Trace) -> int:
        """Days from the last answer until recall falls to the target."""
        return trace.due_day - trace.last_day


def _card(trace: Trace | None) -> Card:
    if trace is None:
        return Card(card_id=_ANY_ID, due=_noon(1))
    return Card(
        card_id=_ANY_ID,
        state=State.Review,
        stability=trace.stability,
        difficulty=trace.difficulty,
        due=_noon(trace.due_day),
        last_review=_noon(trace.last_day),
    )
