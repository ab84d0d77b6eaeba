"""Tables of many wines: the shipped profiles, each altered a little. Seeded."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace

from cards.lexicon import HUES
from cards.profiles import Profile, Span
from cards.scale import Level, LevelRange, Typical
from cards.tables import Table

_MOVED, _FORGOTTEN, _ADDED = 0.25, 0.15, 3


def grown_table(table: Table, wines: int, seed: int = 1) -> Table:
    """A table of so many wines, made of the profiles of `table` in turn.

    A quarter of the levels move by one, alcohol by up to one half % vol either way; some
    descriptors are lost and a few are gained. Laterals are the wines of like number made of the
    laterals' profiles, where there are such.
    """
    rng = random.Random(seed)
    bases = sorted(table.profiles)
    words = sorted(table.lexicon.descriptors)
    numbered = [(number // len(bases), bases[number % len(bases)]) for number in range(wines)]
    keys = {_key(*one) for one in numbered}
    profiles: dict[str, Profile] = {}
    for turn, base in numbered:
        made = _altered(table.profiles[base], words, rng)
        laterals = tuple(key for name in made.laterals if (key := _key(turn, name)) in keys)
        profiles[_key(turn, base)] = replace(made, key=_key(turn, base), laterals=laterals)
    return replace(
        table,
        profiles=dict(sorted(profiles.items())),
        causes=(),
        fingerprint=f"grown-{wines}-{seed}",
    )


def _key(turn: int, base: str) -> str:
    return f"{base}-{turn:02}"


def _altered(profile: Profile, words: Sequence[str], rng: random.Random) -> Profile:
    kept = {
        key: typical for key, typical in profile.descriptors.items() if rng.random() >= _FORGOTTEN
    }
    gained = {word: rng.choice(list(Typical)) for word in rng.sample(words, _ADDED)}
    by = rng.choice((-0.5, 0.0, 0.0, 0.5))
    hues = next(group for group in HUES.values() if profile.hues[0] in group)
    seen = tuple(rng.sample(hues, rng.randint(1, 2))) if rng.random() < _MOVED else profile.hues
    return replace(
        profile,
        structure={name: _moved(span, rng) for name, span in profile.structure.items()},
        depth=_moved(profile.depth, rng),
        alcohol=Span(profile.alcohol.low + by, profile.alcohol.high + by),
        hues=seen,
        descriptors=kept | gained,
    )


def _moved(span: LevelRange, rng: random.Random) -> LevelRange:
    if rng.random() >= _MOVED:
        return span
    by = rng.choice((-1, 1))
    low, high = (min(max(end + by, Level.LOW), Level.HIGH) for end in (span.low, span.high))
    return LevelRange(Level(low), Level(high))
