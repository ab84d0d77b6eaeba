"""The parts of a choice: bottles, stakes, limits, and the flight that comes of them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

Pair = tuple[str, str]

# A pair whose cards are all known and that is never told apart in the glass counts so much more
# than its confusions alone, here twice: more cards cannot help it, only glasses can. In between, by
# how far theory is ahead of the glass (our assumption).
GLASS_FIRST = 1.0
# One pour in so many is a decoy unless the taster asks otherwise (our assumption).
DECOY_EVERY = 4


@dataclass(frozen=True, slots=True)
class Bottle:
    """One bottle that could be poured: a line of the cellar, or one that must be bought.

    `key` is unique among the bottles, `wine` a key of the profile table. `price` in whatever money
    the budget is in, None where it is not known.
    """

    key: str
    wine: str
    price: float | None = None
    owned: bool = False


@dataclass(frozen=True, slots=True)
class Stake:
    """What it is worth to pour both wines of a pair.

    `expected` are the confusions to expect at the next flight. `theory` and `glass` say how the
    pair stands in cards and in calls, from 0 (nothing is told apart) to 1; None where too little is
    known.
    """

    pair: Pair
    expected: float
    theory: float | None = None
    glass: float | None = None

    @property
    def ahead(self) -> float:
        """How far theory is ahead of the glass, from 0 to 1; 0 where either is unknown."""
        if self.theory is None or self.glass is None:
            return 0.0
        return max(self.theory - self.glass, 0.0)

    @property
    def value(self) -> float:
        """Expected confusions, counting more where the cards are known and the glass is not."""
        return self.expected * (1 + GLASS_FIRST * self.ahead)


@dataclass(frozen=True, slots=True)
class Limits:
    """How many pours, and what they may cost.

    `wines` counts all pours, the decoys and the repeated ones among them. `budget` is what may be
    spent on bottles that are not owned; `dearest` bounds the price of every bottle, owned or not.
    `usual_price` stands for a price that is not known; where it is None, and there is a budget, a
    bottle without a price is not bought. `repeats` of the wines come twice, from one bottle.
    """

    wines: int
    budget: float | None = None
    dearest: float | None = None
    decoys: int = 0
    usual_price: float | None = None
    repeats: int = 0


class Role(StrEnum):
    """Why a wine is in the flight."""

    PAIR = "pair"  # with at least one other pour it is a weak pair
    DECOY = "decoy"  # in no weak pair with any other pour
    REPEAT = "repeat"  # a wine of the flight once more


@dataclass(frozen=True, slots=True)
class Chosen:
    """One pour of the flight and the reason for it.

    `stakes` are the pairs that it covers, the most valuable first (empty unless the role is PAIR).
    `decoy_of` is the poured wine that a decoy could be taken for, None where nothing that could be
    had is near a poured wine.
    """

    bottle: Bottle
    role: Role
    stakes: tuple[Stake, ...] = ()
    decoy_of: str | None = None

    @property
    def partners(self) -> tuple[str, ...]:
        """The poured wines it is confused with, the most valuable pair first."""
        return tuple(
            stake.pair[1] if stake.pair[0] == self.bottle.wine else stake.pair[0]
            for stake in self.stakes
        )


@dataclass(frozen=True, slots=True)
class Choice:
    """A flight: its pours by wine (no serving order), and how good it is.

    `value` is the sum of what the covered stakes are worth, `expected` of their confusions alone.
    `greedy` is the value that taking the best pair again and again reaches (None where it runs into
    a dead end), `bound` what no flight can exceed (linear relaxation). `exact`: proven the best.
    `cost` is what must be spent, with `usual_price` for unknown prices. `not_told` are weak pairs
    that were left out since no strong cue tells their wines apart.
    """

    pours: tuple[Chosen, ...]
    covered: tuple[Stake, ...]
    value: float
    greedy: float | None
    bound: float
    exact: bool
    cost: float
    not_told: tuple[Pair, ...] = ()

    @property
    def expected(self) -> float:
        """The confusions to expect in the pairs that the flight covers."""
        return math.fsum(stake.expected for stake in self.covered)

    @property
    def to_buy(self) -> tuple[Bottle, ...]:
        """The bottles that are not owned."""
        return tuple(
            one.bottle for one in self.pours if one.role is not Role.REPEAT and not one.bottle.owned
        )
