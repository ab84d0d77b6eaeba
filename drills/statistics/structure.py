"""Structure calls against the profile, alcohol calls against the label: bias and spread."""

from __future__ import annotations

import math
from dataclasses import dataclass

from drills.statistics.shares import LEVEL, Estimate, check_counts, tail, two_sided, wilson

# A call counts as right within so much of the label, % vol: what the EU lets a label differ from
# the wine (Delegated Regulation 2019/33, Article 44).
WITHIN = 0.5


@dataclass(frozen=True, slots=True)
class Spread:
    """How calls differ from what they were held against (levels, or % vol).

    `bias` is the mean difference: above 0 the taster calls too high. `sd` is the standard deviation
    of the differences, None with fewer than two. `limits` is where 95 in 100 differences lie, None
    with fewer than two.
    """

    n: int
    bias: Estimate
    sd: Estimate | None
    limits: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class AlcoholCalls:
    """Alcohol calls against labels, in % vol; `within` is the share no further off than WITHIN."""

    spread: Spread
    within: Estimate


def spread_of_moments(n: int, total: float, squares: float, level: float = LEVEL) -> Spread:
    """Bias and spread from a count, a sum and a sum of squares of differences.

    Bias: mean with Student's t interval; a single difference leaves it open on both sides. Standard
    deviation: with n - 1, interval from chi-square. Limits: bias +- 1.96 sd (Bland and Altman,
    Lancet 327, 1986, 307).

    Raises:
        ValueError: no difference, or an impossible level.
    """
    if n < 1:
        raise ValueError("without a call there is no bias")
    end = tail(level)
    mean = total / n
    if n == 1:
        return Spread(1, Estimate(mean, -math.inf, math.inf), None, None)
    from scipy.special import chdtri, stdtrit

    # Rounding may leave a hair below zero where all differences are the same.
    sum_of_squares = max(squares - n * mean * mean, 0.0)
    sd = math.sqrt(sum_of_squares / (n - 1))
    half = float(stdtrit(n - 1, 1 - end)) * sd / math.sqrt(n)
    reach = two_sided(0.95) * sd
    return Spread(
        n=n,
        bias=Estimate(mean, mean - half, mean + half),
        sd=Estimate(
            sd,
            math.sqrt(sum_of_squares / float(chdtri(n - 1, end))),
            math.sqrt(sum_of_squares / float(chdtri(n - 1, 1 - end))),
        ),
        limits=(mean - reach, mean + reach),
    )


def alcohol_calls(
    n: int, total: float, squares: float, within: int, level: float = LEVEL
) -> AlcoholCalls:
    """Alcohol calls against labels from sums that a query can make.

    Args:
        n: calls with a label.
        total: sum of (called - label), % vol.
        squares: sum of (called - label)^2.
        within: calls no further than WITHIN from the label.
        level: confidence of the intervals.

    Raises:
        ValueError: no call, impossible counts or level.
    """
    check_counts(within, n)
    return AlcoholCalls(spread_of_moments(n, total, squares, level), wilson(within, n, level))
