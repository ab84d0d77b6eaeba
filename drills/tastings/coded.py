"""Rows that give the code of a glass instead of what it was: its planned flight holds the key."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import NamedTuple, Protocol

from drills.tastings.cells import Cell
from drills.tastings.columns import Columns
from drills.tastings.drafts import Named, PourDraft, Rejected
from drills.tastings.headings import CODE, DATE, FLIGHT, PLANNED, POSITION
from drills.tastings.notes import FullPour, Verdict
from drills.tastings.noting import cell_text


class Poured(NamedTuple):
    """What a glass held, and the flight it belongs to.

    `was` has no wine while the key stays shut, as in a preview. `mark` is the fingerprint of its
    pour; `flight` and `day` stand in where the row does not say them.
    """

    was: Named
    vintage: int | None
    mark: str
    flight: str
    day: date | None


class Key(Protocol):
    """Knows what is in the glasses of planned flights."""

    def find(self, flight: str, code: str) -> Poured:
        """The glass of a code; `flight` is the number of its flight, empty where not said.

        Raises:
            ValueError: there is no such glass, or more than one; the message says which.
        """


class NoKey:
    """Nothing is planned."""

    def find(self, flight: str, code: str) -> Poured:  # noqa: ARG002
        """Raise ValueError: no glass has a code."""
        raise ValueError(f"no flight is planned here, so nobody knows what glass {code[:20]} was")


NO_KEY: Key = NoKey()
# What the sheet of a planned flight holds before anything is tasted.
_PRINTED = (PLANNED, CODE, DATE, FLIGHT, POSITION)


class Glasses:
    """Joins the rows of one table with the key by their codes."""

    def __init__(self, columns: Columns, key: Key) -> None:
        self.joined = self.undated = self.blank = 0
        self._key = key
        self._columns = columns
        self._code = columns.at.get(CODE)
        self._flight = columns.at.get(PLANNED)
        self._printed = frozenset(columns.at[role] for role in _PRINTED if role in columns.at)
        self._rows: dict[str, int] = {}

    def pass_over(self, cells: Sequence[Cell]) -> bool:
        """Whether a row is that of a glass on its sheet of which nothing was noted; counts it."""
        if self._code is None or not cell_text(cells[self._code]):
            return False
        noted = (cell for place, cell in enumerate(cells) if place not in self._printed)
        if any(cell != "" and cell_text(cell) for cell in noted):
            return False
        self.blank += 1
        return True

    def find(self, row: int, cells: Sequence[Cell]) -> Poured | Rejected | None:
        """What the glass of a row held that does not say it; None where no row has a code."""
        if self._code is None:
            return None
        if not (code := cell_text(cells[self._code])):
            reason = "neither the code of its glass is there nor what it was"
            return Rejected(row, self._columns.headings[self._code], reason)
        flight = "" if self._flight is None else cell_text(cells[self._flight])
        try:
            poured = self._key.find(flight, code)
        except ValueError as error:
            return Rejected(row, self._columns.headings[self._code], str(error))
        if (before := self._rows.setdefault(poured.mark, row)) != row:
            reason = f"glass {code[:20]} stands in row {before} already"
            return Rejected(row, self._columns.headings[self._code], reason)
        return poured

    def joined_pour(self, pour: PourDraft, poured: Poured) -> PourDraft:
        """The pour of a row with what its glass held."""
        self.joined += 1
        self.undated += pour.date is None
        full = pour.full or FullPour(
            pour.position,
            first=Verdict(pour.first.text, pour.first.wine),
            final=Verdict(pour.called.text, pour.called.wine),
            runner_up=pour.runner_up,
            remark=pour.note,
        )
        return pour._replace(
            date=pour.date or poured.day,
            flight=pour.flight or poured.flight,
            was=poured.was,
            fingerprint=poured.mark,
            full=replace(full, reveal=poured.was, reveal_vintage=poured.vintage),
        )
