"""What a note read otherwise than the revealed wine shows it. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cards.evidence import Reading
from cards.lexicon import ALCOHOL, HUE
from cards.profiles import Profile
from cards.scale import Level
from cards.wording import profile_words, words_for
from drills.tastings.notes import Note
from drills.tastings.weighing import WeighedNote

# Alcohol counts as misread when it is further off than a label may be from the wine, % vol (EU
# 2019/33, Article 44).
ALCOHOL_WITHIN = 0.5


@dataclass(frozen=True, slots=True)
class Misread:
    """Something read otherwise than the revealed wine shows it.

    `off` is what was read less what the wine shows, in levels or % vol, None where there is no
    more and less (a hue, the world, the climate). `against` says what it was held against:
    “profile” or “label”. `cost` is the weight that this reading took from the revealed wine,
    decibans, against the nearest reading that is true to it.
    """

    attribute: str
    read: str
    shows: str
    off: float | None
    against: Literal["profile", "label"]
    cost: float


def misread_cues(note: WeighedNote) -> tuple[Misread, ...]:
    """Return what was misread, the costliest first."""
    profile = note.table.profiles[note.was]
    found = _misplaced(note.pour.note, profile)
    for attribute, reading in note.readings.items():
        if attribute == ALCOHOL:
            one = _alcohol(note, float(reading), profile)
        else:
            one = _scale(note, attribute, reading, profile)
        if one is not None:
            found.append(one)
    return tuple(sorted(found, key=lambda one: (-one.cost, one.attribute)))


def _scale(note: WeighedNote, attribute: str, reading: Reading, profile: Profile) -> Misread | None:
    """A level or a hue, held against the profile; a descriptor is never misread."""
    true = note.truth.typical.get(attribute)
    if true is None or reading in true:
        return None
    nearest, off = true[0], None
    if attribute != HUE:
        level = Level(int(reading))
        nearest = min(true, key=lambda one: abs(level - Level(int(one))))
        off = float(level - Level(int(nearest)))
    lexicon = note.table.lexicon
    return Misread(
        attribute=attribute,
        read=words_for(attribute, reading, lexicon),
        shows=profile_words(profile, attribute, lexicon),
        off=off,
        against="profile",
        cost=_cost(note, attribute, nearest),
    )


def _alcohol(note: WeighedNote, read: float, profile: Profile) -> Misread | None:
    label, lexicon = note.pour.label_alcohol, note.table.lexicon
    span = profile.alcohol
    nearest = min(max(read, span.low), span.high) if label is None else label
    # In hundredths, since 16.1 - 15.6 is a hair more than a half in binary.
    off = round(100 * (read - nearest)) / 100
    if abs(off) <= ALCOHOL_WITHIN:
        return None
    return Misread(
        attribute=ALCOHOL,
        read=words_for(ALCOHOL, read, lexicon),
        shows=profile_words(profile, ALCOHOL, lexicon) if label is None else f"{label:g}% vol",
        off=off,
        against="profile" if label is None else "label",
        cost=_cost(note, ALCOHOL, nearest),
    )


def _cost(note: WeighedNote, attribute: str, true: Reading) -> float:
    """What the reading took from the revealed wine, against a true one; never below 0."""
    return max(note.added(attribute, true), 0.0)


def _misplaced(note: Note, profile: Profile) -> list[Misread]:
    """World and climate, where they were said and are other ones."""
    found = []
    for attribute, said, true in (
        ("world", note.world, profile.world),
        ("climate", note.climate, profile.climate),
    ):
        said = said.strip().casefold()
        if said and said != true:
            ending = f" {attribute}"
            found.append(Misread(attribute, said + ending, true + ending, None, "profile", 0.0))
    return found
