"""Beginning a drill: of what waits, of one pair, of a style, of sure slips, or of what is left."""

from __future__ import annotations

from collections.abc import Sequence

from cards.errors import NoContrast
from drills.errors import NotPossibleError, UsageError
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.resuming import left_over, shown_today, stopped_kind, unchecked


def begin(
    desk: Desk, minutes: int | None = None, pair: tuple[str, str] | None = None
) -> DrillSession:
    """Start a drill of so many minutes (the taster's setting by default), perhaps of one pair.

    NoContrast where no cue tells the two wines apart.
    """
    seconds = 60 * (minutes or desk.settings.minutes)
    if pair is not None:
        desk.ensure_pairs([pair])
        if not desk.repository.contrasts_of_pair(*pair):
            one, other = map(desk.short, pair)
            raise NoContrast(f"no cue of the table tells {one} and {other} apart")
    return DrillSession(desk, seconds, pair=pair, background=True)


def begin_chosen(
    desk: Desk,
    minutes: int | None = None,
    *,
    style: str | None = None,
    sure_slips: bool = False,
    resume: bool = False,
) -> DrillSession:
    """Start a drill of one style or of wrong answers given as sure, or go on with a stopped one.

    NotPossibleError where there is nothing of the kind.
    """
    if resume:
        if minutes is not None:
            raise UsageError("a drill that goes on has the time that was left: leave out --minutes")
        return _resumed(desk)
    if sure_slips and not desk.repository.sure_slips(desk.taster.id, 1):
        raise NotPossibleError("nothing waits that you answered wrongly and surely")
    seconds = 60 * (minutes or desk.settings.minutes)
    return DrillSession(desk, seconds, style=style, sure_slips=sure_slips, background=True)


def _resumed(desk: Desk) -> DrillSession:
    seconds, kind = left_over(desk), stopped_kind(desk)
    if seconds <= 0:
        raise NotPossibleError("no drill was stopped today with time left")
    return DrillSession(
        desk,
        seconds,
        pairs=[pair for pair in kind.pairs if desk.table.profiles.keys() >= set(pair)],
        style=kind.style,
        sure_slips=kind.sure_slips,
        checks=unchecked(desk),
        shown=shown_today(desk),
        background=True,
    )


def begin_pairs(desk: Desk, pairs: Sequence[tuple[str, str]]) -> DrillSession:
    """Start a drill of these pairs only; NoContrast where no cue tells any of them apart."""
    desk.ensure_pairs(pairs)
    if not any(desk.repository.contrasts_of_pair(*pair) for pair in pairs):
        raise NoContrast("no cue of the table tells these wines apart")
    return DrillSession(desk, 60 * desk.settings.minutes, pairs=pairs)
