"""What a note never said: the cues that would have told its two wines apart. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from cards.contrasts import THRESHOLD
from cards.cues import SIDE_A, SIDE_B
from cards.evidence import Reading
from cards.explaining import CueStory
from cards.lexicon import UNMEASURED
from drills.tastings.weighing import WeighedNote

LEAST_MISSED = 3.0
"""What would weigh less than this, decibans, is not worth a look next time."""

MOST_MISSED = 6


@dataclass(frozen=True, slots=True)
class Missed:
    """A cue that was not noted and would have told the two wines apart.

    `story` says what a look would have found in the revealed wine; its weight is what that would
    have added to this note, decibans. It `settles` the pour where the note would then make the
    revealed wine at least 85% probable of the two.
    """

    story: CueStory
    settles: bool


def missed_cues(note: WeighedNote) -> tuple[Missed, ...]:
    """Return the cues that the note lacks, the weightiest first, the best one of each family."""
    a, b = sorted((note.was, note.other))
    side = SIDE_A if note.was == a else SIDE_B
    found: list[tuple[float, str, str, Reading]] = []
    for cue in note.cellar.cues(a, b):
        if cue.attribute in note.readings or not cue.known or cue.toward(side) < LEAST_MISSED:
            continue
        reading = cue.reading(side)
        added = note.added(cue.attribute, reading)
        if added >= LEAST_MISSED:
            found.append((-added, cue.attribute, cue.family, reading))
    families: set[str] = set()
    missed: list[Missed] = []
    for less, attribute, family, reading in sorted(found, key=lambda one: one[:2]):
        # Of one family the best will do: who looks for tar need not look for smoke.
        if family in families or len(missed) == MOST_MISSED:
            continue
        families.add(family)
        settles = note.balance - less >= THRESHOLD > note.balance and attribute not in UNMEASURED
        missed.append(Missed(note.story(attribute, reading, -less), settles))
    return tuple(missed)
