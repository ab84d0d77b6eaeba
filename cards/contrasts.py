"""Contrasts: the cues, alone or two or three together, that tell a pair of wines apart."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations
from typing import NamedTuple

from cards.cues import BOTH_SIDES, SIDE_A, SIDE_B, CueWeight, cues_of_pair, is_scale
from cards.evidence import Picture, decibans
from cards.lexicon import UNMEASURED

# A card's right answer must be at least this probable, from even odds.
LEAST_PROBABLE = 0.85
THRESHOLD = decibans(LEAST_PROBABLE)
# The measured cues of a card must themselves lean to its answer by this much (decibans), and carry
# this share of the whole: words without a measured basis may help but never decide.
MEASURED_LEAST = 3.0
MEASURED_SHARE = 0.5
# A member that adds less than this (decibans) on a side is idle there, and the set is not asked for
# it: “no liquorice” beside a wine that has it at times would read as a cue.
IDLE = 2.5
# Cues that share a question must have at least one strong one among them.
STRONG_MEMBER = 5.0
GROUP = 8
SINGLES = 4
# So many scales and so many descriptors are looked at for joint contrasts: tasters decide on
# structure first, and lists of descriptors would otherwise crowd it out.
SCALES, DESCRIPTORS = 5, 6
USES = 2
# A joint contrast is the better for each side that needs it, for answering on both, and for its
# weight, which counts up to a certainty that no card needs.
PER_NEEDED, FOR_BOTH, MOST_WEIGHT = 8, 4, 12.0

# Toward A and toward B, of all cues and of measured ones alone.
_Weights = tuple[float, float, float, float]


class Contrast(NamedTuple):
    """A cue, or two or three, and which wine of a pair each of its readings points to.

    `wine_a` sorts before `wine_b`. `sides` says for which of them the question can be asked with
    the answer at least 85% probable. `bearing` records the direction of each cue, so that an edit
    of the table which turns the answer is noticed. `strength` is the weight, in decibans, of the
    weaker side that can be asked. A tuple, for a table of a thousand wines has millions of them.
    """

    id: int
    wine_a: str
    wine_b: str
    cues: tuple[str, ...]
    sides: int
    bearing: str
    strength: float

    @property
    def pair(self) -> tuple[str, str]:
        """The two wines, sorted."""
        return (self.wine_a, self.wine_b)


def contrast_id(wine_a: str, wine_b: str, cues: Iterable[str]) -> int:
    """A number from 0 to 2^63 - 1 that depends on the pair and the cues' names alone."""
    whole = begun_id(wine_a, wine_b)
    whole.update("+".join(sorted(cues)).encode())
    return int.from_bytes(whole.digest(), "big") >> 1


def begun_id(wine_a: str, wine_b: str) -> hashlib.blake2b:
    """The part of a contrast's number that its pair gives, to be hashed on with the cues' names."""
    return hashlib.blake2b(f"{wine_a}|{wine_b}|".encode(), digest_size=8)


def ordered_pair(one: str, other: str) -> tuple[str, str]:
    """The two keys, sorted; ValueError if they are the same wine."""
    if one == other:
        raise ValueError("a pair needs two different wines")
    return (one, other) if one < other else (other, one)


def contrasts_of_pair(a: Picture, b: Picture) -> list[Contrast]:
    """The small group of contrasts that teaches one pair, single cues first; at most GROUP."""
    if a.wine > b.wine:
        a, b = b, a
    cues = [cue for cue in cues_of_pair(a, b) if cue.known]
    chosen = [*_singles(cues)]
    chosen += _joint(cues, GROUP - len(chosen))
    return [contrast_of(a.wine, b.wine, members) for members in chosen]


def _askable(toward_a: float, toward_b: float, measured_a: float, measured_b: float) -> int:
    """The sides that joint weights answer, given how much of each rests on measured cues."""
    return (toward_a >= THRESHOLD and _carries(measured_a, toward_a) and SIDE_A) | (
        toward_b >= THRESHOLD and _carries(measured_b, toward_b) and SIDE_B
    )


def _carries(measured: float, joint: float) -> bool:
    """Whether so much of the joint weight on measured cues lets them decide."""
    return measured >= MEASURED_LEAST and measured >= MEASURED_SHARE * joint


def sides_of(members: Sequence[CueWeight]) -> int:
    """The sides on which these cues together can be asked: SIDE_A, SIDE_B, both or 0."""
    return _asked([_weights(cue) for cue in members])[0]


def _asked(weights: Sequence[_Weights]) -> tuple[int, _Weights]:
    """The sides on which cues of these weights can be asked together, and their joint weights."""
    joint = _added(weights)
    least = min([each[0] for each in weights]), min([each[1] for each in weights])
    return _askable(*joint) & _told_by_all(least), joint


def _added(weights: Iterable[_Weights]) -> _Weights:
    """Joint weights. In a loop, for `sum` rounds in another way from Python 3.12 on."""
    toward_a = toward_b = measured_a = measured_b = 0.0
    for a, b, known_a, known_b in weights:
        toward_a += a
        toward_b += b
        measured_a += known_a
        measured_b += known_b
    return toward_a, toward_b, measured_a, measured_b


def _told_by_all(least: tuple[float, float]) -> int:
    """The sides on which no cue is idle, given the least weight on each."""
    return (least[0] >= IDLE and SIDE_A) | (least[1] >= IDLE and SIDE_B)


def _weights(cue: CueWeight) -> _Weights:
    if cue.attribute in UNMEASURED:
        return (cue.toward_a, cue.toward_b, 0.0, 0.0)
    return (cue.toward_a, cue.toward_b, cue.toward_a, cue.toward_b)


def _singles(cues: Sequence[CueWeight]) -> Iterator[tuple[CueWeight, ...]]:
    families: set[str] = set()
    told = {SIDE_A: 0, SIDE_B: 0}
    for cue in cues:
        if len(families) == SINGLES:
            return
        sides = sides_of([cue])
        # Half the places are kept for either wine, lest every answer be the more marked one.
        wanted = [s for s in (SIDE_A, SIDE_B) if sides & s and told[s] < SINGLES // 2 + 1]
        if cue.family not in families and wanted:
            families.add(cue.family)
            for side in wanted:
                told[side] += 1
            yield (cue,)


class _Slot(NamedTuple):
    """A cue that joint contrasts are made of, and the sides on which it does what."""

    place: int
    attribute: str
    family: str
    weights: _Weights
    telling: int
    helping: int  # neither idle nor enough alone
    strong: int


def _slot(place: int, cue: CueWeight) -> _Slot:
    weights = _weights(cue)
    a, b = cue.toward_a, cue.toward_b
    telling = _told_by_all((a, b))
    return _Slot(
        place,
        cue.attribute,
        cue.family,
        weights,
        telling,
        telling & ~_askable(*weights),
        (a >= STRONG_MEMBER and SIDE_A) | (b >= STRONG_MEMBER and SIDE_B),
    )


def _joint(cues: Sequence[CueWeight], places: int) -> list[tuple[CueWeight, ...]]:
    """Sets of two, then of three, that are needed together on some side; the best first."""
    telling = [cue for cue in cues if cue.total >= 2 * IDLE]
    considered = [cue for cue in telling if is_scale(cue.attribute)][:SCALES]
    considered += [cue for cue in telling if not is_scale(cue.attribute)][:DESCRIPTORS]
    slots = [_slot(place, cue) for place, cue in enumerate(considered)]
    found: list[tuple[CueWeight, ...]] = []
    uses = [0] * len(slots)
    met: set[frozenset[str]] = set()
    for size in (2, 3):
        for _, _, places_of in sorted(_needed(slots, size)):
            if len(found) == places:
                return found
            families = frozenset(considered[i].family for i in places_of)
            if families not in met and all(uses[i] < USES for i in places_of):
                met.add(families)
                found.append(tuple(considered[i] for i in places_of))
                for i in places_of:
                    uses[i] += 1
        if len(found) == places:
            return found
    return found


def _needed(slots: Sequence[_Slot], size: int) -> Iterator[tuple[float, str, tuple[int, ...]]]:
    """The sets of so many slots that some side needs whole, each with its merit and name.

    No smaller set answers there, none of its cues is idle and one is strong.
    """
    for members in combinations(slots, size):
        # Most sets end here, before anything is added up.
        needed, strong = BOTH_SIDES, 0
        for slot in members:
            needed &= slot.helping
            strong |= slot.strong
        needed &= strong
        if not needed or len({slot.family for slot in members}) < size:
            continue
        if size > 2:
            for rest in combinations(members, size - 1):
                needed &= ~_askable(*_added([slot.weights for slot in rest]))
        joint = _added([slot.weights for slot in members])
        sides = _askable(*joint)
        for slot in members:
            sides &= slot.telling
        needed &= sides
        if needed:
            weaker = min(joint[side - 1] for side in (SIDE_A, SIDE_B) if sides & side)
            merit = PER_NEEDED * needed.bit_count() + FOR_BOTH * (sides == BOTH_SIDES)
            name = "+".join(sorted([slot.attribute for slot in members]))
            places = tuple([slot.place for slot in members])
            yield -(merit + min(weaker, MOST_WEIGHT)), name, places


def contrast_of(wine_a: str, wine_b: str, members: Sequence[CueWeight]) -> Contrast:
    """The contrast of some cues of a pair; some side of them must be askable."""
    members = sorted(members, key=lambda cue: cue.attribute)
    names = tuple([cue.attribute for cue in members])
    sides, joint = _asked([_weights(cue) for cue in members])
    weaker = min(joint[side - 1] for side in (SIDE_A, SIDE_B) if sides & side)
    return Contrast(
        id=contrast_id(wine_a, wine_b, names),
        wine_a=wine_a,
        wine_b=wine_b,
        cues=names,
        sides=sides,
        bearing="".join(["a" if cue.more else "b" for cue in members]),
        strength=round(weaker, 2),
    )
