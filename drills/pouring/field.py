"""What there is to choose from: one bottle a wine, its cost, the stakes and what excludes what."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from drills.errors import PouringError, UsageError
from drills.pouring.parts import Bottle, Limits, Pair, Stake

# Sums of prices are compared with a budget to a tenth of a cent.
PENCE = 0.001


@dataclass(frozen=True, slots=True)
class Field:
    """The wines that could be poured, by place in the order of their keys.

    `stakes` are (place, place, stake) of pairs with a value of which both wines are there and told
    apart; `clashes` pairs of places that must not be poured together; `budget` is infinite where
    there is none; `wines` is the number of different wines to pour, `decoys` how many of them at
    least.
    """

    bottles: tuple[Bottle, ...]
    costs: tuple[float, ...]
    stakes: tuple[tuple[int, int, Stake], ...]
    clashes: frozenset[tuple[int, int]]
    wines: int
    decoys: int
    budget: float
    not_told: tuple[Pair, ...]

    @property
    def pairing(self) -> int:
        """How many wines can be in pairs: all but the decoys."""
        return self.wines - self.decoys

    def value(self, places: Iterable[int]) -> float:
        """What the stakes are worth that these places cover."""
        poured = set(places)
        return math.fsum(stake.value for one, other, stake in self.stakes if {one, other} <= poured)


def field_of(
    bottles: Iterable[Bottle],
    stakes: Iterable[Stake],
    limits: Limits,
    told_apart: Callable[[str, str], bool],
) -> Field:
    """Everything checked and numbered; the order in which it was given leaves no trace.

    Raises:
        UsageError: limits, prices or stakes that cannot be meant.
        PouringError: no pair to pour, or too few wines.
    """
    _check(limits)
    paired = _paired(stakes)
    if not paired:
        raise PouringError("there is no weak pair to pour yet")
    best, dear, unpriced = _best_bottles(bottles, limits)
    places = {wine: place for place, wine in enumerate(sorted(best))}
    chosen = [best[wine] for wine in sorted(best)]
    wines = limits.wines - limits.repeats
    if len(chosen) < wines:
        left_out = [
            f"{number} {why}"
            for number, why in (
                (dear, "dearer than the limit"),
                (unpriced, "of unknown price under a budget"),
            )
            if number
        ]
        raise PouringError(
            f"{wines} wines are wanted and {len(chosen)} can be had: {wines - len(chosen)} short"
            + (f" ({', '.join(left_out)})" if left_out else "")
        )
    clashes = {
        (one, other)
        for other in range(len(chosen))
        for one in range(other)
        if not told_apart(chosen[one].wine, chosen[other].wine)
    }
    numbered, not_told = [], []
    for pair, stake in sorted(paired.items()):
        if not set(pair) <= places.keys():
            continue
        one, other = places[pair[0]], places[pair[1]]
        if (one, other) in clashes:
            not_told.append(pair)
        else:
            numbered.append((one, other, stake))
    return Field(
        tuple(chosen),
        tuple(cost(bottle, limits) for bottle in chosen),
        tuple(numbered),
        frozenset(clashes),
        wines,
        limits.decoys,
        math.inf if limits.budget is None else limits.budget,
        tuple(not_told),
    )


def cost(bottle: Bottle, limits: Limits) -> float:
    """What must be spent to pour it: nothing for an owned bottle, 0 where no price is known."""
    if bottle.owned:
        return 0.0
    price = limits.usual_price if bottle.price is None else bottle.price
    return 0.0 if price is None else price


def _check(limits: Limits) -> None:
    if min(limits.decoys, limits.repeats) < 0:
        raise UsageError("decoys and repeats are counted from 0")
    beside = limits.wines - limits.decoys - limits.repeats
    if beside < 2:
        what = f"{limits.decoys} decoys"
        if limits.repeats:
            what += f" and {limits.repeats} repeated"
        raise UsageError(
            f"a flight needs two wines of a pair beside {what}: at least "
            f"{limits.wines + 2 - beside} wines, not {limits.wines}"
        )
    if limits.repeats > limits.wines - limits.repeats:
        raise UsageError(
            f"of {limits.wines} pours {limits.wines // 2} can be repeats, not {limits.repeats}"
        )
    for name, money in (
        ("budget", limits.budget),
        ("dearest bottle", limits.dearest),
        ("usual price", limits.usual_price),
    ):
        if money is not None and not (0 <= money < math.inf):
            raise UsageError(f"the {name} is an amount of money, 0 or more, not {money:g}")


def _paired(stakes: Iterable[Stake]) -> dict[Pair, Stake]:
    """The stakes with a value, by pair in the order of the keys."""
    found: dict[Pair, Stake] = {}
    for stake in stakes:
        one, other = sorted(stake.pair)
        if one == other:
            raise UsageError(f"a pair is two wines, not {one} twice")
        if not 0 <= stake.expected < math.inf:
            raise UsageError(f"expected confusions are 0 or more, not {stake.expected:g}")
        for share in (stake.theory, stake.glass):
            if share is not None and not 0 <= share <= 1:
                raise UsageError(f"theory and glass lie between 0 and 1, not at {share:g}")
        if (one, other) in found:
            raise UsageError(f"the pair {one} and {other} is given twice")
        found[one, other] = replace(stake, pair=(one, other))
    return {pair: stake for pair, stake in found.items() if stake.value > 0}


def _best_bottles(bottles: Iterable[Bottle], limits: Limits) -> tuple[dict[str, Bottle], int, int]:
    """For every wine the bottle to open: an owned one before one to buy, then the cheapest.

    Also how many wines are left out as too dear, and how many for want of a price.
    """
    best: dict[str, Bottle] = {}
    keys: set[str] = set()
    dear: set[str] = set()
    unpriced: set[str] = set()
    for bottle in bottles:
        if bottle.key in keys:
            raise UsageError(f"the bottle {bottle.key} is given twice")
        keys.add(bottle.key)
        if bottle.price is not None and not 0 <= bottle.price < math.inf:
            raise UsageError(f"a price is 0 or more, not {bottle.price:g}")
        price = limits.usual_price if bottle.price is None else bottle.price
        if limits.dearest is not None and price is not None and price > limits.dearest:
            dear.add(bottle.wine)
        elif price is None and limits.budget is not None and not bottle.owned:
            unpriced.add(bottle.wine)
        elif bottle.wine not in best or _rank(bottle, limits) < _rank(best[bottle.wine], limits):
            best[bottle.wine] = bottle
    unpriced -= best.keys()
    return best, len(dear - best.keys() - unpriced), len(unpriced)


def _rank(bottle: Bottle, limits: Limits) -> tuple[bool, float, str]:
    price = limits.usual_price if bottle.price is None else bottle.price
    # A bottle whose price nobody knows is opened after the priced ones.
    return not bottle.owned, math.inf if price is None else price, bottle.key
