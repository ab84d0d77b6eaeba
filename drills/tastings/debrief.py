"""The debrief of a pour: what the note said, what it never said, and what to check next time. Pure.

Everything is weighed for the revealed wine against one other, see `weighing`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from cards.cellar import Cellar
from cards.errors import CardsError
from cards.evidence import Reader, probability
from cards.explaining import CueStory
from drills.tastings.advice import next_time
from drills.tastings.misread import Misread, misread_cues
from drills.tastings.missed import Missed, missed_cues
from drills.tastings.notes import FullPour
from drills.tastings.weighing import WeighedNote

_LIKELIEST = 5


class NoDebrief(CardsError):  # noqa: N818 - named as the taster meets it
    """A pour that nothing can be held against: not revealed, or no wine of the table."""


@dataclass(frozen=True, slots=True)
class FirstCall:
    """The first call against the final one: which was `better`, in words too; empty for neither."""

    wine: str
    better: Literal["first", "final", ""]
    words: str


@dataclass(frozen=True, slots=True)
class Debrief:
    """What can be learnt from one pour.

    `was` is the revealed wine, `called` the final call where it is understood; `other` is the wine
    that everything is weighed against, and `right` None without a call that is understood. On each
    story the left wine is `other`, the right one `was`, so a weight above 0 speaks for the
    revealed wine; `speaks_for` and `speaks_against` are sorted, strongest first. `balance` is their
    sum in decibans, `chance` the probability of `was` between the two that it leaves.

    `rank` is the revealed wine's place among all `wines` given the whole note, `probability` its
    probability there, from even odds; `likeliest` are the first places. `called_rank` and
    `called_probability` say the same of the call. They are None, and `likeliest` empty, where
    nothing was noted that a wine could be told by.

    `considered` is whether the revealed wine was among the candidates, `struck` the reason for
    which it was struck off. `vintage_off` is years, called less revealed. `unknown_words` were
    noted and stand for no descriptor.
    """

    next_time: str
    was: str
    called: str | None
    other: str
    right: bool | None
    speaks_for: tuple[CueStory, ...]
    speaks_against: tuple[CueStory, ...]
    balance: float
    chance: float
    missed: tuple[Missed, ...]
    misread: tuple[Misread, ...]
    rank: int | None
    wines: int
    probability: float | None
    likeliest: tuple[tuple[str, float], ...]
    called_rank: int | None
    called_probability: float | None
    first: FirstCall | None
    considered: bool
    struck: str
    vintage_off: int | None
    unknown_words: tuple[str, ...]

    @property
    def pair(self) -> tuple[str, str] | None:
        """The pair to drill: the wine called and the wine it was, None where they are one."""
        return None if self.called is None or self.right else (self.called, self.was)


def debrief(pour: FullPour, cellar: Cellar, reader: Reader) -> Debrief:
    """Hold a note against the wine that was revealed, as this taster reads.

    Weights are those of `cards.evidence.posterior` between two wines: readings are independent
    given the wine, descriptors of one family damped. A descriptor that was looked for and not
    found counts as far as this taster catches it; one that nobody says was looked for counts for
    nothing. A cellar drawn for `reader` saves drawing all wines again.

    Raises:
        NoDebrief: the pour is not revealed, or as a wine that the table lacks.
    """
    table = cellar.table
    if pour.reveal.wine not in table.profiles:
        if not (pour.reveal.wine or pour.reveal.text):
            raise NoDebrief("the pour is not revealed yet")
        raise NoDebrief(
            f"“{pour.reveal.text or pour.reveal.wine}” is no wine of the table, so there is "
            "nothing to hold the note against"
        )
    if cellar.reader is not reader and cellar.reader != reader:
        cellar = Cellar(table, reader)
    note = WeighedNote(pour, cellar)
    missed, misread = missed_cues(note), misread_cues(note)
    considered = [one for one in pour.candidates if one.wine == note.was]
    struck = next((one.struck for one in considered if one.struck), "")
    order = note.order if note.readings else {}
    return Debrief(
        next_time=next_time(note, missed, misread, struck),
        was=note.was,
        called=note.called,
        other=note.other,
        right=note.right,
        speaks_for=tuple(story for story in note.stories if story.weight > 0),
        speaks_against=tuple(story for story in note.stories if story.weight < 0),
        balance=note.balance,
        chance=probability(note.balance),
        missed=missed,
        misread=misread,
        rank=_rank(order, note.was),
        wines=len(note.order),
        probability=order.get(note.was),
        likeliest=tuple(order.items())[:_LIKELIEST],
        called_rank=_rank(order, note.called),
        called_probability=None if note.called is None else order.get(note.called),
        first=_first_call(note),
        considered=bool(considered),
        struck=struck,
        vintage_off=_years_off(pour),
        unknown_words=pour.note.free,
    )


def _first_call(note: WeighedNote) -> FirstCall | None:
    first = note.pour.first.wine
    if first not in note.table.profiles or note.called is None:
        return None
    assert first is not None
    if first == note.called:
        return FirstCall(first, "", "First call and final call were the same.")
    short = note.short
    if first == note.was:
        return FirstCall(
            first,
            "first",
            f"The first call was right; going over to {short(note.called)} lost it.",
        )
    if note.right:
        return FirstCall(first, "final", f"Leaving the first call, {short(first)}, won the pour.")
    mine = note.cellar.separation(first, note.was)
    final = note.cellar.separation(note.called, note.was)
    nearer: Literal["first", "final"] = "first" if mine < final else "final"
    return FirstCall(
        first,
        nearer,
        f"Both calls were wrong; the {nearer} one was nearer "
        f"({min(mine, final):.0f} db apart against {max(mine, final):.0f}).",
    )


def _rank(order: Mapping[str, float], wine: str | None) -> int | None:
    """The place of a wine; wines that are equally probable share the best one."""
    if wine is None or wine not in order:
        return None
    return 1 + sum(chance > order[wine] for chance in order.values())


def _years_off(pour: FullPour) -> int | None:
    called, was = pour.final.vintage, pour.reveal_vintage
    return None if called is None or was is None else called - was
