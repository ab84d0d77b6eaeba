"""Several tasters in one database: who they are, what they share, what they confuse together."""

from __future__ import annotations

from dataclasses import dataclass

from drills.errors import NotPossibleError
from drills.service.desk import Desk
from drills.storage.records import TasterRecord


@dataclass(frozen=True, slots=True)
class GroupPair:
    """How often tasters who share called `was` by the name of `called`; both are wines' keys.

    `tasters` of them did, `times` in all, out of `poured` pours of it.
    """

    called: str
    was: str
    called_name: str
    was_name: str
    tasters: int
    times: int
    poured: int


def tasters(desk: Desk) -> list[TasterRecord]:
    """Return all tasters by name; with a login of one's own, that one alone."""
    return desk.repository.tasters()


def add_taster(desk: Desk, name: str, login: str | None = None) -> TasterRecord:
    """Add a taster, on a server perhaps with a login of their own."""
    return desk.repository.add_taster(name, login)


def share(desk: Desk, shares: bool) -> bool:
    """Keep whether the taster's confusions may be counted with others'; return what it was."""
    before = desk.taster.shares
    desk.repository.share(desk.taster.id, shares)
    # Read anew by whoever asks next.
    desk.__dict__.pop("taster", None)
    return before


def group_pairs(desk: Desk) -> list[GroupPair]:
    """Return what the group confuses, the most frequent first; see Tasters.group_confusions."""
    return [
        GroupPair(
            one.called,
            one.was,
            desk.short(one.called),
            desk.short(one.was),
            one.tasters,
            one.times,
            one.poured,
        )
        for one in desk.repository.group_confusions()
    ]


def refresh(desk: Desk) -> int:
    """Make the contrasts of today's table the group's, and return how many are in use.

    Raises:
        NotPossibleError: this is one taster's login; whoever runs the group sets its contrasts.
    """
    repository = desk.repository
    if repository.is_member:
        raise NotPossibleError("only whoever runs the group sets its contrasts: your login may not")
    repository.furnish()
    desk.choose_contrasts(repository)
    return len(repository.plan_rows(0))
