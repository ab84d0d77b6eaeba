"""Dates and flights that are written once, above the rows that they hold for.

Nothing is carried down but where the whole table clearly means it: every block of rows begins with
a new date or flight, and nowhere is one written twice in a row.
"""

from __future__ import annotations

from collections.abc import Sequence

from drills.tastings.cells import Cell


class Layout:
    """Sees every row of a table and then knows whether its dates and flights hold further down.

    `places` are the columns of date and flight, the outer one first.
    """

    def __init__(self, places: Sequence[int]) -> None:
        self._places = tuple(places)
        self._last: tuple[str, ...] = ()
        self._rows = 0
        self._first_of_flight = False
        self._blanks = 0
        self._short_block = self._has_inner = False
        self._against = not places

    def see(self, cells: Sequence[Cell], position: int | None) -> None:
        """Take notice of a row; `position` is its place in the flight where it gives one."""
        if self._against:
            return
        said = tuple(_text(cells[place]) for place in self._places)
        if not any(said):
            self._blanks += 1
            self._rows += 1
            self._against = not self._last
            return
        inner = len(said) == 2 and bool(said[1])
        # The same once more, or a date without its flight, is no heading of a block.
        if said == self._last or (self._has_inner and not inner):
            self._against = True
            return
        self._has_inner = self._has_inner or inner
        self._close()
        self._last = said
        self._rows = 1
        self._first_of_flight = position == 1

    def _close(self) -> None:
        # A block of one row may be a row like any other, unless it counts as the first of a flight.
        if self._rows == 1 and not self._first_of_flight:
            self._short_block = True

    @property
    def carries(self) -> bool:
        """Whether blank dates and flights mean those above them, all rows having been seen."""
        self._close()
        return not self._against and self._blanks > 0 and not self._short_block

    def carrier(self) -> Carrier:
        """What fills the blank cells of one reading of the table."""
        return Carrier(self._places)


class Carrier:
    """Fills blank dates and flights with those above them."""

    def __init__(self, places: Sequence[int]) -> None:
        self._places = tuple(places)
        self._above: list[Cell] = ["" for _ in self._places]
        self.filled = 0

    def fill(self, cells: list[Cell]) -> None:
        """Fill the blank ones of a row, in place; a new outer one ends the inner one above it."""
        carried = False
        new_outer = False
        for number, place in enumerate(self._places):
            if _text(cells[place]):
                self._above[number] = cells[place]
                new_outer = True
            elif new_outer and number:
                self._above[number] = ""
            else:
                cells[place] = self._above[number]
                carried = carried or cells[place] != ""
        self.filled += carried


def _text(cell: Cell) -> str:
    return cell.strip() if isinstance(cell, str) else str(cell)
