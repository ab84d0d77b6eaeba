"""Cues: which readings tell one wine of a pair from the other, and how much they weigh."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from cards.evidence import DECIBANS, NOTED, Likelihood, Picture, Reading
from cards.lexicon import ALCOHOL, DEPTH, HUE, HUES, STRUCTURE, scale_family
from cards.scale import Typical

SIDE_A, SIDE_B, BOTH_SIDES = 1, 2, 3


@dataclass(frozen=True, slots=True)
class CueWeight:
    """One cue of a pair: the reading typical of either wine that tells most, and its weight.

    Weights are decibans toward that wine, never negative for a telling cue; `more` is true where
    wine A shows more of it. `known` is false for a descriptor that is only occasional in either
    wine: its presence tells, but nobody should be asked for it.
    """

    attribute: str
    family: str
    reading_a: Reading
    toward_a: float
    reading_b: Reading
    toward_b: float
    more: bool
    known: bool = True

    @property
    def total(self) -> float:
        """Both weights together: how much the cue tells whichever wine is poured."""
        return self.toward_a + self.toward_b

    def reading(self, side: int) -> Reading:
        """The reading that points to wine A (SIDE_A) or B (SIDE_B)."""
        return self.reading_a if side == SIDE_A else self.reading_b

    def toward(self, side: int) -> float:
        """The weight toward wine A (SIDE_A) or B (SIDE_B) of the reading for that side."""
        return self.toward_a if side == SIDE_A else self.toward_b


@lru_cache(maxsize=4096)
def _noted_weight(p: float, q: float) -> float:
    return DECIBANS * math.log(p / q)


def _most_telling(
    readings: Sequence[Reading], mine: Likelihood, theirs: Likelihood
) -> tuple[float, Reading]:
    """The largest weight of one of the readings, decibans, and the first that has it."""
    most, telling = -math.inf, readings[0]
    for reading in readings:
        weight = DECIBANS * (mine.log(reading) - theirs.log(reading))
        if weight > most:
            most, telling = weight, reading
    return most, telling


def scale_cue(attribute: str, a: Picture, b: Picture) -> CueWeight | None:
    """What one scale tells of two wines that are both placed on it; None where they read alike."""
    mine, theirs = a.scales[attribute], b.scales[attribute]
    if mine == theirs:
        return None

    toward_a, reading_a = _most_telling(a.typical[attribute], mine, theirs)
    toward_b, reading_b = _most_telling(b.typical[attribute], theirs, mine)
    # Where ranges overlap only the far ends tell; a wine that has none shows nothing of its own.
    return CueWeight(
        attribute,
        scale_family(attribute),
        reading_a,
        max(toward_a, 0.0),
        reading_b,
        max(toward_b, 0.0),
        place_on_scale(a, attribute) > place_on_scale(b, attribute),
    )


# A few thousand words and chances make up the tens of thousands of cues of all pairs taught.
@lru_cache(maxsize=8192)
def descriptor_cue(key: str, family: str, p: float, q: float) -> CueWeight | None:
    """What a descriptor tells, noted at chance `p` in wine A and `q` in B; None where equal."""
    if p == q:
        return None
    more = p > q
    found, missed = _noted_weight(p, q), _noted_weight(1 - q, 1 - p)
    return CueWeight(
        key,
        family,
        more,
        found if more else -missed,
        not more,
        missed if more else -found,
        more,
        max(p, q) >= NOTED[Typical.COMMON],
    )


# The level of oak and the smells of oak are one observation, for cards at least.
_AS_ONE = {"oak-sweet": "oak", "oak-toast": "oak"}


def card_family(attribute: str, families: Mapping[str, str]) -> str:
    """The group that a cue counts with on a card, given the families of all descriptors."""
    family = families.get(attribute)
    return scale_family(attribute) if family is None else _AS_ONE.get(family, family)


_COLOURS: Mapping[Reading, int] = {
    hue: index for group in HUES.values() for index, hue in enumerate(group)
}


def place_on_scale(picture: Picture, attribute: str) -> float:
    """Where the readings true to a wine lie on a scale, in the middle: a level, % vol, or a hue."""
    readings = picture.typical[attribute]
    numbers = [float(_COLOURS[r]) if isinstance(r, str) else float(r) for r in readings]
    return sum(numbers) / len(numbers)


def cues_of_pair(a: Picture, b: Picture) -> list[CueWeight]:
    """Every cue that speaks for one of two wines, the most telling first."""
    cues = [
        cue
        for attribute in a.scales
        if attribute in b.scales and (cue := scale_cue(attribute, a, b)) is not None
    ]
    for key in {*a.noted, *b.noted}:
        cue = descriptor_cue(
            key, card_family(key, a.family_of), a.chance_noted(key), b.chance_noted(key)
        )
        if cue is not None:
            cues.append(cue)
    cues = [cue for cue in cues if cue.total > 0]
    cues.sort(key=lambda cue: (-cue.total, cue.attribute))
    return cues


def is_scale(attribute: str) -> bool:
    """Whether a cue is read on a scale, rather than noted or not."""
    return attribute in STRUCTURE or attribute in (ALCOHOL, HUE, DEPTH)
