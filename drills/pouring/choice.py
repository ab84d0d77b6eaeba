"""Which wines to pour next: those that cover the most expected confusions. Pure."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Collection, Iterable
from typing import TYPE_CHECKING

from drills.pouring.field import Field, cost, field_of
from drills.pouring.greedy import greedy
from drills.pouring.parts import (
    GLASS_FIRST,
    Bottle,
    Choice,
    Chosen,
    Limits,
    Pair,
    Role,
    Stake,
)

if TYPE_CHECKING:
    from drills.pouring.programme import Programme

__all__ = [
    "GLASS_FIRST",
    "Bottle",
    "Choice",
    "Chosen",
    "Limits",
    "Pair",
    "Role",
    "Stake",
    "choose",
    "usual_decoys",
]

Laterals = Callable[[str], Collection[str]]

# One pour in so many is a decoy unless the taster asks otherwise (our assumption).
DECOY_EVERY = 4
# What a decoy is worth beside a draw from 0 to 1: first that it could be taken for a poured wine,
# at one remove or two; then that it is in a weak pair of its own, so that finding one wine of a
# pair does not betray that its partner is there; then that it need not be bought (our assumption).
_LATERAL, _AT_TWO_REMOVES, _LISTED, _OWNED = 2.0, 1.6, 0.3, 0.3
# Ties between flights of equal value and cost are drawn below any coin.
_TIE = 1e-4


def usual_decoys(wines: int) -> int:
    """How many decoys a flight of so many pours has unless the taster asks otherwise."""
    return wines // DECOY_EVERY


def choose(
    bottles: Iterable[Bottle],
    stakes: Iterable[Stake],
    limits: Limits,
    *,
    told_apart: Callable[[str, str], bool],
    laterals: Laterals,
    seed: int,
) -> Choice:
    """The flight that covers the most expected confusions within the limits.

    A pair counts only when both its wines are poured. `told_apart(a, b)` says whether a strong cue
    (5 decibans, alone or in a set) tells two wines apart: wines that none does are never poured
    together. `laterals(wine)` are the wines commonly taken for it. Among flights of equal value the
    one that costs least is taken, then chance decides, as it does for decoys. Every stake forbids
    its wines to be each other's decoy, so pass the pairs that are weak and not all there are. The
    same bottles, stakes, limits and seed make the same flight, in whatever order they are given.

    Raises:
        UsageError: limits, prices or stakes that cannot be meant.
        PouringError: no flight fits; the message names what is short, and by how much.
    """
    # Here since scipy takes longer to import than most flights to choose.
    from drills.pouring.programme import Programme
    from drills.pouring.shortage import no_pair, what_is_short

    field = field_of(bottles, stakes, limits, told_apart)
    if not field.stakes:
        raise no_pair(field)
    rng = random.Random(f"flight {seed}")
    programme = Programme(field)
    found = programme.maximise(programme.value())
    quick = greedy(field)
    # Only where the search was cut short can the quick way be ahead.
    pairs = max(
        (_in_pairs(field, places) for places in (found and found.pairs, quick) if places),
        key=field.value,
        default=frozenset(),
    )
    if not pairs:
        raise no_pair(field) if found else what_is_short(field)
    bound = programme.bound(programme.value())
    exact = found is not None and found.proven
    if exact:
        pairs = _cheapest(programme, pairs, rng)
    decoys = _decoys(programme, pairs, laterals, rng)
    covered = _covered(field, pairs)
    poured = [
        Chosen(field.bottles[place], Role.PAIR, _covered(field, pairs, place)) for place in pairs
    ]
    poured += [
        Chosen(field.bottles[place], Role.DECOY, decoy_of=_taken_for(field, place, pairs, laterals))
        for place in decoys
    ]
    poured.sort(key=lambda one: one.bottle.wine)
    repeats = [Chosen(one.bottle, Role.REPEAT) for one in rng.sample(poured, limits.repeats)]
    return Choice(
        pours=tuple(sorted((*poured, *repeats), key=lambda one: one.bottle.wine)),
        covered=covered,
        value=math.fsum(stake.value for stake in covered),
        greedy=None if quick is None else field.value(quick),
        bound=bound,
        exact=exact,
        cost=math.fsum(cost(one.bottle, limits) for one in poured),
        not_told=field.not_told,
    )


def _cheapest(programme: Programme, pairs: frozenset[int], rng: random.Random) -> frozenset[int]:
    """Wines of the same value as these pairs that cost least; what still ties is drawn."""
    field = programme.field
    # A bottle to buy at an unknown price is dearer than an owned one: as the dearest that is known.
    unknown = max(field.costs) or 1.0
    efforts = [
        unknown if bottle.price is None and not (price or bottle.owned) else price
        for bottle, price in zip(field.bottles, field.costs, strict=True)
    ]
    programme.keep_value(field.value(pairs))
    found = programme.maximise(
        {programme.pair(n): -effort - _TIE * rng.random() for n, effort in enumerate(efforts)}
    )
    return pairs if found is None else found.pairs


def _decoys(
    programme: Programme, pairs: frozenset[int], laterals: Laterals, rng: random.Random
) -> frozenset[int]:
    """Drawn from what fits beside these pairs, the believable before the rest."""
    field = programme.field
    near = _nearness(field, pairs, laterals)
    listed = {place for one, other, _ in field.stakes for place in (one, other)}
    programme.keep_pairs(pairs)
    found = programme.maximise(
        {
            programme.decoy(place): near[place]
            + _LISTED * (place in listed)
            + _OWNED * bottle.owned
            + rng.random()
            for place, bottle in enumerate(field.bottles)
        }
    )
    # The pairs were found with decoys that fit, so some do.
    return frozenset() if found is None else found.decoys


def _nearness(field: Field, pairs: frozenset[int], laterals: Laterals) -> list[float]:
    """For every wine what it is worth as a decoy that it could be taken for one of these."""
    poured = {field.bottles[place].wine for place in pairs}
    first = poured.union(*map(laterals, poured))
    worth = []
    for bottle in field.bottles:
        own = set(laterals(bottle.wine))
        if bottle.wine in first or own & poured:
            worth.append(_LATERAL)
        else:
            worth.append(_AT_TWO_REMOVES if own & first else 0.0)
    return worth


def _taken_for(field: Field, decoy: int, pairs: frozenset[int], laterals: Laterals) -> str | None:
    """The poured wine that a decoy could be taken for: its lateral, else one sharing a lateral."""
    wine = field.bottles[decoy].wine
    own = set(laterals(wine))
    poured = sorted(field.bottles[place].wine for place in pairs)
    for other in poured:
        if other in own or wine in laterals(other):
            return other
    return next((other for other in poured if own & set(laterals(other))), None)


def _in_pairs(field: Field, places: frozenset[int]) -> frozenset[int]:
    """Those of the places that are in a covered pair."""
    return frozenset(
        place for one, other, _ in field.stakes if {one, other} <= places for place in (one, other)
    )


def _covered(field: Field, pairs: frozenset[int], place: int | None = None) -> tuple[Stake, ...]:
    """The stakes that these places cover (with this one), the most valuable first."""
    found = [
        stake
        for one, other, stake in field.stakes
        if {one, other} <= pairs and place in (None, one, other)
    ]
    return tuple(sorted(found, key=lambda stake: (-stake.value, stake.pair)))
