"""What it matters to know a pair: confusions to expect, how close it is, what the exam weighs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from functools import cache

from drills.confusions import PRIOR_POURS, CallCount, prior_rate, recency

Pair = tuple[str, str]

# No pair counts for nothing: tasters are not ideal, and the table is no more than a picture
# (our assumption: one confusion in so many pours).
LEAST_RATE = 1 / 200
# The first contrast of a pair settles most; each further one counts so much of the one before
# (our assumption).
NEXT_COUNTS = 0.8


def expected_confusions(
    pairs: Sequence[Pair],
    calls: Iterable[CallCount],
    today: date,
    separation: Callable[[str, str], float],
    weight: Callable[[Pair], float],
) -> list[float]:
    """For every pair the confusions to expect when each wine is poured once, times its weight.

    Beta-binomial as in `drills.confusions`: the prior is the rate that the separation (decibans)
    lets one expect, worth PRIOR_POURS pours; logged calls count by recency.
    """
    poured: defaultdict[str, float] = defaultdict(float)
    confused: defaultdict[Pair, float] = defaultdict(float)
    share = cache(lambda day: recency(day, today))
    for call in calls:
        if call.called is not None:
            number = call.times * share(call.tasted_on)
            poured[call.was] += number
            if call.called != call.was:
                confused[call.called, call.was] += number
    found = []
    for one, other in pairs:
        prior = PRIOR_POURS * prior_rate(separation(one, other))
        rates = (
            (prior + confused[called, was]) / (PRIOR_POURS + poured[was])
            for called, was in ((one, other), (other, one))
        )
        found.append(weight((one, other)) * (sum(rates) + LEAST_RATE))
    return found


def shares(pair_of: Sequence[int], importance: Sequence[float]) -> list[float]:
    """The importance of contrasts, each pair's divided among its own in their order."""
    nth: defaultdict[int, int] = defaultdict(int)
    weights = []
    for pair in pair_of:
        weights.append(NEXT_COUNTS ** nth[pair])
        nth[pair] += 1
    whole = {pair: (1 - NEXT_COUNTS**number) / (1 - NEXT_COUNTS) for pair, number in nth.items()}
    return [
        importance[pair] * weight / whole[pair]
        for pair, weight in zip(pair_of, weights, strict=True)
    ]
