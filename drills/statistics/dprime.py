"""d-prime: how far apart two wines stand in one taster's perception, in standard deviations.

A method is the number of alternatives of a forced choice (2: which of the two is A?), or the name
of a difference test. The same d-prime gives very different shares of right answers: a triangle is
harder than a choice of two. Psychometric functions: Green and Swets, Signal Detection Theory and
Psychophysics, 1966; Hacker and Ratcliff, Perception & Psychophysics 26, 1979, 168 (m alternatives);
Ennis, Journal of Sensory Studies 8, 1993, 353 (triangle, duo-trio).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from typing import TYPE_CHECKING, Literal

from drills.statistics.difference import DifferenceTest, p_value
from drills.statistics.shares import LEVEL, check_counts, clopper_pearson, two_sided

if TYPE_CHECKING:
    import numpy as np

Method = Literal["triangle", "duo-trio"] | int
TRIANGLE: Method = "triangle"
DUO_TRIO: Method = "duo-trio"
TWO_AFC: Method = 2
THREE_AFC: Method = 3

# Beyond this no share of right answers differs from 1 in double precision.
_FURTHEST = 40.0
_REACH, _POINTS = 9.0, 721
_NORMAL = NormalDist()


@dataclass(frozen=True, slots=True)
class DPrime:
    """An estimate of d-prime (standard deviations of perception).

    `se` is None where it is not defined: at or below chance, or with every answer right. `p_value`
    is that of the exact one-sided test against guessing; None for yes and no.
    """

    value: float
    se: float | None
    low: float
    high: float
    p_value: float | None = None


def chance(method: Method) -> float:
    """The share of right answers at d-prime 0.

    Raises:
        ValueError: no such method.
    """
    if method == TRIANGLE:
        return 1 / 3
    if method == DUO_TRIO:
        return 0.5
    if isinstance(method, int) and method >= 2:
        return 1 / method
    raise ValueError(f"{method!r} is no method")


def proportion_correct(d_prime: float, method: Method) -> float:
    """The share of right answers that a d-prime gives.

    m alternatives: the integral of phi(x - d) Phi(x)^(m-1); two of them: Phi(d / sqrt 2). Triangle:
    2 times the integral over x > 0 of phi(x) [Phi(-x sqrt 3 + d sqrt(2/3)) + Phi(-x sqrt 3 - d
    sqrt(2/3))]. Duo-trio: 1 - P - Q + 2 P Q with P = Phi(d / sqrt 2) and Q = Phi(d / sqrt 6).

    Raises:
        ValueError: d-prime is negative, or no such method.
    """
    least = chance(method)
    if d_prime < 0:
        raise ValueError("d-prime is not negative in a test with a right answer")
    return min(max(_share(d_prime, method), least), 1.0)


def d_prime(share: float, method: Method) -> float:
    """The d-prime that gives a share of right answers: 0 at or below chance, infinite at 1.

    Raises:
        ValueError: `share` is not between 0 and 1, or no such method.
    """
    if not 0 <= share <= 1:
        raise ValueError(f"a share lies between 0 and 1, not at {share}")
    if share <= chance(method):
        return 0.0
    if share >= 1:
        return math.inf
    return _inverse(share, method)


@lru_cache(maxsize=4096)
def _inverse(share: float, method: Method) -> float:
    low, high = 0.0, 1.0
    while proportion_correct(high, method) < share and high < _FURTHEST:
        low, high = high, 2 * high
    # Halving is slow and cannot fail, where Newton's steps leave the flat ends.
    while high - low > 1e-13 * high:
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if proportion_correct(middle, method) < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def estimate_d_prime(right: int, n: int, method: Method, level: float = LEVEL) -> DPrime:
    """d-prime from `right` of `n` answers, with standard error, interval and p-value.

    The standard error is that of the share divided by the slope of the psychometric function (delta
    method; Bi, Ennis and O'Mahony, Journal of Sensory Studies 12, 1997, 87). The limits come from
    the exact interval of the share (Clopper and Pearson), raised to chance where it lies below.

    Raises:
        ValueError: impossible counts, `n` 0, no such method or level.
    """
    check_counts(right, n)
    if not n:
        raise ValueError("without an answer there is no d-prime")
    share = right / n
    exact = clopper_pearson(right, n, level)
    value = d_prime(share, method)
    se = None
    if 0 < value < math.inf:
        slope = _slope(value, method)
        se = math.sqrt(share * (1 - share) / n) / slope if slope > 0 else None
    return DPrime(
        value=value,
        se=se,
        low=d_prime(exact.low, method),
        high=d_prime(exact.high, method),
        p_value=_p_value(right, n, method),
    )


def yes_no(
    hits: int,
    signals: int,
    false_alarms: int,
    noises: int,
    *,
    level: float = LEVEL,
    corrected: bool = False,
) -> DPrime:
    """d-prime of "is this one A?": z(share of hits) - z(share of false alarms).

    Negative where A is named more often when it is not there. With `corrected`, half a hit and one
    pour are added to each share (Hautus, Behavior Research Methods 27, 1995, 46), which keeps it
    finite when a share is 0 or 1. Standard error: Gourevitch and Galanter, Psychometrika 32, 1967,
    25; the interval is normal.

    Raises:
        ValueError: impossible counts, or no pour of one kind.
    """
    check_counts(hits, signals)
    check_counts(false_alarms, noises)
    if not (signals and noises):
        raise ValueError("both kinds of pour are needed")
    more = 1 if corrected else 0
    variance, points = 0.0, []
    for count, n in ((hits + more / 2, signals + more), (false_alarms + more / 2, noises + more)):
        share = count / n
        if not 0 < share < 1:
            points.append(-math.inf if share == 0 else math.inf)
            variance = math.inf
            continue
        z = _NORMAL.inv_cdf(share)
        points.append(z)
        variance += share * (1 - share) / (n * _NORMAL.pdf(z) ** 2)
    # A named always, or never, in both: nothing is told apart, and infinities have no difference.
    value = 0.0 if points[0] == points[1] else points[0] - points[1]
    if not math.isfinite(variance):
        return DPrime(value, None, -math.inf, math.inf)
    se = math.sqrt(variance)
    half = two_sided(level) * se
    return DPrime(value, se, value - half, value + half)


def _p_value(right: int, n: int, method: Method) -> float:
    if method == TRIANGLE:
        return p_value(right, n, DifferenceTest.TRIANGLE)
    if method in (DUO_TRIO, TWO_AFC):
        return p_value(right, n, DifferenceTest.PAIRED)
    from scipy.special import bdtrc

    return float(bdtrc(right - 1, n, chance(method))) if right else 1.0


def _share(d: float, method: Method) -> float:
    if method == TRIANGLE:
        from scipy.special import ndtr

        x, weight = _half_line()
        away, shift = x * math.sqrt(3), d * math.sqrt(2 / 3)
        return float(2 * (weight * (ndtr(shift - away) + ndtr(-shift - away))).sum())
    if method == DUO_TRIO:
        near, far = _NORMAL.cdf(d / math.sqrt(2)), _NORMAL.cdf(d / math.sqrt(6))
        return 1 - near - far + 2 * near * far
    if method == TWO_AFC:
        return _NORMAL.cdf(d / math.sqrt(2))
    from scipy.special import ndtr

    x, weight = _line()
    return float((weight * ndtr(x + d) ** (int(method) - 1)).sum())


def _slope(d: float, method: Method) -> float:
    """The derivative of `_share` in d."""
    if method == TRIANGLE:
        near, far = d / math.sqrt(2), d / math.sqrt(6)
        return math.sqrt(2 / 3) * _NORMAL.pdf(far) * (2 * _NORMAL.cdf(near) - 1)
    if method == DUO_TRIO:
        near, far = d / math.sqrt(2), d / math.sqrt(6)
        return _NORMAL.pdf(near) / math.sqrt(2) * (2 * _NORMAL.cdf(far) - 1) + _NORMAL.pdf(
            far
        ) / math.sqrt(6) * (2 * _NORMAL.cdf(near) - 1)
    if method == TWO_AFC:
        return _NORMAL.pdf(d / math.sqrt(2)) / math.sqrt(2)
    import numpy as np
    from scipy.special import ndtr

    x, weight = _line()
    others = int(method) - 1
    density = np.exp(-((x + d) ** 2) / 2) / math.sqrt(2 * math.pi)
    return float((weight * others * ndtr(x + d) ** (others - 1) * density).sum())


@lru_cache(maxsize=1)
def _line() -> tuple[np.ndarray, np.ndarray]:
    """Points of the whole line and their weights under a standard normal.

    Evenly spaced points integrate a smooth function that vanishes at both ends to full precision.
    """
    import numpy as np

    x = np.linspace(-_REACH, _REACH, _POINTS)
    weight = np.exp(-x * x / 2)
    return x, weight / weight.sum()


@lru_cache(maxsize=1)
def _half_line() -> tuple[np.ndarray, np.ndarray]:
    """Points above 0 and their weights (Gauss and Legendre, since the end at 0 is sharp)."""
    import numpy as np

    x, weight = np.polynomial.legendre.leggauss(120)
    x = (x + 1) * _REACH / 2
    return x, weight * _REACH / 2 * np.exp(-x * x / 2) / math.sqrt(2 * math.pi)
