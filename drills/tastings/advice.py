"""The sentence at the top of a debrief: the change that would have helped its pour most. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from cards.cues import is_scale
from cards.explaining import CueStory
from cards.lexicon import UNMEASURED
from cards.tables import Table
from drills.tastings.misread import Misread
from drills.tastings.missed import LEAST_MISSED, Missed
from drills.tastings.weighing import WeighedNote

# A note that speaks for the revealed wine by this much (decibans) was not believed.
_NOT_BELIEVED = 5.0
_LONGEST_REASON = 60


def next_time(
    note: WeighedNote, missed: Sequence[Missed], misread: Sequence[Misread], struck: str
) -> str:
    """Say in one sentence what to do next time.

    `struck` is why the revealed wine was struck off, empty where it was not.
    """
    was, other = note.short(note.was), note.short(note.other)
    strongest = next((s for s in note.stories if s.weight > 0 and _decides(s.attribute)), None)
    look = next((one.story for one in missed if _decides(one.story.attribute)), None)
    if note.right:
        if note.balance < 0:
            said = f"Right, though your note spoke more for {other}"
        else:
            said = f"Right: {strongest.words} spoke for {was}" if strongest else f"Right: {was}"
        if look is None:
            return f"{said}, and there was little left to check."
        return f"{said}; next time also {_look(look, note.table)}, which tells it from {other}."
    advice = _advice(note, strongest, look, misread)
    if struck:
        return f"You had {was} and struck it off (“{_brief(struck)}”); next time {advice}."
    return f"Next time {advice}."


def _advice(
    note: WeighedNote,
    strongest: CueStory | None,
    look: CueStory | None,
    misread: Sequence[Misread],
) -> str:
    was, other = note.short(note.was), note.short(note.other)
    slip = next((m for m in misread if _decides(m.attribute) and m.cost >= LEAST_MISSED), None)
    if note.balance >= _NOT_BELIEVED and strongest is not None:
        return (
            f"believe your note: it spoke for {was} against {other} by "
            f"{note.balance:.0f} db, {strongest.words} most of all"
        )
    if slip is not None and (look is None or slip.cost >= look.weight):
        name = note.table.lexicon.name_of(slip.attribute)
        shows = "the label says" if slip.against == "label" else f"{was} shows"
        return f"check {name} again: you read {slip.read}, {shows} {slip.shows}"
    if look is not None:
        return f"{_look(look, note.table)}: that tells {was} from {other}, and you never noted it"
    return f"pour {was} and {other} side by side: the table has no other cue to tell them apart"


def _decides(attribute: str) -> bool:
    """Whether a cue may stand in the sentence: a word without a measured basis never decides."""
    return attribute not in UNMEASURED


def _look(story: CueStory, table: Table) -> str:
    """What to do about a cue: “look for petrol”, “check acid (high acid)”."""
    if is_scale(story.attribute):
        return f"check {table.lexicon.name_of(story.attribute)} ({story.words})"
    if story.words.startswith("no "):
        return f"make sure that there is {story.words}"
    return f"look for {story.words}"


def _brief(text: str) -> str:
    return text if len(text) <= _LONGEST_REASON else text[: _LONGEST_REASON - 1] + "…"
