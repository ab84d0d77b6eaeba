"""Intervals for a share of pours or answers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

# Two-sided confidence of an interval unless told otherwise.
LEVEL = 0.95


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and the interval `low` to `high` around it, all in the unit of the value."""

    value: float
    low: float
    high: float


def normal_quantile(share: float) -> float:
    """The standard normal value below which `share` (inside 0 to 1) of the distribution lies."""
    return NormalDist().inv_cdf(share)


def two_sided(level: float) -> float:
    """How many standard errors an interval of confidence `level` reaches to each side.

    Raises:
        ValueError: `level` is not between 0 and 1.
    """
    return normal_quantile(1 - tail(level))


def tail(level: float) -> float:
    """The probability left out at each end of an interval of confidence `level`.

    Raises:
        ValueError: `level` is not between 0 and 1.
    """
    if not 0 < level < 1:
        raise ValueError(f"a confidence lies between 0 and 1, not at {level}")
    return (1 - level) / 2


def check_counts(hits: float, n: float) -> None:
    """Refuse counts that cannot be.

    Raises:
        ValueError: `n` is negative, or `hits` is not between 0 and `n`.
    """
    if not 0 <= hits <= n:
        raise ValueError(f"{hits} of {n} is no count")


def clopper_pearson(hits: float, n: float, level: float = LEVEL) -> Estimate:
    """A share with its exact interval: it covers the true share at least as often as it says.

    Limits from the beta distribution (Clopper and Pearson, Biometrika 26, 1934, 404). No trial
    leaves the share at one half and the interval at 0 to 1.

    Raises:
        ValueError: impossible counts or level.
    """
    check_counts(hits, n)
    from scipy.special import betaincinv

    end = tail(level)
    low = float(betaincinv(hits, n - hits + 1, end)) if hits > 0 else 0.0
    high = float(betaincinv(hits + 1, n - hits, 1 - end)) if hits < n else 1.0
    return Estimate(hits / n if n else 0.5, low, high)


def wilson(hits: float, n: float, level: float = LEVEL) -> Estimate:
    """A share with the interval of the score test (Wilson, JASA 22, 1927, 209).

    Shorter than the exact one and on average as good as it says, so it is used for drawing. No
    trial leaves the share at one half and the interval at 0 to 1.

    Raises:
        ValueError: impossible counts or level.
    """
    check_counts(hits, n)
    z = two_sided(level)
    if not n:
        return Estimate(0.5, 0.0, 1.0)
    share = hits / n
    middle = (share + z * z / (2 * n)) / (1 + z * z / n)
    half = z * math.sqrt(share * (1 - share) / n + z * z / (4 * n * n)) / (1 + z * z / n)
    # At the ends the formula gives 0 and 1 but for rounding.
    low = 0.0 if hits == 0 else middle - half
    high = 1.0 if hits == n else middle + half
    return Estimate(share, low, high)


def beta_estimate(yes: float, no: float, level: float = LEVEL) -> Estimate:
    """Mean and central interval of a Beta(yes, no) distribution.

    With a prior Beta(a, b) and h hits in n trials the posterior is Beta(a + h, b + n - h) (Gelman
    et al., Bayesian Data Analysis, 3rd ed. 2013, section 2.4).

    Raises:
        ValueError: a parameter is not positive, or the level is impossible.
    """
    if not (yes > 0 and no > 0):
        raise ValueError("both parameters of a beta distribution are positive")
    from scipy.special import betaincinv

    end = tail(level)
    return Estimate(
        yes / (yes + no),
        float(betaincinv(yes, no, end)),
        float(betaincinv(yes, no, 1 - end)),
    )
