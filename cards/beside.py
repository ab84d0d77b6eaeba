"""What is offered beside the cues that settle a pair: answers that look like the right one."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from enum import Enum
from functools import partial

from cards.contrasts import STRONG_MEMBER
from cards.cues import card_family, is_scale
from cards.evidence import NOTED, Picture, Reading, weight
from cards.lexicon import UNMEASURED
from cards.scale import Typical

Cue = tuple[str, Reading]


class Look(Enum):
    """What a cue looks like. A hint is a place on a scale without a measured basis."""

    SMELL = "smell"
    ABSENCE = "absence"
    SCALE = "scale"
    HINT = "hint"


def beside_the_cues(
    poured: Picture, other: Picture, right: Sequence[Cue], weak: float, rng: random.Random
) -> Iterator[tuple[Cue, ...]]:
    """Sets of cues that do not tell `poured` from `other`, each made like the `right` one.

    A scale stands where the right answer has a scale, a smell where it has a smell, an absence
    where it has an absence, and words without a measured basis, which never settle a pair alone,
    where it has one, as far as there are any: nobody shall find the answer by its looks. Cues that
    are strong for the other wine come first. A whole set weighs less than `weak` decibans toward
    what is poured. No cue comes twice.
    """
    without = {attribute for attribute, _ in right}
    # Where every cue keeps below its share, so does the set.
    least = weak / len(right)
    waiting = {look: list(_cues(look, poured, other)) for look in dict.fromkeys(map(_look, right))}
    for look, cues in waiting.items():
        waiting[look] = [
            (attribute, reading)
            for attribute, reading in cues
            if attribute not in without and weight(reading, attribute, poured, other) < least
        ]
        rng.shuffle(waiting[look])
        waiting[look].sort(key=partial(_like_last, look, poured=poured, other=other))
    while made := _made_like(right, waiting, poured.family_of):
        yield made


def _like_last(look: Look, cue: Cue, poured: Picture, other: Picture) -> tuple[bool, bool]:
    """Sorts cues: those of another look last, and before them what says little of either wine.

    What settles a pair is a far end of a scale or a rare word. Cues that are as strong for the
    other wine look the same; cues that both wines share are commonplace, and would show the answer
    to who knows no wine.
    """
    attribute, reading = cue
    return _look(cue) != look, weight(reading, attribute, other, poured) < STRONG_MEMBER


def _look(cue: Cue) -> Look:
    attribute, reading = cue
    if is_scale(attribute):
        return Look.HINT if attribute in UNMEASURED else Look.SCALE
    return Look.SMELL if reading else Look.ABSENCE


def _cues(look: Look, poured: Picture, other: Picture) -> Iterator[Cue]:
    """The cues of one look: readings typical of either wine, smells that either is known for."""
    if look in (Look.SCALE, Look.HINT):
        for attribute, readings in poured.typical.items():
            # A scale on which two wines read alike is none that anybody would name.
            if poured.scales[attribute] != other.scales[attribute]:
                for reading in dict.fromkeys((*readings, *other.typical[attribute])):
                    yield attribute, reading
        return
    for key in sorted({*poured.noted, *other.noted}):
        if max(poured.chance_noted(key), other.chance_noted(key)) >= NOTED[Typical.COMMON]:
            yield key, look is Look.SMELL


def _made_like(
    right: Sequence[Cue], waiting: Mapping[Look, list[Cue]], family_of: Mapping[str, str]
) -> tuple[Cue, ...]:
    """Take a set out of what is waiting, one cue of a family; empty where that is used up."""
    made: list[Cue] = []
    for cue in right:
        families = {card_family(attribute, family_of) for attribute, _ in made}
        for found in waiting[_look(cue)]:
            if card_family(found[0], family_of) not in families:
                break
        else:
            return ()
        made.append(found)
        for cues in waiting.values():
            cues[:] = [one for one in cues if one[0] != found[0]]
    return tuple(made)
