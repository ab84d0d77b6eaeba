"""Weak pairs: what the log of tastings says is still confused."""

from __future__ import annotations

from datetime import date

from drills.confusions import Call, WeakPair, weak_pairs
from drills.service.desk import Desk


def weak(desk: Desk) -> list[WeakPair]:
    """Every confused pair of the log, the most costly first."""
    known = desk.table.profiles.keys()
    calls = [
        Call(row.was, row.called, row.tasted_on)
        for row in desk.repository.reveals(desk.taster.id)
        if row.was in known and (row.called is None or row.called in known)
    ]
    return weak_pairs(calls, date.fromordinal(desk.clock.today()), desk.cellar.separation)
