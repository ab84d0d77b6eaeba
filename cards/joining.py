"""Sets of two or three cues of many pairs at once: which are needed, and which are taken.

The rules are those of cards.contrasts. Eleven cues of a pair are looked at, its slots, in the order
in which weights are added. Arrays hold a row a slot or a set and a column a pair, so that every
step runs along the pairs. A set is told by its *mask*: a bit for each of its members, the highest
for the first name, so that of two sets of one size the larger mask has the name that comes first.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cards.arrays import NONE, Flags, Floats, Ints, Sides
from cards.contrasts import (
    DESCRIPTORS,
    FOR_BOTH,
    GROUP,
    IDLE,
    MEASURED_LEAST,
    MEASURED_SHARE,
    MOST_WEIGHT,
    PER_NEEDED,
    SCALES,
    STRONG_MEMBER,
    THRESHOLD,
    USES,
)
from cards.cues import BOTH_SIDES, SIDE_A, SIDE_B

SLOTS = SCALES + DESCRIPTORS
Masks = NDArray[np.uint16]


class _Sets:
    """The sets of two or of three slots, and for each its subsets with one member less."""

    def __init__(self, size: int) -> None:
        members = list(combinations(range(SLOTS), size))
        self.members = np.array(members, dtype=np.int64)
        smaller = {slots: place for place, slots in enumerate(combinations(range(SLOTS), size - 1))}
        self.smaller = np.array(
            [[smaller[rest] for rest in combinations(slots, size - 1)] for slots in members],
            dtype=np.int64,
        )

    def folded(self, values: NDArray[Any], join: Callable[..., Any]) -> NDArray[Any]:
        """The values of each set's members, a row a slot, joined in their order: a row a set."""
        joined = values[self.members[:, 0]]
        for place in range(1, self.members.shape[1]):
            join(joined, values[self.members[:, place]], out=joined)
        return joined


_TWOS, _THREES = _Sets(2), _Sets(3)


def _places_of_mask() -> Ints:
    """The places by name of the members of every mask of up to three, NONE behind them."""
    places = np.full((1 << SLOTS, 3), NONE, dtype=np.int64)
    for size in (1, 2, 3):
        for members in combinations(range(SLOTS), size):
            mask = sum(1 << (SLOTS - 1 - place) for place in members)
            places[mask, :size] = members
    return places


MEMBERS = _places_of_mask()
"""Of each mask the places of its members among the names of a pair's slots, sorted."""


@dataclass(frozen=True, slots=True)
class Slots:
    """The slots of some pairs, a row a slot and a column a pair; an empty one weighs nothing.

    `known_a` and `known_b` are the weights of measured cues, 0 for others; `name` has the bit of a
    slot's name, `family` that of the first slot of its family.
    """

    toward_a: Floats
    toward_b: Floats
    known_a: Floats
    known_b: Floats
    name: Masks
    family: Masks

    def of(self, pairs: Ints) -> Slots:
        """Those of some of the pairs."""
        return Slots(
            self.toward_a[:, pairs],
            self.toward_b[:, pairs],
            self.known_a[:, pairs],
            self.known_b[:, pairs],
            self.name[:, pairs],
            self.family[:, pairs],
        )

    @property
    def weights(self) -> tuple[Floats, Floats, Floats, Floats]:
        """The weights of all and of measured cues."""
        return self.toward_a, self.toward_b, self.known_a, self.known_b

    def reaching(self, least: float) -> Sides:
        """The sides on which each slot weighs so much."""
        return as_sides(self.toward_a >= least, self.toward_b >= least)


def slots_of(
    toward_a: Floats,
    toward_b: Floats,
    measured: Flags,
    columns: NDArray[np.integer],
    families: NDArray[np.integer],
) -> Slots:
    """The slots with these weights; columns are numbered as their names are sorted."""
    name = np.zeros(columns.shape, dtype=np.uint16)
    family = np.zeros(columns.shape, dtype=np.uint16)
    for slot in range(SLOTS):
        before = (columns < columns[slot]).sum(0, dtype=np.uint16)
        name[slot] = np.uint16(1 << (SLOTS - 1)) >> before
    for slot in reversed(range(SLOTS)):
        np.copyto(family, np.uint16(1 << slot), where=families == families[slot])
    return Slots(toward_a, toward_b, toward_a * measured, toward_b * measured, name, family)


@dataclass(frozen=True, slots=True)
class _Taken:
    """What is taken for each pair: masks, a row a place, and how often each slot is used."""

    room: Ints
    number: Ints
    masks: Masks
    uses: NDArray[np.uint8]

    def of(self, pairs: Ints) -> _Taken:
        """A copy of that of some of the pairs."""
        return _Taken(
            self.room[pairs], self.number[pairs], self.masks[:, pairs], self.uses[:, pairs]
        )


def join(slots: Slots, room: Ints) -> Masks:
    """The sets of two, then of three, that are taken for each pair, as far as it has room.

    Gives their masks, a row a place in the order of choice, 0 behind the last.
    """
    taken = _Taken(
        room,
        np.zeros(len(room), dtype=np.int64),
        np.zeros((GROUP, len(room)), dtype=np.uint16),
        np.zeros(slots.name.shape, dtype=np.uint8),
    )
    joint = [_TWOS.folded(values, np.add) for values in slots.weights]
    answered = askable(joint)
    _take(_TWOS, slots, _worth(_TWOS, slots, joint, answered, askable(slots.weights)), taken)
    # Twos fill the group of four pairs in five; threes are worked out for the others only.
    left = np.flatnonzero(taken.number < room)
    if len(left):
        few, more = slots.of(left), taken.of(left)
        joint = [_THREES.folded(values, np.add) for values in few.weights]
        worth = _worth(_THREES, few, joint, askable(joint), answered[:, left])
        _take(_THREES, few, worth, more)
        taken.masks[:, left] = more.masks
    return taken.masks


def _worth(
    sets: _Sets, slots: Slots, joint: Sequence[Floats], answered: Sides, smaller: Sides
) -> Floats:
    """What each set that some side needs whole is worth, the best most; 0 for all others.

    `joint` are its weights and `answered` the sides on which they answer, `smaller` the sides on
    which the sets of one member less do.
    """
    telling = slots.reaching(IDLE)
    sides = answered & sets.folded(telling, np.bitwise_and)
    needed = sides & sets.folded(slots.reaching(STRONG_MEMBER), np.bitwise_or)
    needed &= ~np.bitwise_or.reduce(smaller[sets.smaller], axis=1)
    # The bits of families add up to what they are together only where none comes twice.
    apart = sets.folded(slots.family, np.add) == sets.folded(slots.family, np.bitwise_or)
    worth = np.full(sides.shape, MOST_WEIGHT)
    for side, weights in zip((SIDE_A, SIDE_B), joint, strict=False):
        np.minimum(worth, weights, out=worth, where=(sides & side) > 0)
    many = (needed & SIDE_A) + (needed >> 1)
    worth += PER_NEEDED * many + FOR_BOTH * (sides == BOTH_SIDES)
    worth *= apart & (needed > 0)
    return worth


def _take(sets: _Sets, slots: Slots, worth: Floats, taken: _Taken) -> None:
    """Take the best set of each pair in turn, families new and no cue used too often."""
    names = sets.folded(slots.name, np.bitwise_or)
    families = sets.folded(slots.family, np.bitwise_or)
    still = np.ones(names.shape, dtype=bool)
    while True:
        spent = np.bitwise_or.reduce(slots.name * (taken.uses >= USES), axis=0)
        still &= (names & spent) == 0
        # To multiply is four times as fast as to write zeros where a set is out.
        worth *= still
        best = worth.max(0) * (taken.number < taken.room)
        pairs = np.flatnonzero(best)
        if not len(pairs):
            return
        # Of equally good sets the one whose name comes first.
        mask = (names * (worth == best)).max(0) * (best > 0)
        taken.masks[taken.number[pairs], pairs] = mask[pairs]
        taken.number[pairs] += 1
        members = (slots.name & mask) > 0
        taken.uses[:] += members
        still = families != np.bitwise_or.reduce(slots.family * members, axis=0)


def askable(weights: Sequence[Floats]) -> Sides:
    """The sides that weights answer: toward A and B, and toward A and B of measured cues alone."""
    toward_a, toward_b, known_a, known_b = weights
    return as_sides(
        (toward_a >= THRESHOLD)
        & (known_a >= np.maximum(MEASURED_LEAST, MEASURED_SHARE * toward_a)),
        (toward_b >= THRESHOLD)
        & (known_b >= np.maximum(MEASURED_LEAST, MEASURED_SHARE * toward_b)),
    )


def as_sides(for_a: Flags, for_b: Flags) -> Sides:
    """The two flags as SIDE_A, SIDE_B, BOTH_SIDES or 0."""
    return for_a.view(np.int8) * np.int8(SIDE_A) | for_b.view(np.int8) * np.int8(SIDE_B)
