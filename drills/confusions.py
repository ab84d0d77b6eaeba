"""Which pairs cost a taster wines: confusion rates from logged calls. Pure."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from functools import cache

from drills.statistics.group_prior import Prior

PriorOf = Callable[[str, str], Prior]
"""What to expect of calling a wine by another's name before any call: asked by (called, was)."""

# A call of so many days ago counts half (our assumption).
HALF_LIFE_DAYS = 120.0
# The prior from separation is worth so many pours of the wine (our assumption).
PRIOR_POURS = 4.0
# The interval shown holds the rate with this probability.
CREDIBLE = 0.9


@dataclass(frozen=True, slots=True)
class CallCount:
    """So many pours of a wine that were called one name (None: no call) on one day."""

    was: str
    called: str | None
    tasted_on: date | None
    times: int


@dataclass(frozen=True, slots=True)
class WeakPair:
    """How often `was` is called `called`.

    `times` counts the confusions as they stand in the log; `rate` is the posterior mean with its
    credible interval `low` to `high`; `expected` is the number of such confusions to expect at the
    next flight, of one's usual wines (one pour, unless told). `poured` is how many pours of `was`
    the rate rests on, older ones counting less, `prior_pours` how many its prior is worth.
    """

    called: str
    was: str
    times: int
    rate: float
    low: float
    high: float
    expected: float
    poured: float = 0.0
    prior_pours: float = PRIOR_POURS


def prior_rate(separation: float) -> float:
    """The confusion rate that a separation in decibans lets one expect before any call.

    For two normal pictures of equal spread the expected weight s (in nats) is d'^2 / 2 (with d'
    the distance in standard deviations), and an ideal taster errs at the normal tail beyond d'/2
    (Green and Swets, Signal Detection Theory, 1966): Phi(-sqrt(2 s) / 2).
    """
    nats = max(separation, 0.0) * math.log(10) / 10
    return 0.5 * math.erfc(math.sqrt(2 * nats) / 2 / math.sqrt(2))


def table_prior(separation: Callable[[str, str], float]) -> PriorOf:
    """The prior that the table alone gives: PRIOR_POURS pours at `prior_rate(separation)`."""
    return lambda called, was: Prior(prior_rate(separation(called, was)), PRIOR_POURS)


def recency(tasted_on: date | None, today: date, half_life: float = HALF_LIFE_DAYS) -> float:
    """How much a call of that date still counts: halved every `half_life` days, 1 if undated."""
    if tasted_on is None:
        return 1.0
    return float(0.5 ** (max((today - tasted_on).days, 0) / half_life))


def weak_pairs(
    counts: Iterable[CallCount],
    today: date,
    separation: Callable[[str, str], float],
    *,
    half_life: float = HALF_LIFE_DAYS,
    pours: int = 1,
    prior: PriorOf | None = None,
) -> list[WeakPair]:
    """Every ordered pair confused at least once, the most costly first.

    Beta-binomial: a Beta prior of PRIOR_POURS pours at `prior_rate(separation)`, and the calls
    weighted by recency. `separation` gives decibans for two wine keys, `pours` is the size of the
    flight that `expected` speaks of; `prior` stands in for the table's where more is known.

    A call of weight w enters the posterior as w calls (its likelihood to the power w: Ibrahim and
    Chen, Statistical Science 15, 2000, 46). As calls age, the interval therefore widens towards
    that of the prior; it does not pretend that old pours are still as good as new ones.
    """
    from scipy.special import betaincinv

    poured: defaultdict[str, float] = defaultdict(float)
    confused: defaultdict[tuple[str, str], float] = defaultdict(float)
    times: defaultdict[tuple[str, str], int] = defaultdict(int)

    @cache
    def share_of(day: date | None) -> float:
        return recency(day, today, half_life)

    for count in counts:
        if count.called is None or not count.times:
            continue
        share = count.times * share_of(count.tasted_on)
        poured[count.was] += share
        if count.called != count.was:
            confused[(count.called, count.was)] += share
            times[(count.called, count.was)] += count.times
    whole = sum(poured.values()) or 1.0
    tail = (1 - CREDIBLE) / 2
    prior_of = prior or table_prior(separation)
    priors = [prior_of(*pair) for pair in confused]
    posteriors = []
    for (pair, weight), before in zip(confused.items(), priors, strict=True):
        yes = before.pours * before.rate + weight
        posteriors.append((yes, before.pours + poured[pair[1]] - yes))
    if not posteriors:
        return []
    # All limits in one call: one at a time costs twenty times as much.
    yeses, noes = zip(*posteriors, strict=True)
    lows, highs = betaincinv(yeses, noes, tail), betaincinv(yeses, noes, 1 - tail)
    found = []
    for (called, was), before, yes, no, low, high in zip(
        confused, priors, yeses, noes, lows, highs, strict=True
    ):
        rate = yes / (yes + no)
        found.append(
            WeakPair(
                called=called,
                was=was,
                times=times[(called, was)],
                rate=rate,
                low=float(low),
                high=float(high),
                expected=pours * rate * poured[was] / whole,
                poured=poured[was],
                prior_pours=before.pours,
            )
        )
    return sorted(found, key=lambda pair: (-pair.expected, -pair.rate, pair.was, pair.called))
