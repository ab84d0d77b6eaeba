"""Which pairs cost a taster wines: confusion rates from logged calls. Pure."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date

# A call of so many days ago counts half (our assumption).
HALF_LIFE_DAYS = 120.0
# The prior from separation is worth so many pours of the wine (our assumption).
PRIOR_POURS = 4.0
# The interval shown holds the rate with this probability.
CREDIBLE = 0.9


@dataclass(frozen=True, slots=True)
class Call:
    """One revealed pour: what it was, what it was called (None: no call), and when."""

    was: str
    called: str | None
    tasted_on: date | None


@dataclass(frozen=True, slots=True)
class WeakPair:
    """How often `was` is called `called`.

    `times` counts the confusions as they stand in the log; `rate` is the posterior mean with its
    credible interval `low` to `high`; `expected` is the number of such confusions to expect when a
    flight of one's usual wines has one pour.
    """

    called: str
    was: str
    times: int
    rate: float
    low: float
    high: float
    expected: float


def prior_rate(separation: float) -> float:
    """The confusion rate that a separation in decibans lets one expect before any call.

    For two normal pictures of equal spread the expected weight s (in nats) is d'^2 / 2 (with d'
    the distance in standard deviations), and an ideal taster errs at the normal tail beyond d'/2
    (Green and Swets, Signal Detection Theory, 1966): Phi(-sqrt(2 s) / 2).
    """
    nats = max(separation, 0.0) * math.log(10) / 10
    return 0.5 * math.erfc(math.sqrt(2 * nats) / 2 / math.sqrt(2))


def recency(tasted_on: date | None, today: date) -> float:
    """How much a call of that date still counts: halved every HALF_LIFE_DAYS, 1 if undated."""
    if tasted_on is None:
        return 1.0
    return float(0.5 ** (max((today - tasted_on).days, 0) / HALF_LIFE_DAYS))


def weak_pairs(
    calls: Iterable[Call],
    today: date,
    separation: Callable[[str, str], float],
) -> list[WeakPair]:
    """Every ordered pair confused at least once, the most costly first.

    Beta-binomial: a Beta prior of PRIOR_POURS pours at `prior_rate(separation)`, and the calls
    weighted by recency. `separation` gives decibans for two wine keys.
    """
    from scipy.special import betaincinv

    poured: defaultdict[str, float] = defaultdict(float)
    confused: defaultdict[tuple[str, str], float] = defaultdict(float)
    times: defaultdict[tuple[str, str], int] = defaultdict(int)
    for call in calls:
        if call.called is None:
            continue
        share = recency(call.tasted_on, today)
        poured[call.was] += share
        if call.called != call.was:
            confused[(call.called, call.was)] += share
            times[(call.called, call.was)] += 1
    whole = sum(poured.values()) or 1.0
    tail = (1 - CREDIBLE) / 2
    found = []
    for (called, was), count in confused.items():
        prior = prior_rate(separation(called, was))
        yes = PRIOR_POURS * prior + count
        no = PRIOR_POURS * (1 - prior) + poured[was] - count
        rate = yes / (yes + no)
        found.append(
            WeakPair(
                called=called,
                was=was,
                times=times[(called, was)],
                rate=rate,
                low=float(betaincinv(yes, no, tail)),
                high=float(betaincinv(yes, no, 1 - tail)),
                expected=rate * poured[was] / whole,
            )
        )
    return sorted(found, key=lambda pair: (-pair.expected, -pair.rate, pair.was, pair.called))
