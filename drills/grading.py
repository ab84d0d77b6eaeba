"""From an answer to a grade: the taster says which and how sure, the program grades."""

from __future__ import annotations

from collections.abc import Sequence
from enum import IntEnum
from statistics import median

# Times are compared only once a taster's own pace is known.
PACED_AFTER = 20


class Sureness(IntEnum):
    """How sure the taster was."""

    GUESS = 1
    LEANING = 2
    SURE = 3

    @property
    def label(self) -> str:
        """The word on the screen."""
        return self.name.casefold()


class Grade(IntEnum):
    """What an answer says of memory; the memory model maps it to its own scale."""

    NOT_RECALLED = 1
    WITH_EFFORT = 2
    RECALLED = 3
    AT_EASE = 4


def grade_of(
    correct: bool,
    sureness: Sureness,
    seconds: float,
    earlier: Sequence[float] = (),
    *,
    near: bool = False,
) -> Grade:
    """Grade one answer.

    Wrong, or right by a guess, is not recalled: on a question of two a guess is right half the
    time. Right and leaning is recalled with effort, right and sure is recalled; at ease when also
    faster than half the taster's own median for that form (`earlier`: at least PACED_AFTER times in
    seconds). `near` is one level off on a scale: recalled with effort, unless it was a guess.
    """
    if near and sureness is not Sureness.GUESS:
        return Grade.WITH_EFFORT
    if not correct or sureness is Sureness.GUESS:
        return Grade.NOT_RECALLED
    if sureness is Sureness.LEANING:
        return Grade.WITH_EFFORT
    if len(earlier) >= PACED_AFTER and seconds < median(earlier) / 2:
        return Grade.AT_EASE
    return Grade.RECALLED


def dangerous(correct: bool, sureness: Sureness) -> bool:
    """Wrong and sure: the error a taster will carry into the exam room."""
    return not correct and sureness is Sureness.SURE
