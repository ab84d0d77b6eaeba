"""Pours from rows, whatever kind of file the rows came from."""

from __future__ import annotations

import re
from array import array
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from json.encoder import encode_basestring
from typing import TypeVar

from drills.tastings.carrying import Carrier
from drills.tastings.cells import Cell, Row
from drills.tastings.coded import NO_KEY, Glasses, Key
from drills.tastings.columns import Columns
from drills.tastings.dates import DateColumn
from drills.tastings.drafts import (
    NOTHING,
    Named,
    PourDraft,
    Rejected,
    Unread,
    Unresolved,
    digest_of,
    even,
    typed_content,
)
from drills.tastings.full_rows import FullReader, ResolvesNames, own_draft, year_in
from drills.tastings.headings import (
    CALLED,
    DATE,
    FIRST,
    FLIGHT,
    MARK,
    NOTE,
    POSITION,
    RUNNER_UP,
    WAS,
)
from drills.tastings.marks import Mark, unguarded
from drills.tastings.noting import NO_WORDS, Words, cell_lines, cell_text
from drills.tastings.plain_rows import PlainRow

LONGEST_NAME = 500
MOST_POURS = 999  # in one flight
_NO_ANSWER = frozenset(
    {"n/a", "na", "n.a.", "#n/a", "#ref!", "#value!", "#name?", "#div/0!", "#num!", "#null!"}
)
_POSITION = re.compile(r"\D{0,8}?(\d{1,3})(?:[.,]0*)?\D{0,3}")
# Cells whose meaning is remembered: most of a long file are the same few.
_REMEMBERED = 20_000
_NAMES = (CALLED, WAS, FIRST, RUNNER_UP)

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class _Name:
    """A cell that names a wine, and its text as fingerprints take it."""

    named: Named
    quoted: str
    suggestions: tuple[str, ...] = ()
    has_year: bool = False
    unclear: bool = False


_NO_NAME = _Name(NOTHING, '""')


def name_in(cell: Cell) -> str:
    """A name, empty where there is a dash, a question mark or the like instead."""
    text = cell_text(cell)
    if text.casefold() in _NO_ANSWER or not any(character.isalnum() for character in text):
        return ""
    return text


def place_in(cell: Cell) -> int | None:
    """The place in the flight that a cell gives, None where none can be read."""
    match = _POSITION.fullmatch(cell_text(cell))
    place = int(match[1]) if match else 0
    return place if 1 <= place <= MOST_POURS else None


class Assembly:
    """Makes pours of the rows of one table; what it says of them goes to the three lists.

    `dates` has seen the column of dates; `carrier` fills blank dates and flights where the table
    means those above; `key` tells what was in the glass of a code.
    """

    def __init__(
        self,
        columns: Columns,
        names: ResolvesNames,
        dates: DateColumn,
        words: Words = NO_WORDS,
        carrier: Carrier | None = None,
        key: Key = NO_KEY,
    ) -> None:
        self.glasses = Glasses(columns, key)
        self.unplaced = self.edited = 0
        self.unresolved: Callable[[Unresolved], object] = _nobody
        self.unread: Callable[[Unread], object] = _nobody
        self._columns = columns
        self._names = names
        self._dates = dates
        self._carrier = carrier
        self._width = len(columns.headings)
        self._has_headings = columns.complete
        at = columns.at
        self._places = tuple(at.get(role, self._width) for role in _NAMES)
        self._date, self._flight, self._note, self._position = (
            at.get(role, self._width) for role in (DATE, FLIGHT, NOTE, POSITION)
        )
        self._more_notes = columns.more.get(NOTE, ())
        self._full = FullReader(columns, names, words)
        self._mark = at.get(MARK)
        self._known: dict[Cell, _Name] = {}
        self._days: dict[Cell, tuple[date | None, str]] = {}
        self._texts: dict[Cell, tuple[str, str]] = {}
        self._taken: dict[int, int] = {}
        self._seen = Tally()

    def pours(self, rows: Iterable[Row | PlainRow | Rejected]) -> Iterator[PourDraft | Rejected]:
        """A pour for each row, or why there is none; blank rows of a sheet are passed over."""
        for row in rows:
            if not isinstance(row, Row):
                yield self.plain(row) if isinstance(row, PlainRow) else row
            elif (made := self.pour(row)) is not None:
                yield made

    def pour(self, row: Row) -> PourDraft | Rejected | None:
        """The pour of one row, or why there is none; None for a blank row of a glass's sheet."""
        columns, width = self._columns, self._width
        cells = list(row.cells)
        if len(cells) > width:
            if any(cell_text(cell) for cell in cells[width:]):
                return self._too_wide(row)
            del cells[width:]
        # One blank cell more stands for every column that the table has not.
        cells += [""] * (width + 1 - len(cells))
        if self._carrier is not None:
            self._carrier.fill(cells)
        if self._mark is not None and (own := self._own(row.number, cells, self._mark)) is not None:
            return own
        at_called, at_was, at_first, at_runner_up = self._places
        called, was = self._name(cells[at_called]), self._name(cells[at_was])
        first, runner_up = self._name(cells[at_first]), self._name(cells[at_runner_up])
        poured = None
        if was is _NO_NAME:
            if called is _NO_NAME and self.glasses.pass_over(cells):
                return None
            found = self.glasses.find(row.number, cells)
            if isinstance(found, Rejected):
                return found
            if found is None:
                return Rejected(row.number, columns.heading(WAS), "what it was is missing")
            poured = found
        if called is _NO_NAME:
            return Rejected(row.number, columns.heading(CALLED), "the call is missing")
        unclear = called.unclear or was.unclear or first.unclear or runner_up.unclear
        given = zip(_NAMES, (called, was, first, runner_up), strict=True) if unclear else ()
        waiting = [(role, name) for role, name in given if name.unclear]
        if unclear and self._has_headings:
            said, meant = (called.named.text, was.named.text), columns.headings
            # Files put together bring their headings along; a sheet by codes has no `was`.
            if at_was < len(meant) and said == (meant[at_called], meant[at_was]):
                return Rejected(row.number, meant[at_called], "repeats the headings")
        for role, name in waiting:
            if len(name.named.text) > LONGEST_NAME:
                return Rejected(
                    row.number, columns.heading(role), "is too long for the name of a wine"
                )
        try:
            day, said_day = self._day(cells[self._date])
        except ValueError as error:
            return Rejected(row.number, columns.heading(DATE), str(error))
        flight, said_flight = self._text(cells[self._flight])
        note, said_note = self._remark(cells)
        for role, name in waiting:
            self._waits(row.number, role, name.named.text, name.suggestions)
        content = [
            said_day,
            said_flight,
            called.quoted,
            was.quoted,
            first.quoted,
            runner_up.quoted,
            said_note,
        ]
        position = self._place(said_day + said_flight, cells[self._position])
        full = None
        if self._full.reads_anything or called.has_year or was.has_year or first.has_year:
            full = self._full.read(
                row.number,
                cells,
                position,
                (called.named, was.named, first.named, runner_up.named),
                note,
                self.unread,
            )
        pour = PourDraft(
            row.number,
            day,
            flight,
            position,
            called.named,
            was.named,
            first.named,
            runner_up.named,
            note,
            digest_of(content, self._seen.add(hash(tuple(content)))),
            full,
        )
        return pour if poured is None else self.glasses.joined_pour(pour, poured)

    def plain(self, row: PlainRow) -> PourDraft | Rejected:
        """The pour of a row that is a whole pour already, or why there is none."""
        pour = row.pour
        if row.mark is not None:
            draft = own_draft(row.number, row.day, row.flight, self._full.known(pour), row.mark)
            self._tell_waiting(draft)
            return draft
        for named, problem in (
            (pour.reveal, "what it was is missing"),
            (pour.final, "the call is missing"),
        ):
            if not name_in(named.text):
                return Rejected(row.number, "reveal" if named is pour.reveal else "final", problem)
        pour = self._full.resolved(pour)
        said = typed_content(
            row.day,
            row.flight,
            pour.final.text,
            pour.reveal.text,
            pour.first.text,
            pour.runner_up.text,
            pour.remark,
        )
        content = [encode_basestring(text) for text in said]
        mark = Mark(digest_of(content, self._seen.add(hash(tuple(content)))), "")
        draft = own_draft(row.number, row.day, row.flight, pour, mark)
        self._tell_waiting(draft)
        return draft

    def _tell_waiting(self, pour: PourDraft) -> None:
        named = (pour.called, pour.was, pour.first, pour.runner_up)
        for role, name in zip(_NAMES, named, strict=True):
            if name.text and name.wine is None:
                self._waits(pour.row, role, name.text, self._names.resolve(name.text).suggestions)

    def _waits(self, row: int, role: str, text: str, suggestions: tuple[str, ...]) -> None:
        self.unresolved(Unresolved(row, self._columns.heading(role), text, suggestions))

    def _own(self, row: int, cells: list[Cell], mark_at: int) -> PourDraft | None:
        """The pour of a row that the program wrote and nobody edited."""
        cells[:] = [unguarded(cell) if isinstance(cell, str) else cell for cell in cells]
        if not cells[mark_at]:
            return None
        mark = self._full.mark(cells, self._own_day)
        try:
            if mark is None:
                raise ValueError("the row was edited since")
            pour = self._full.own(row, cells, self._own_day(cells[self._date]), mark)
        except (ValueError, OverflowError):
            self.edited += 1
            return None
        self._tell_waiting(pour)
        return pour

    def _own_day(self, cell: Cell) -> date | None:
        if isinstance(cell, str):
            try:
                return date.fromisoformat(cell)
            except ValueError:
                pass
        return self._dates.read(cell)

    def _too_wide(self, row: Row) -> Rejected:
        columns = self._columns
        return Rejected(
            row.number,
            columns.headings[-1] or columns.heading(WAS),
            f"the row has {len(row.cells)} cells and the headings are {self._width}; "
            "a text with a separator in it must stand in quotes",
        )

    def _name(self, cell: Cell) -> _Name:
        if cell == "":
            return _NO_NAME
        known = self._known.get(cell)
        if known is None:
            text = name_in(cell)
            if text:
                found = self._names.resolve(text)
                quoted = encode_basestring(even(text))
                named, year = Named(text, found.wine), year_in(text)
                unclear = found.wine is None
                known = _Name(named, quoted, found.suggestions, year is not None, unclear)
            else:
                known = _NO_NAME
            _remember(self._known, cell, known)
        return known

    def _day(self, cell: Cell) -> tuple[date | None, str]:
        known = self._days.get(cell)
        if known is None:
            day = self._dates.read(cell)
            known = (day, f'"{day.isoformat()}"' if day else '""')
            _remember(self._days, cell, known)
        return known

    def _text(self, cell: Cell) -> tuple[str, str]:
        if cell == "":
            return "", '""'
        known = self._texts.get(cell)
        if known is None:
            text = cell_text(cell)
            known = (text, encode_basestring(even(text)))
            _remember(self._texts, cell, known)
        return known

    def _remark(self, cells: Sequence[Cell]) -> tuple[str, str]:
        cell = cells[self._note]
        if not self._more_notes:
            if cell == "":
                return "", '""'
            note = cell_lines(cell)
        else:
            told = [cell_lines(cells[place]) for place in sorted((self._note, *self._more_notes))]
            note = "\n".join(text for text in told if text)
        return note, encode_basestring(even(note))

    def _place(self, flight: str, cell: Cell) -> int:
        # A number for the flight instead of its name: a long file holds thousands.
        key = hash(flight)
        count = self._taken[key] = self._taken.get(key, 0) + 1
        if cell != "" and cell_text(cell):
            place = place_in(cell)
            if place is not None:
                return place
            self.unplaced += 1
        return count


def _remember(memory: dict[Cell, _T], cell: Cell, meaning: _T) -> None:
    # A text that is long stands hardly twice.
    if not isinstance(cell, str) or len(cell) <= 200:
        if len(memory) >= _REMEMBERED:
            memory.clear()
        memory[cell] = meaning


def _nobody(_: object) -> None:
    """Nobody listens."""


class Tally:
    """How often each content was met, in about sixteen bytes each: a long file holds many.

    Two contents with one number count as one content met twice, which only tells them apart twice.
    """

    def __init__(self) -> None:
        self._slots = array("Q", bytes(8 * 1024))
        self._used = 0
        self._again: dict[int, int] = {}

    def add(self, number: int) -> int:
        """Count a content by its number, and say how often it was met so far."""
        number = (number & 0xFFFF_FFFF_FFFF_FFFF) or 1
        slots = self._slots
        mask = len(slots) - 1
        place = number & mask
        while held := slots[place]:
            if held == number:
                times = self._again[number] = self._again.get(number, 1) + 1
                return times
            place = (place + 1) & mask
        slots[place] = number
        self._used += 1
        if self._used * 2 > len(slots):
            self._grow()
        return 1

    def _grow(self) -> None:
        old = self._slots
        slots = self._slots = array("Q", bytes(16 * len(old)))
        mask = len(slots) - 1
        for number in old:
            if number:
                place = number & mask
                while slots[place]:
                    place = (place + 1) & mask
                slots[place] = number
