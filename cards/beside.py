"""What is offered beside the cues that settle a pair: answers that look like the right one."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence

from cards.cues import card_family, is_scale
from cards.evidence import NOTED, Picture, Reading, weight
from cards.scale import Typical

Cue = tuple[str, Reading]
# What a cue looks like: a smell, an absence, or (None) a place on a scale.
Look = bool | None


def beside_the_cues(
    poured: Picture, other: Picture, right: Sequence[Cue], weak: float, rng: random.Random
) -> Iterator[tuple[Cue, ...]]:
    """Sets of cues that do not tell `poured` from `other`, each made like the `right` one.

    A scale stands where the right answer has a scale, a smell where it has a smell, an absence
    where it has an absence, so that nobody finds the answer by its looks. Some cues hold for both
    wines, some for the other alone; a whole set weighs less than `weak` decibans toward what is
    poured. No cue comes twice.
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
    while made := _made_like(right, waiting, poured.family_of):
        yield made


def _look(cue: Cue) -> Look:
    attribute, reading = cue
    return None if is_scale(attribute) else bool(reading)


def _cues(look: Look, poured: Picture, other: Picture) -> Iterator[Cue]:
    """The cues of one look: readings typical of either wine, smells that either is known for."""
    if look is None:
        for attribute, readings in poured.typical.items():
            # A scale on which two wines read alike is none that anybody would name.
            if poured.scales[attribute] != other.scales[attribute]:
                for reading in dict.fromkeys((*readings, *other.typical[attribute])):
                    yield attribute, reading
        return
    for key in sorted({*poured.noted, *other.noted}):
        if max(poured.chance_noted(key), other.chance_noted(key)) >= NOTED[Typical.COMMON]:
            yield key, look


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
