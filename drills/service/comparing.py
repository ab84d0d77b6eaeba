"""Two wines side by side: every cue, which wine it points to, how far, and why."""

from __future__ import annotations

from dataclasses import dataclass

from cards.evidence import SLIGHT, band
from cards.explaining import CueStory
from cards.reasons import reason_of
from cards.wording import profile_words
from drills.service.desk import Desk
from drills.service.profile import basis_words
from drills.service.wines import PairCue, pair_view


@dataclass(frozen=True, slots=True)
class ComparedCue:
    """One cue of two wines: its story as on a reveal, and all that is known of its cause.

    `toward` is the wine that the bar points to. `threshold` and `typical` are concentrations;
    `cause_source` is what the cause rests on, and `source` what the fact rests on, in words.
    """

    story: CueStory
    toward: str
    points_left: bool
    threshold: str = ""
    typical: str = ""
    cause_source: str = ""
    source: str = ""

    @property
    def strong(self) -> bool:
        """Whether the cue alone makes one wine three times as likely as the other, or more."""
        return band(self.story.weight) != SLIGHT


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two wines side by side: how far apart they are, decibans, and every cue, strongest first."""

    left: str
    right: str
    names: tuple[str, str]
    separation_db: float
    cues: tuple[ComparedCue, ...]


def compare(desk: Desk, left: str, right: str) -> Comparison:
    """Two different wines by key, with every cue in the order of `crosspour pair`."""
    view = pair_view(desk, left, right)
    return Comparison(
        left=left,
        right=right,
        names=(desk.short(left), desk.short(right)),
        separation_db=view.separation_db,
        cues=tuple(_compared(desk, cue, left, right) for cue in view.cues),
    )


def _compared(desk: Desk, cue: PairCue, left: str, right: str) -> ComparedCue:
    table = desk.table
    other = right if cue.toward == left else left
    cause = reason_of(table, cue.cue, True, cue.toward, other, cue.toward).cause
    source = table.sources.get(cue.basis)
    story = CueStory(
        attribute=cue.cue,
        words=cue.reading,
        weight=cue.weight_db if cue.toward == right else -cue.weight_db,
        left=profile_words(table.profiles[left], cue.cue, table.lexicon),
        right=profile_words(table.profiles[right], cue.cue, table.lexicon),
        because=cue.because,
        basis=cue.basis,
        citation=source.citation if source else "",
    )
    return ComparedCue(
        story=story,
        toward=cue.toward,
        points_left=cue.toward == left,
        threshold=cause.threshold if cause else "",
        typical=cause.typical if cause else "",
        cause_source=basis_words(table, cause.basis) if cause else "",
        source=basis_words(table, cue.basis),
    )
