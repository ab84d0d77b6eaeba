"""Reading tastings from a file or from pasted lines: the whole source, or an error."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import TextIO

from drills.errors import IntakeError
from drills.phrases import count
from drills.tastings.assembling import Assembly, place_in
from drills.tastings.carrying import Layout
from drills.tastings.cells import Row
from drills.tastings.coded import NO_KEY, Key
from drills.tastings.dates import DateColumn, DateOrder
from drills.tastings.drafts import IntakeDraft, PourDraft, Rejected, Unread, Unresolved
from drills.tastings.full_rows import ResolvesNames
from drills.tastings.headings import DATE, FLIGHT, MARK, POSITION
from drills.tastings.noting import NO_WORDS, Words
from drills.tastings.sources import TYPED, Source
from drills.tastings.tables import Progress, SourceTable, open_table

__all__ = ["TYPED", "Intake", "Listener", "ResolvesNames", "read_intake"]


@dataclass(frozen=True, slots=True)
class Listener:
    """Who is told what could not be understood, row by row."""

    unresolved: Callable[[Unresolved], object]
    unread: Callable[[Unread], object]


class Intake:
    """A source that has been looked through and whose pours can now be read, more than once.

    `date_order` (“dmy” or “mdy”) settles dates whose day and month could be swapped. IntakeError
    means that the source as a whole cannot be read: missing, a folder, no text, empty, without
    headings, broken off, or changed between two readings.
    """

    def __init__(
        self,
        source: Path | TextIO,
        *,
        words: Words = NO_WORDS,
        date_order: DateOrder | None = None,
        progress: Progress | None = None,
    ) -> None:
        self._stack = ExitStack()
        self._words = words
        self._source = self._stack.enter_context(Source(source))
        self.label = self._source.label
        self.size = self._source.size
        self.rows = 0
        self._told: list[str] = []
        self._dates = DateColumn(date_order)
        try:
            with self._named():
                self._table: SourceTable = open_table(
                    self._source, self._words.descriptor, self._stack
                )
                self._look_through(self._table, progress)
        except BaseException:
            self.close()
            raise

    def __enter__(self) -> Intake:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self._stack.close()

    @property
    def digest(self) -> str:
        """The SHA-256 of the source's bytes, in hexadecimal."""
        return self._source.digest

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is to be said of the source as a whole, after its pours were read."""
        return (*self._table.warnings, *self._told)

    def pours(
        self,
        names: ResolvesNames,
        listener: Listener,
        progress: Progress | None = None,
        key: Key = NO_KEY,
    ) -> Iterator[PourDraft | Rejected]:
        """Every pour, or why a row is none, in the order of the rows.

        `key` tells what was in a glass where a row gives its code and not what it was.
        """
        carrier = self._layout.carrier() if self._layout.carries else None
        assembly = Assembly(self._table.columns, names, self._dates, self._words, carrier, key)
        assembly.unresolved, assembly.unread = listener.unresolved, listener.unread
        with self._named():
            yield from assembly.pours(self._table.rows(progress))
        self._told = []
        if carrier is not None and carrier.filled:
            self._told.append(
                f"{count(carrier.filled, 'row')} without date or flight took those above them"
            )
        if assembly.unplaced:
            self._told.append(
                f"{count(assembly.unplaced, 'place')} in the flight could not be read and follow "
                "the order of the rows"
            )
        if undated := assembly.glasses.undated:
            self._told.append(
                f"{count(undated, 'glass', 'glasses')} without a date took the day of the reveal"
            )
        if blank := assembly.glasses.blank:
            self._told.append(f"{count(blank, 'blank row')} of the sheet passed over")
        if assembly.edited:
            self._told.append(
                f"{count(assembly.edited, 'exported row')} edited since come in as new pours"
            )

    def _look_through(self, table: SourceTable, progress: Progress | None) -> None:
        columns = table.columns
        blank = len(columns.headings)
        date_at, position_at = columns.at.get(DATE, blank), columns.at.get(POSITION, blank)
        # In what the program wrote every row says all that there is to say.
        carrying = () if MARK in columns.at else (DATE, FLIGHT)
        self._layout = Layout([columns.at[role] for role in carrying if role in columns.at])
        watched = [columns.at[role] for role in (DATE, FLIGHT) if role in columns.at]
        for row in table.rows(progress):
            self.rows += 1
            if not watched or not isinstance(row, Row):
                continue
            cells = row.cells
            if len(cells) <= blank:
                cells = [*cells, *[""] * (blank + 1 - len(cells))]
            self._dates.see(cells[date_at])
            position = cells[position_at]
            self._layout.see(cells, place_in(position) if position != "" else None)

    @contextmanager
    def _named(self) -> Iterator[None]:
        """Errors begin with the name of the source."""
        try:
            yield
        except IntakeError as error:
            text = str(error)
            shown = self._source.shown
            raise IntakeError(text if text.startswith(shown) else f"{shown} {text}") from None


def read_intake(
    source: Path | TextIO,
    names: ResolvesNames,
    *,
    date_order: DateOrder | None = None,
    words: Words = NO_WORDS,
) -> IntakeDraft:
    """Read every pour of a source into memory; for long files see `Intake`."""
    unresolved: list[Unresolved] = []
    unread: list[Unread] = []
    pours: list[PourDraft] = []
    rejected: list[Rejected] = []
    with Intake(source, words=words, date_order=date_order) as intake:
        listener = Listener(unresolved.append, unread.append)
        for one in intake.pours(names, listener):
            if isinstance(one, PourDraft):
                pours.append(one)
            else:
                rejected.append(one)
        return IntakeDraft(
            intake.label,
            intake.digest,
            tuple(pours),
            tuple(unresolved),
            tuple(rejected),
            tuple(unread),
            intake.warnings,
        )
