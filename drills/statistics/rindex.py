"""The R-index: how well sureness tells two wines apart.

The probability that a pour of the one wine is rated nearer to "sure it is that one" than a pour of
the other, ties counting half (Brown, Journal of the Institute of Brewing 80, 1974, 483; O'Mahony,
Journal of Sensory Studies 7, 1992, 1). It is the area under the ROC curve of the ratings: 0.5 is
guessing, 1 is perfect.

Ratings are two rows of counts over the same categories, from "sure it is the signal" to "sure it is
the noise": `signal` of the pours that were the signal, `noise` of those that were not.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from drills.statistics.shares import LEVEL, clopper_pearson, two_sided

_ROUNDING = 1e-9
Error = Literal["delong", "hanley-mcneil"]
Scale = Literal["logit", "plain"]


@dataclass(frozen=True, slots=True)
class RIndex:
    """An R-index (0 to 1) with standard error and interval.

    `se` is None where it cannot be estimated: fewer than two pours of a kind.
    """

    value: float
    se: float | None
    low: float
    high: float
    signals: float
    noises: float


def r_index(signal: Sequence[float], noise: Sequence[float]) -> float:
    """The R-index of two rows of counts.

    R = [sum over i of signal_i x (noise below i + noise_i / 2)] / (signals x noises).

    Raises:
        ValueError: rows of different length, a negative count, or an empty row.
    """
    signals, noises = _totals(signal, noise)
    below, area = noises, 0.0
    for mine, other in zip(signal, noise, strict=True):
        below -= other
        area += mine * (below + other / 2)
    # Weighted counts may leave a hair outside.
    return min(max(area / (signals * noises), 0.0), 1.0)


def estimate_r_index(
    signal: Sequence[float],
    noise: Sequence[float],
    *,
    level: float = LEVEL,
    error: Error = "delong",
    scale: Scale = "logit",
) -> RIndex:
    """The R-index with standard error and interval.

    `error` chooses the standard error: that of DeLong, DeLong and Clarke-Pearson, Biometrics 44,
    1988, 837 (from the ratings themselves), or that of Hanley and McNeil, Radiology 143, 1982, 29
    (from the area alone: Q1 = R / (2 - R), Q2 = 2 R^2 / (1 + R)). `scale` is that on which the
    interval is symmetric: "logit" stays inside 0 to 1 and holds its level with few pours (Pepe, The
    Statistical Evaluation of Medical Tests, 2003), "plain" is R +- z se, cut at 0 and
    1, as most programs print it.

    Where the ratings show no variation, as when no pour was misjudged, a standard error of zero
    would claim certainty. The interval is then the exact one for a share of min(signals, noises)
    pairs, since that many pairs of pours can be compared independently.

    Raises:
        ValueError: as for `r_index`, or an impossible level.
    """
    value = r_index(signal, noise)
    signals, noises = _totals(signal, noise)
    z = two_sided(level)
    se = None
    if signals > 1 and noises > 1:
        se = _delong(signal, noise, value) if error == "delong" else _hanley(value, signals, noises)
    if se is None or se < _ROUNDING:
        pairs = min(signals, noises)
        exact = clopper_pearson(value * pairs, pairs, level)
        return RIndex(value, se, exact.low, exact.high, signals, noises)
    if scale == "plain":
        low, high = max(value - z * se, 0.0), min(value + z * se, 1.0)
    else:
        middle, half = math.log(value / (1 - value)), z * se / (value * (1 - value))
        low, high = _from_logit(middle - half), _from_logit(middle + half)
    return RIndex(value, se, low, high, signals, noises)


def _delong(signal: Sequence[float], noise: Sequence[float], value: float) -> float:
    signals, noises = sum(signal), sum(noise)
    below, above = noises, 0.0
    of_signals = of_noises = 0.0
    for mine, other in zip(signal, noise, strict=True):
        below -= other
        of_signals += mine * ((below + other / 2) / noises - value) ** 2
        of_noises += other * ((above + mine / 2) / signals - value) ** 2
        above += mine
    return math.sqrt(of_signals / (signals - 1) / signals + of_noises / (noises - 1) / noises)


def _hanley(value: float, signals: float, noises: float) -> float:
    square = value * value
    two_signals, two_noises = value / (2 - value), 2 * square / (1 + value)
    variance = (
        value * (1 - value)
        + (signals - 1) * (two_signals - square)
        + (noises - 1) * (two_noises - square)
    ) / (signals * noises)
    # Zero but for rounding at the ends.
    return math.sqrt(max(variance, 0.0))


def _from_logit(value: float) -> float:
    if value < 0:
        return math.exp(value) / (1 + math.exp(value))
    return 1 / (1 + math.exp(-value))


def _totals(signal: Sequence[float], noise: Sequence[float]) -> tuple[float, float]:
    if len(signal) != len(noise):
        raise ValueError("both rows need the same categories")
    if any(count < 0 for count in (*signal, *noise)):
        raise ValueError("a count is not negative")
    signals, noises = sum(signal), sum(noise)
    if not (signals and noises):
        raise ValueError("both wines must have been rated")
    return signals, noises
