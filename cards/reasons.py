"""Why a reading tells one wine from another: whose cause is told, and in which words."""

from __future__ import annotations

from dataclasses import dataclass

from cards.evidence import Reading
from cards.tables import LITTLE, MUCH, Cause, Table


@dataclass(frozen=True, slots=True)
class Reason:
    """The cause of a cue, None where none is known, and its words with whose they are."""

    cause: Cause | None
    words: str


def reason_of(
    table: Table, attribute: str, reading: Reading, more: str, less: str, toward: str
) -> Reason:
    """Why `reading` speaks for the wine `toward`.

    `more` shows more of the cue, `less` the other of the pair. What explains much of it is told of
    the one alone, what explains little of the other; the wine that the reading points to comes
    first, and a cause told of its rival names it, for “the rules ask for colour” beside a pale wine
    would puzzle: whose rules? What holds for the smell itself names the smell beside its absence.
    """
    rival = less if toward == more else more
    for wine in (toward, rival):
        cause = table.cause_of(attribute, wine)
        explains = MUCH if wine == more else LITTLE
        if cause is not None and wine in cause.wines and cause.explains == explains:
            named = "" if wine == toward else f"{table.profiles[wine].short}: "
            return Reason(cause, named + cause.because)
    general = table.cause_of(attribute, "")
    if general is None:
        return Reason(None, "")
    named = ""
    if reading is False:
        smell = table.lexicon.name_of(attribute)
        named = f"{smell[:1].upper()}{smell[1:]}: "
    return Reason(general, named + general.because)
