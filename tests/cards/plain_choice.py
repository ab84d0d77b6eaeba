"""The choice of a pair's contrasts as plainly as it can be written: one set of cues at a time.

Nothing is kept, looked up or left out to save time, so that what the program does faster can be
held against it. Everything is worked out from the pictures: of the program only the numbers of the
rules are taken, and which family a cue counts with.
"""

from __future__ import annotations

import hashlib
import math
from itertools import combinations
from typing import NamedTuple

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
    SINGLES,
    STRONG_MEMBER,
    THRESHOLD,
    USES,
    Contrast,
)
from cards.cues import SIDE_A, SIDE_B, card_family
from cards.evidence import DECIBANS, NOTED, Picture, Reading, weight
from cards.lexicon import HUES, UNMEASURED
from cards.scale import Typical

_COLOURS = {hue: place for group in HUES.values() for place, hue in enumerate(group)}


class Cue(NamedTuple):
    """One cue: its weights toward wine A and wine B, and whether A shows more of it."""

    name: str
    family: str
    toward: tuple[float, float]
    more: bool

    @property
    def total(self) -> float:
        return sum(self.toward)


def chosen(a: Picture, b: Picture) -> list[Contrast]:
    """The contrasts of a pair, whose first wine sorts before the second."""
    cues = sorted(
        (cue for cue in (*_scales(a, b), *_words(a, b)) if cue.total > 0),
        key=lambda cue: (-cue.total, cue.name),
    )
    scales = [cue for cue in cues if cue.name in a.scales and cue.total >= 2 * IDLE]
    words = [cue for cue in cues if cue.name not in a.scales and cue.total >= 2 * IDLE]
    singles = _singles(cues)
    sets = _joint([*scales[:SCALES], *words[:DESCRIPTORS]], GROUP - len(singles))
    return [_contrast(a.wine, b.wine, members) for members in [*singles, *sets]]


def _scales(a: Picture, b: Picture) -> list[Cue]:
    found = []
    for name in sorted(a.scales.keys() & b.scales.keys()):
        toward_a = max(weight(reading, name, a, b) for reading in a.typical[name])
        toward_b = max(weight(reading, name, b, a) for reading in b.typical[name])
        more = _middle(a.typical[name]) > _middle(b.typical[name])
        family = card_family(name, a.family_of)
        found.append(Cue(name, family, (max(toward_a, 0.0), max(toward_b, 0.0)), more))
    return found


def _middle(readings: tuple[Reading, ...]) -> float:
    places = [_COLOURS[one] if isinstance(one, str) else float(one) for one in readings]
    return sum(places) / len(places)


def _words(a: Picture, b: Picture) -> list[Cue]:
    found = []
    for name in {*a.noted, *b.noted}:
        p, q = a.chance_noted(name), b.chance_noted(name)
        if p != q and max(p, q) >= NOTED[Typical.COMMON]:
            noted, missed = DECIBANS * math.log(p / q), DECIBANS * math.log((1 - q) / (1 - p))
            toward = (noted, missed) if p > q else (-missed, -noted)
            found.append(Cue(name, card_family(name, a.family_of), toward, p > q))
    return found


def _joint_weight(members: tuple[Cue, ...], side: int, *, measured: bool = False) -> float:
    added = 0.0
    for cue in members:
        if not measured or cue.name not in UNMEASURED:
            added += cue.toward[side]
    return added


def _answers(members: tuple[Cue, ...], side: int) -> bool:
    """Whether the weights of these cues are enough on this side."""
    whole, measured = (
        _joint_weight(members, side),
        _joint_weight(members, side, measured=True),
    )
    return whole >= THRESHOLD and measured >= max(MEASURED_LEAST, MEASURED_SHARE * whole)


def _asked(members: tuple[Cue, ...]) -> list[int]:
    """The sides (0 and 1) on which these cues can be asked together."""
    return [
        side
        for side in (0, 1)
        if _answers(members, side) and all(cue.toward[side] >= IDLE for cue in members)
    ]


def _singles(cues: list[Cue]) -> list[tuple[Cue, ...]]:
    found: list[tuple[Cue, ...]] = []
    told = [0, 0]
    for cue in cues:
        wanted = [side for side in _asked((cue,)) if told[side] <= SINGLES // 2]
        if wanted and all(cue.family != single.family for (single,) in found):
            found.append((cue,))
            for side in wanted:
                told[side] += 1
        if len(found) == SINGLES:
            break
    return found


def _joint(slots: list[Cue], places: int) -> list[tuple[Cue, ...]]:
    found: list[tuple[Cue, ...]] = []
    for size in (2, 3):
        merits = [
            (-merit, "+".join(sorted(cue.name for cue in members)), members)
            for members in combinations(slots, size)
            if (merit := _merit(members)) > 0
        ]
        for _, _, members in sorted(merits, key=lambda one: one[:2]):
            met = [{cue.family for cue in others} for others in found]
            uses = [sum(cue in others for others in found) for cue in members]
            if len(found) < places and max(uses) < USES and {c.family for c in members} not in met:
                found.append(members)
    return found


def _merit(members: tuple[Cue, ...]) -> float:
    """How good a set is; 0 where no side needs it whole, or two of its cues are of one family."""
    if len({cue.family for cue in members}) < len(members):
        return 0
    asked = _asked(members)
    needed = [
        side
        for side in asked
        if not any(_answers(rest, side) for rest in combinations(members, len(members) - 1))
        and max(cue.toward[side] for cue in members) >= STRONG_MEMBER
    ]
    if not needed:
        return 0
    weaker = min(_joint_weight(members, side) for side in asked)
    both = len(asked) == 2
    return PER_NEEDED * len(needed) + FOR_BOTH * both + min(weaker, MOST_WEIGHT)


def _contrast(wine_a: str, wine_b: str, members: tuple[Cue, ...]) -> Contrast:
    members = tuple(sorted(members, key=lambda cue: cue.name))
    names = tuple(cue.name for cue in members)
    asked = _asked(members)
    hashed = hashlib.blake2b(f"{wine_a}|{wine_b}|{'+'.join(names)}".encode(), digest_size=8)
    return Contrast(
        int.from_bytes(hashed.digest(), "big") >> 1,
        wine_a,
        wine_b,
        names,
        sum((SIDE_A, SIDE_B)[side] for side in asked),
        "".join("a" if cue.more else "b" for cue in members),
        round(min(_joint_weight(members, side) for side in asked), 2),
    )
