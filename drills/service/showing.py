"""What a drill hands to whoever shows it: cards, reveals, and the summary at its end."""

from __future__ import annotations

from dataclasses import dataclass

from cards.explaining import Explanation
from cards.questions import Question
from drills.grading import Grade, Sureness
from drills.planner import Why


@dataclass(frozen=True, slots=True)
class Glass:
    """What stands above a glass."""

    wine: str
    name: str
    place: str


@dataclass(frozen=True, slots=True)
class Showing:
    """A card on the screen; `reason` is why it is worth its time now, where that was weighed."""

    question: Question
    why: Why
    left: Glass
    right: Glass
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Reveal:
    """What an answer earned: right or wrong, why, and when the contrast comes back.

    `back_in` is in days; None for a check, which is not counted.
    """

    showing: Showing
    correct: bool
    near: bool
    sureness: Sureness
    grade: Grade
    dangerous: bool
    explanation: Explanation
    back_in: int | None

    @property
    def slipped(self) -> bool:
        """Whether the answer was wrong and leaves the contrast as not recalled."""
        return not self.correct and self.grade is Grade.NOT_RECALLED


@dataclass(frozen=True, slots=True)
class Slip:
    """A card answered wrong: which wine it was, which was said, by which cues."""

    truth: str
    other: str
    cues: str
    dangerous: bool


@dataclass(frozen=True, slots=True)
class Summary:
    """A finished drill.

    `forecast` counts the cards due on each of the next FORECAST_DAYS days, tomorrow first;
    `next_in` is the number of days until the next one is due, None when nothing is waiting;
    `waiting` is how many answers wait on this machine for a server that is away.
    """

    answered: int
    right: int
    seconds: float
    slips: tuple[Slip, ...]
    due_left: int
    unseen_left: int
    next_in: int | None
    forecast: tuple[int, ...]
    waiting: int = 0


def given_words(question: Question, given: str | int) -> str:
    """An answer as it is kept: the words of an option, or a or b for a wine of the pair."""
    if isinstance(given, int):
        return question.options[given].words
    return "a" if given == question.contrast.wine_a else "b"
