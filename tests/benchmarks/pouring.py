"""Choosing a flight: the best of all, against adding the best pair again and again."""

from __future__ import annotations

import random
from collections.abc import Callable
from itertools import combinations

from drills.pouring.choice import Bottle, Choice, Limits, Stake, choose
from drills.pouring.field import field_of
from drills.pouring.greedy import greedy
from drills.pouring.serving import Glass, serve
from tests.benchmarks.timing import Line, in_turn, timed

# A key of the screen of the next flight that plans anew.
CHOICE_TARGET = 1.0
# Wines there are, stakes between them, pours, decoys, budget.
_SIZES = ((40, 80, 6, 1, 150.0), (60, 120, 12, 3, 300.0), (120, 200, 8, 2, None))
_TASTERS = tuple(f"taster {number}" for number in range(12))


class _Made:
    """Wines, stakes and prices from a seed; one pair in forty is not told apart."""

    def __init__(self, wines: int, stakes: int, limits: Limits, seed: int) -> None:
        chance = random.Random(seed)
        self.wines = [f"wine {number:03}" for number in range(wines)]
        every = list(combinations(self.wines, 2))
        self.not_told = set(chance.sample(every, len(every) // 40))
        self.stakes = [
            Stake(pair, chance.betavariate(1, 6), chance.random(), chance.random())
            for pair in chance.sample(every, stakes)
        ]
        self.bottles = [
            Bottle(wine, wine, round(chance.uniform(8, 60), 2), chance.random() < 0.3)
            for wine in self.wines
        ]
        self.near = {wine: frozenset(chance.sample(self.wines, 4)) for wine in self.wines}
        self.limits = limits

    def told_apart(self, one: str, other: str) -> bool:
        return (min(one, other), max(one, other)) not in self.not_told

    def chosen(self) -> Choice:
        return choose(
            self.bottles,
            self.stakes,
            self.limits,
            told_apart=self.told_apart,
            laterals=self.near.__getitem__,
            seed=1,
        )

    def quick(self) -> object:
        return greedy(field_of(self.bottles, self.stakes, self.limits, self.told_apart))


def pouring(repeats: int) -> list[Line]:
    """The best flight of three sizes, and the orders of twelve tasters."""
    lines = []
    for wines, stakes, pours, decoys, budget in _SIZES:
        made = _Made(wines, stakes, Limits(pours, budget=budget, decoys=decoys), seed=1)
        found = in_turn({"best": timed(made.chosen), "quick": timed(made.quick)}, repeats)
        lines.append(
            Line(
                "pouring",
                f"{pours} of {wines} wines chosen, {stakes} stakes",
                found["best"],
                "the best pair again and again",
                found["quick"],
                CHOICE_TARGET,
                absolute=True,
            )
        )
    glasses = [Glass(f"{number}", f"wine {number}", "red") for number in range(12)]
    served = in_turn(
        {
            "design": timed(lambda: serve(glasses, _TASTERS, seed=1)),
            "chance": timed(_shuffles(glasses)),
        },
        repeats,
    )
    lines.append(
        Line(
            "pouring",
            f"{len(glasses)} wines served to {len(_TASTERS)} tasters",
            served["design"],
            "as many orders by chance",
            served["chance"],
        )
    )
    return lines


def _shuffles(glasses: list[Glass]) -> Callable[[], object]:
    chance = random.Random(1)
    return lambda: [chance.sample(glasses, len(glasses)) for _ in _TASTERS]
