"""Difference tests of sensory analysis: could this many right answers be luck?

The counts are compared with a binomial distribution in whole numbers, so a table's limit cases come
out as printed.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

from drills.statistics.shares import check_counts

ALPHA = 0.05
# Steps of the search for the habit that makes most answers right; searched twice, coarse then fine.
_STEPS = 200


class DifferenceTest(StrEnum):
    """How the glasses were presented, and with it how often a guess is right: once in `glasses`."""

    TRIANGLE = "triangle"  # ISO 4120: which of three is the odd one
    DUO_TRIO = "duo-trio"  # ISO 10399: which of two is the reference
    PAIRED = "paired comparison"  # ISO 5495, one-sided: one of the two is the right answer
    PAIRED_TWO_SIDED = "paired comparison, two-sided"  # ISO 5495: neither is expected

    @property
    def glasses(self) -> int:
        """How many glasses a guess is drawn from; `1 / glasses` is the chance of a guess."""
        return 3 if self is DifferenceTest.TRIANGLE else 2

    @property
    def sides(self) -> int:
        """1, or 2 where either answer could turn out to be the frequent one."""
        return 2 if self is DifferenceTest.PAIRED_TWO_SIDED else 1


def p_value(right: int, n: int, test: DifferenceTest = DifferenceTest.PAIRED) -> float:
    """The probability that guessing gives at least `right` of `n`: P(X >= right | n, chance).

    For the two-sided test `right` counts either answer, and the probability of the larger count is
    doubled (at most 1).

    Raises:
        ValueError: impossible counts.
    """
    check_counts(right, n)
    if test.sides == 2:
        right = max(right, n - right)
    return min(1.0, test.sides * _at_least(right, n, test.glasses))


@lru_cache(maxsize=4096)
def _at_least(right: int, n: int, glasses: int) -> float:
    """P(X >= right) of n guesses, from whole numbers of ways, so it is rounded only once."""
    # The shorter of the two tails is summed, from its thin end.
    upper = 2 * right > n
    ways = 0
    if upper:
        for x, term in _ways(n, glasses):
            if x < right:
                break
            ways += term
    else:
        term = (glasses - 1) ** n
        for x in range(right):
            ways += term
            term = term * (n - x) // ((x + 1) * (glasses - 1))
    every: int = glasses**n
    return (ways if upper else every - ways) / every


def _ways(n: int, glasses: int) -> Iterator[tuple[int, int]]:
    """In how many ways n guesses among so many glasses come out with x right, from x = n down."""
    term = 1
    for x in range(n, -1, -1):
        yield x, term
        term = term * x * (glasses - 1) // (n - x + 1)


def minimum_correct(
    n: int, alpha: float = ALPHA, test: DifferenceTest = DifferenceTest.PAIRED
) -> int | None:
    """The fewest right answers of `n` that guessing reaches with probability `alpha` at most.

    The smallest x with P(X >= x | n, chance) <= alpha (for the two-sided test, alpha / 2): the rule
    behind the tables of ISO 4120, ISO 5495 and ISO 10399. None where not even `n` right answers
    are that improbable.

    Raises:
        ValueError: `n` is negative or `alpha` is not between 0 and 1.
    """
    check_counts(0, n)
    _check_alpha(alpha)
    allowed = Fraction(alpha) / test.sides * test.glasses**n
    total, least = 0, None
    for x, term in _ways(n, test.glasses):
        total += term
        if total > allowed:
            break
        least = x
    return least


def told_apart(
    right: int, n: int, alpha: float = ALPHA, test: DifferenceTest = DifferenceTest.PAIRED
) -> bool:
    """Whether `right` of `n` answers are more than guessing gives at the level `alpha`.

    Raises:
        ValueError: impossible counts or level.
    """
    _check_alpha(alpha)
    return p_value(right, n, test) <= alpha


def fewest(alpha: float = ALPHA, test: DifferenceTest = DifferenceTest.PAIRED) -> int:
    """How many answers are needed before all of them right would be more than luck.

    Raises:
        ValueError: `alpha` is not between 0 and 1.
    """
    _check_alpha(alpha)
    n = 1
    while minimum_correct(n, alpha, test) is None:
        n += 1
    return n


@lru_cache(maxsize=65536)
def p_value_any_habit(right: int, poured_a: int, poured_b: int) -> float:
    """The paired comparison's p-value for pours that were not balanced.

    ISO 5495 pours both wines equally often, so a taster who cannot tell them apart is right half
    the time whatever their habits. In a log of tastings one wine may be poured more, and the habit
    of calling that one is then often right. A taster without any discrimination calls A with some
    fixed probability h, and the number right is Binomial(poured_a, h) + Binomial(poured_b, 1 - h);
    this is the largest P(X >= right) over all h (an unconditional exact test, like Barnard's,
    Biometrika 34, 1947, 123). Never below the value of `p_value`, which is h = 1/2.

    Raises:
        ValueError: impossible counts.
    """
    check_counts(right, poured_a + poured_b)
    check_counts(0, min(poured_a, poured_b))
    import numpy as np
    from scipy.special import bdtrc, gammaln, xlog1py, xlogy

    hits = np.arange(poured_a + 1)
    ways = gammaln(poured_a + 1) - gammaln(hits + 1) - gammaln(poured_a - hits + 1)
    needed = right - hits  # of the other wine

    def chance(habit: np.ndarray) -> np.ndarray:
        h = habit[:, None]
        right_a = np.exp(ways + xlogy(hits, h) + xlog1py(poured_a - hits, -h))
        reached = bdtrc(np.clip(needed - 1, 0, poured_b), poured_b, 1 - h)
        right_b = np.where(needed <= 0, 1.0, np.where(needed > poured_b, 0.0, reached))
        total: np.ndarray = (right_a * right_b).sum(axis=1)
        return total

    coarse = np.linspace(0, 1, _STEPS + 1)
    found = chance(coarse)
    best = coarse[found.argmax()]
    fine = np.clip(best + np.linspace(-1, 1, _STEPS + 1) / _STEPS, 0, 1)
    # The search stands between grid points, the plain test is a floor.
    largest = max(found.max(), chance(fine).max(), p_value(right, poured_a + poured_b))
    return min(float(largest), 1.0)


def _check_alpha(alpha: float) -> None:
    if not 0 < alpha < 1:
        raise ValueError(f"a level lies between 0 and 1, not at {alpha}")
