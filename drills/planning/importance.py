"""What it matters to know a pair: confusions to expect, how close it is, what the exam weighs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date
from functools import cache
from typing import Any

import numpy as np

from drills.confusions import CallCount, PriorOf, recency, table_prior

Pair = tuple[str, str]

# No pair counts for nothing: tasters are not ideal, and the table is no more than a picture
# (our assumption: one confusion in so many pours).
LEAST_RATE = 1 / 200
# A card that slipped counts until the study day turns as so much of a confusion in the glass (our
# assumption); from the next day on the memory of the card says it.
A_SLIP = 0.25
# The first contrast of a pair settles most; each further one counts so much of the one before
# (our assumption).
NEXT_COUNTS = 0.8


class Confusions:
    """What the logged calls of a taster let one expect of each pair, by recency.

    Beta-binomial as in `drills.confusions`: the prior is the rate that the separation lets one
    expect, worth PRIOR_POURS pours, or `prior` where more is known.
    """

    def __init__(
        self, calls: Iterable[CallCount], today: date, prior: PriorOf | None = None
    ) -> None:
        self._prior = prior
        self._poured: defaultdict[str, float] = defaultdict(float)
        self._confused: defaultdict[Pair, float] = defaultdict(float)
        share = cache(lambda day: recency(day, today))
        for call in calls:
            if call.called is not None:
                number = call.times * share(call.tasted_on)
                self._poured[call.was] += number
                if call.called != call.was:
                    self._confused[call.called, call.was] += number

    def expected(self, pair: Pair, separation: float, slips: Mapping[Pair, int] = {}) -> float:
        """The confusions to expect when each wine of a pair is poured once.

        `separation` is in decibans; `slips` counts the cards of today by the wine that was taken
        for the answer and the one that was it, each worth A_SLIP of a confusion in the glass.
        """
        one, other = pair
        prior = self._prior or table_prior(lambda *_: separation)
        rate = 0.0
        for call in ((one, other), (other, one)):
            before = prior(*call)
            confused = self._confused.get(call, 0.0) + A_SLIP * slips.get(call, 0)
            rate += (before.pours * before.rate + confused) / (
                before.pours + self._poured.get(call[1], 0.0)
            )
        return rate + LEAST_RATE


def shares(pair_of: Any) -> Any:
    """The share of each contrast in the importance of its pair, by its place among them."""
    order = np.argsort(pair_of, kind="stable")
    ordered = pair_of[order]
    first = np.searchsorted(ordered, ordered)
    nth = np.empty(len(order), int)
    nth[order] = np.arange(len(order)) - first
    whole = (1 - NEXT_COUNTS ** np.bincount(pair_of)) / (1 - NEXT_COUNTS)
    return NEXT_COUNTS**nth / whole[pair_of]
