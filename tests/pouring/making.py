"""Small fields of wines, and the best flight of each found by looking at all of them."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

from hypothesis import strategies as st

from drills.pouring.choice import Bottle, Choice, Limits, Stake, choose

MOST_WINES = 8


def nothing_near(wine: str) -> tuple[str, ...]:  # noqa: ARG001 - nothing is near any wine
    """No laterals."""
    return ()


def all_apart(one: str, other: str) -> bool:  # noqa: ARG001 - whatever the wines
    """Every two wines are told apart."""
    return True


def bottles(*wines: str, price: float | None = 10.0, owned: bool = False) -> list[Bottle]:
    """One bottle of each wine at one price."""
    return [Bottle(f"bottle of {wine}", wine, price, owned) for wine in wines]


@dataclass(frozen=True)
class Case:
    """A field small enough to look at every flight."""

    bottles: tuple[Bottle, ...]
    stakes: tuple[Stake, ...]
    limits: Limits
    not_told: frozenset[frozenset[str]]

    def told_apart(self, one: str, other: str) -> bool:
        return frozenset((one, other)) not in self.not_told

    def chosen(
        self,
        seed: int = 0,
        laterals: Callable[[str], tuple[str, ...]] = nothing_near,
    ) -> Choice:
        return choose(
            self.bottles,
            self.stakes,
            self.limits,
            told_apart=self.told_apart,
            laterals=laterals,
            seed=seed,
        )

    def best(self) -> float | None:
        """The largest value of any flight within the limits, by brute force; None without one."""
        values = [
            self.value(wines)
            for wines in combinations(sorted({b.wine for b in self.bottles}), self.limits.wines)
            if self.fits(wines)
        ]
        return max(values, default=None)

    def value(self, wines: tuple[str, ...]) -> float:
        """What the stakes are worth of which both wines are among these."""
        return math.fsum(stake.value for stake in self.stakes if set(stake.pair) <= set(wines))

    def fits(self, wines: tuple[str, ...]) -> bool:
        """Whether these wines can be told apart, afforded, and have enough decoys among them."""
        if any(not self.told_apart(one, other) for one, other in combinations(wines, 2)):
            return False
        costs = [self.cost(wine) for wine in wines]
        if any(cost is None for cost in costs):
            return False
        spent = sum(cost for cost in costs if cost is not None)
        if self.limits.budget is not None and spent > self.limits.budget:
            return False
        paired = {
            wine
            for stake in self.stakes
            if stake.value > 0 and set(stake.pair) <= set(wines)
            for wine in stake.pair
        }
        return len(wines) - len(paired) >= self.limits.decoys

    def cost(self, wine: str) -> float | None:
        """What the cheapest bottle of a wine costs; None where none may be opened."""
        limits, costs = self.limits, []
        for bottle in self.bottles:
            price = limits.usual_price if bottle.price is None else bottle.price
            if bottle.wine != wine or (
                limits.dearest is not None and price is not None and price > limits.dearest
            ):
                continue
            if bottle.owned:
                costs.append(0.0)
            elif price is not None:
                costs.append(price)
            elif limits.budget is None:
                costs.append(math.inf)
        least = min(costs, default=None)
        # A price that nobody knows comes last, and is not counted.
        return 0.0 if least == math.inf else least


@st.composite
def cases(draw: st.DrawFn, *, free: bool = False) -> Case:
    """Up to eight wines, any stakes between them, any limits.

    `free`: all prices known, no budget, no decoys and nothing excluded, at least one pair.
    """
    wines = [f"wine {letter}" for letter in "abcdefgh"[: draw(st.integers(2, MOST_WINES))]]
    shares = st.none() | st.sampled_from((0.0, 0.25, 0.5, 1.0))
    every = list(combinations(wines, 2))
    pairs = draw(st.sets(st.sampled_from(every), min_size=int(free), max_size=12))
    stakes = [
        # Hundredths make ties frequent.
        Stake(pair, draw(st.integers(int(free), 30)) / 100, draw(shares), draw(shares))
        for pair in sorted(pairs)
    ]
    prices = st.integers(0, 60).map(float)
    there = [
        Bottle(str(nth), wine, draw(prices if free else st.none() | prices), draw(st.booleans()))
        for nth, wine in enumerate(
            draw(st.permutations(wines)) + draw(st.lists(st.sampled_from(wines), max_size=3))
        )
    ]
    number = draw(st.integers(2, len(wines)))
    if free:
        return Case(tuple(there), tuple(stakes), Limits(number), frozenset())
    limits = Limits(
        number,
        budget=draw(st.none() | st.integers(0, 300).map(float)),
        dearest=draw(st.none() | st.integers(20, 60).map(float)),
        decoys=draw(st.integers(0, number - 2)),
        usual_price=draw(st.none() | st.just(25.0)),
    )
    not_told = draw(st.sets(st.sampled_from(every), max_size=3))
    return Case(tuple(there), tuple(stakes), limits, frozenset(map(frozenset, not_told)))
