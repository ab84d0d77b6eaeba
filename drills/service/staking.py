"""What the next flight may choose from: bottles, and what each pair of wines is at stake."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import chain, combinations, zip_longest
from statistics import median
from typing import TYPE_CHECKING

from cards.contrasts import ordered_pair
from drills.errors import PouringError
from drills.pouring.choice import Bottle, Stake
from drills.service.group_counts import pairs_of_group
from drills.service.stock import cellar
from drills.service.weak import Corner, known_calls, overview, prior_of
from drills.statistics.corners import Strength
from drills.storage.planned_records import StockRow

if TYPE_CHECKING:
    from drills.service.desk import Desk
    from drills.service.flight_showing import Asked

Pair = tuple[str, str]

# Decibans from which a cue, alone or in a set, is strong.
STRONG = 5.0
# Near laterals that are weighed beside the weak pairs, drawn anew for every flight: so many for
# each bottle, and so many with one wine. Measured on 24 flights of six without a confusion logged:
# two flights share 0.45 wines and 70 wines are poured in all. With 50 pairs drawn and no bound it
# was 1.55 and 41, and Rheingau Riesling, near to so many, was in 15 of the 24.
_DRAWN, _OF_ONE_WINE = 2, 2
_NEAR = 4


@dataclass(frozen=True, slots=True)
class Field:
    """Bottles and stakes, and what explains them afterwards.

    `rows` are the rows of the cellar by key of the bottle; `times` how often each weak pair was
    confused; `expected` all confusions of weak pairs to expect at a flight of this size.
    """

    bottles: tuple[Bottle, ...]
    stakes: tuple[Stake, ...]
    rows: Mapping[str, StockRow]
    times: Mapping[Pair, int]
    expected: float
    usual_price: float | None
    told_apart: Callable[[str, str], bool]
    laterals: Callable[[str], Collection[str]]


def field_of(desk: Desk, asked: Asked) -> Field:
    """All that the next flight may choose from.

    Raises:
        PouringError: only the cellar may be used and it holds no known wine.
    """
    rows = {
        f"cellar {row.id}": row for row in cellar(desk) if row.wine is not None and row.bottles > 0
    }
    owned = {row.wine for row in rows.values() if row.wine is not None}
    if asked.cellar_only and not owned:
        raise PouringError(
            "the cellar holds no bottle of a wine that the table knows; crosspour cellar import "
            "FILE takes a list in"
        )
    weak, times = _weak_stakes(desk, asked.bottles)
    stakes = weak + _lateral_stakes(desk, asked, owned, {stake.pair for stake in weak})
    bottles = [
        Bottle(key, row.wine, row.price, owned=True)
        for key, row in rows.items()
        if row.wine is not None
    ]
    if not asked.cellar_only:
        wanted = {wine for stake in stakes for wine in stake.pair}
        # A decoy should be near a poured wine, whatever was drawn.
        for wine in tuple(wanted):
            wanted.update(set(desk.table.profiles[wine].laterals) & desk.table.profiles.keys())
        bottles += [Bottle(f"shop {wine}", wine) for wine in sorted(wanted - owned)]
    prices = [row.price for row in rows.values() if row.price is not None]
    usual = asked.usual_price
    if usual is None and prices:
        usual = median(prices)
    return Field(
        bottles=tuple(bottles),
        stakes=tuple(stakes),
        rows=rows,
        times=times,
        expected=sum(stake.expected for stake in weak),
        usual_price=usual,
        told_apart=_told_apart(desk),
        laterals=_laterals(desk),
    )


def _weak_stakes(desk: Desk, bottles: int) -> tuple[list[Stake], dict[Pair, int]]:
    """The pairs still confused: what each costs at a flight of this size, and how often so far."""
    found = overview(desk)
    expected: dict[Pair, float] = {}
    times: dict[Pair, int] = {}
    for one in found.weak:
        pair = ordered_pair(one.called, one.was)
        expected[pair] = expected.get(pair, 0.0) + bottles * one.expected
        times[pair] = times.get(pair, 0) + one.times
    stakes = [
        Stake(pair, value, *_standing(found.corner(*pair))) for pair, value in expected.items()
    ]
    return stakes, times


def _standing(corner: Corner | None) -> tuple[float | None, float | None]:
    """Theory and glass of a pair, 0 to 1 each; None where too little was answered or poured."""
    if corner is None:
        return None, None
    theory = glass = None
    if corner.theory.strength is not Strength.UNKNOWN and corner.theory.recall is not None:
        theory = corner.theory.recall
        if corner.theory.r_index is not None:
            # An R-index of one half is guessing.
            theory = min(theory, max(2 * corner.theory.r_index.value - 1, 0.0))
    if corner.glass.strength is not Strength.UNKNOWN:
        # Confused every other time is guessing.
        glass = max(1 - 2 * corner.glass.rate.value, 0.0)
    return theory, glass


def _lateral_stakes(
    desk: Desk, asked: Asked, owned: Collection[str], known: Collection[Pair]
) -> list[Stake]:
    """Near laterals, and what others confuse, never confused so far: what to expect of each.

    A pour is any wine of the table with the same chance; the rate is the prior, the table's or that
    of others' counts.
    """
    profiles = desk.table.profiles
    named = {
        ordered_pair(key, lateral)
        for key, profile in profiles.items()
        for lateral in profile.laterals
        if lateral in profiles
    }
    at_hand = {
        ordered_pair(*pair)
        for pair in combinations(sorted(owned), 2)
        if profiles[pair[0]].style == profiles[pair[1]].style
    }
    at_hand |= {pair for pair in named if set(pair) <= set(owned)}
    kinds = [at_hand] if asked.cellar_only else [at_hand, pairs_of_group(desk), named]
    drawn = _drawn([kind - set(known) for kind in kinds], asked)
    share = 2 * asked.bottles / len(profiles)
    prior = prior_of(desk, known_calls(desk))
    return [
        Stake(pair, share * (prior(*pair).rate + prior(*pair[::-1]).rate) / 2) for pair in drawn
    ]


def _drawn(kinds: Sequence[Collection[Pair]], asked: Asked) -> list[Pair]:
    """Pairs drawn by the seed, one of each kind in turn, of no wine more than its share."""
    rng = random.Random(f"laterals {asked.seed}")
    shuffled = [rng.sample(sorted(kind), len(kind)) for kind in kinds]
    times: Counter[str] = Counter()
    drawn: dict[Pair, None] = {}
    for pair in filter(None, chain.from_iterable(zip_longest(*shuffled))):
        if pair not in drawn and max(times[wine] for wine in pair) < _OF_ONE_WINE:
            drawn[pair] = None
            times.update(pair)
        if len(drawn) == _DRAWN * asked.bottles:
            break
    return list(drawn)


def _told_apart(desk: Desk) -> Callable[[str, str], bool]:
    @cache
    def told_apart(one: str, other: str) -> bool:
        a, b = ordered_pair(one, other)
        # A single cue mostly settles it, and is looked up in a fifth of the time.
        if any(
            max(cue.toward_a, cue.toward_b) >= STRONG for cue in desk.cellar.cues(a, b) if cue.known
        ):
            return True
        return any(contrast.strength >= STRONG for contrast in desk.cellar.contrasts(a, b))

    return told_apart


def _laterals(desk: Desk) -> Callable[[str], Collection[str]]:
    @cache
    def laterals(wine: str) -> Collection[str]:
        named = [one for one in desk.table.profiles[wine].laterals if one in desk.table.profiles]
        near = desk.cellar.laterals(wine, desk.cellar.same_style(wine))[:_NEAR]
        return tuple(dict.fromkeys([*named, *(other for other, _ in near)]))

    return laterals
