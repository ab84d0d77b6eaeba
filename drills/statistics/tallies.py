"""Answers counted by pair, truth and sureness: what a query returns, as statistics need it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from drills.grading import Sureness
from drills.statistics.dprime import DPrime, yes_no
from drills.statistics.rindex import RIndex, estimate_r_index
from drills.statistics.shares import LEVEL

# From "sure it is A" to "sure it is B".
_CATEGORIES = 2 * len(Sureness)


class AnswerCount(NamedTuple):
    """So many answers of *which glass?* on one pair, with one truth, answer and sureness.

    `truth` and `given` are "a" or "b"; `sureness` is 1 guess, 2 leaning, 3 sure.
    """

    wine_a: str
    wine_b: str
    truth: str
    given: str
    sureness: int
    times: int


@dataclass(frozen=True, slots=True)
class Ratings:
    """Answers as ratings from "sure it is A" to "sure it is B", by what was true."""

    a: tuple[int, ...]
    b: tuple[int, ...]

    @property
    def answers(self) -> int:
        """All answers."""
        return sum(self.a) + sum(self.b)

    @property
    def right(self) -> int:
        """Answers that named the true wine."""
        half = _CATEGORIES // 2
        return sum(self.a[:half]) + sum(self.b[half:])

    def r_index(self, level: float = LEVEL) -> RIndex | None:
        """The R-index of A against B; None while only one of the two has been the answer."""
        if not (sum(self.a) and sum(self.b)):
            return None
        return estimate_r_index(self.a, self.b, level=level)

    def d_prime(self, level: float = LEVEL) -> DPrime | None:
        """d-prime of A against B, whatever the sureness; None as for the R-index.

        A card shows cues of one wine and asks which of two it is: d-prime of yes and no, corrected
        so that it stays finite.
        """
        if not (sum(self.a) and sum(self.b)):
            return None
        half = _CATEGORIES // 2
        said_a, not_a = sum(self.a[:half]), sum(self.b[:half])
        return yes_no(said_a, sum(self.a), not_a, sum(self.b), level=level, corrected=True)


def tally(counts: Iterable[AnswerCount]) -> dict[tuple[str, str], Ratings]:
    """The ratings of each pair, keyed (wine_a, wine_b).

    Raises:
        ValueError: a truth or answer other than "a" and "b", or no such sureness.
    """
    cells: dict[tuple[str, str], tuple[list[int], list[int]]] = {}
    for wine_a, wine_b, truth, given, sureness, times in counts:
        if truth not in ("a", "b") or given not in ("a", "b"):
            raise ValueError(f"“{truth}” and “{given}”: a wine of a pair is a or b")
        rows = cells.get((wine_a, wine_b))
        if rows is None:
            rows = cells[wine_a, wine_b] = ([0] * _CATEGORIES, [0] * _CATEGORIES)
        rows[truth == "b"][_category(given, Sureness(sureness))] += times
    return {pair: Ratings(tuple(a), tuple(b)) for pair, (a, b) in cells.items()}


def together(ratings: Iterable[Ratings]) -> Ratings:
    """The ratings of several pairs added up, each with its own A and B."""
    rows = [[0] * _CATEGORIES, [0] * _CATEGORIES]
    for one in ratings:
        for row, more in zip(rows, (one.a, one.b), strict=True):
            for place, times in enumerate(more):
                row[place] += times
    return Ratings(tuple(rows[0]), tuple(rows[1]))


def _category(given: str, sureness: Sureness) -> int:
    """0 for "sure it is A" to the last for "sure it is B"."""
    step = len(Sureness) - sureness
    return step if given == "a" else _CATEGORIES - 1 - step
