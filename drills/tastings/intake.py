"""Reading tastings from a file or from pasted lines: the whole source, or an error."""

from __future__ import annotations

import hashlib
import re
import stat
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import Protocol, TextIO

from cards.names import Resolution
from drills.errors import IntakeError
from drills.tastings.cells import DELIMITERS, Cell, Row, decode, delimited_rows, printable, tidy
from drills.tastings.columns import (
    CALLED,
    DATE,
    FIRST,
    FLIGHT,
    NOTE,
    POSITION,
    RUNNER_UP,
    WAS,
    Columns,
    find_columns,
    missing_columns,
)
from drills.tastings.dates import DateColumn, DateOrder
from drills.tastings.drafts import (
    NOTHING,
    IntakeDraft,
    Named,
    PourDraft,
    Rejected,
    Unresolved,
    fingerprint,
    typed_content,
)
from drills.tastings.lines import COLUMNS as LINE_COLUMNS
from drills.tastings.lines import has_arrow, line_rows

TYPED = "typed"
LARGEST = 256 * 1024 * 1024  # bytes; a hundred years of daily flights take less than a tenth
LONGEST_NAME = 500
MOST_POURS = 999  # in one flight
_HEADING_WITHIN = 20  # rows; some people write a title above the headings
_TABLE_SUFFIXES = (".csv", ".tsv", ".tab")
_SEPARATOR_LINE = re.compile(r"\s*\"?sep=(.)\"?\s*", re.IGNORECASE)
_NO_ANSWER = frozenset({"n/a", "na", "n.a."})
_POSITION = re.compile(r"\D{0,8}?(\d{1,3})(?:[.,]0*)?\D{0,3}")


class ResolvesNames(Protocol):
    """Anything that turns a written name into a wine, as `cards.names.WineNames` does."""

    def resolve(self, text: str) -> Resolution:
        """The wine that `text` names, or suggestions."""


def read_intake(
    source: Path | TextIO, names: ResolvesNames, *, date_order: DateOrder | None = None
) -> IntakeDraft:
    """Read every pour of a file, or of an open stream of text.

    `date_order` (“dmy” or “mdy”) settles dates whose day and month could be swapped. Rows that
    cannot be kept are listed in the draft. IntakeError means that the source as a whole cannot be
    read: missing, a folder, no text, empty, without headings, or broken off.
    """
    if isinstance(source, Path):
        label, content = printable(source.name), _bytes_of(source)
        is_table = source.suffix.lower() in _TABLE_SUFFIXES
    else:
        label, content, is_table = TYPED, _bytes_of_stream(source), False
    try:
        if len(content) > LARGEST:
            raise IntakeError(f"is larger than {LARGEST // 1024**2} MB; split it")
        text, warnings = decode(content)
        digest = hashlib.sha256(content).hexdigest()
        del content
        if not text.strip():
            raise IntakeError("is empty")
        return _read_text(text, label, digest, is_table, warnings, names, date_order)
    except IntakeError as error:
        shown = f"“{label}”" if label != TYPED else "what was typed"
        raise IntakeError(f"{shown} {error}") from None


def _bytes_of(file: Path) -> bytes:
    shown = printable(str(file))
    try:
        kind = file.stat().st_mode
        if stat.S_ISDIR(kind):
            raise IntakeError(f"“{shown}” is a folder, not a file")
        if not (stat.S_ISREG(kind) or stat.S_ISFIFO(kind)):
            raise IntakeError(f"“{shown}” is no ordinary file")
        with file.open("rb") as stream:
            return stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise IntakeError(f"there is no file “{shown}”") from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise IntakeError(f"“{shown}” cannot be read: {why}") from None


def _bytes_of_stream(stream: TextIO) -> bytes:
    # Bytes where there are any: what a terminal or a pipe hands over need not be UTF-8.
    raw = getattr(stream, "buffer", None)
    try:
        if raw is not None:
            return bytes(raw.read(LARGEST + 1))
        return tidy(stream.read(LARGEST + 1)).encode("utf-8")
    except (OSError, ValueError) as error:
        raise IntakeError(f"what was typed cannot be read: {error}") from None


def _read_text(
    text: str,
    label: str,
    digest: str,
    is_table: bool,
    warnings: tuple[str, ...],
    names: ResolvesNames,
    date_order: DateOrder | None,
) -> IntakeDraft:
    found: _Heading | IntakeError = _find_heading(text)
    rejected: list[Rejected] = []
    if isinstance(found, _Heading):
        columns = found.columns
        rows = [
            row
            for row in delimited_rows(found.text, found.delimiter)
            if row.number > found.row and any(_text(cell) for cell in row.cells)
        ]
        del text
    elif is_table or not any(map(has_arrow, text.split("\n"))):
        raise found
    else:
        columns = LINE_COLUMNS
        rows = []
        for line in line_rows(text):
            if isinstance(line, Rejected):
                rejected.append(line)
            elif rows or not find_columns(line.cells[1:3]).complete:  # no heading “called > was”
                rows.append(line)
    return _Assembly(columns, names).draft(
        rows, label, digest, (*warnings, *columns.warnings), rejected, date_order
    )


class _Heading:
    """The row of headings: in which row it stands, and how the table is delimited."""

    def __init__(self, text: str, delimiter: str, row: int, columns: Columns) -> None:
        self.text, self.delimiter, self.row, self.columns = text, delimiter, row, columns


def _find_heading(text: str) -> _Heading | IntakeError:
    """The headings, with the delimiter that makes most sense of them; else why there are none."""
    delimiters: Sequence[str] = DELIMITERS
    first, _, rest = text.partition("\n")
    if match := _SEPARATOR_LINE.fullmatch(first):
        text, delimiters = rest, (match[1],)
    best: _Heading | None = None
    nearest: Columns | None = None
    broken: IntakeError | None = None
    for delimiter in delimiters:
        try:
            for row in delimited_rows(text, delimiter):
                if row.number > _HEADING_WITHIN:
                    break
                if not any(row.cells):
                    continue
                columns = find_columns(row.cells)
                if nearest is None or _sense(columns) > _sense(nearest):
                    nearest = columns
                if columns.complete:
                    if best is None or len(columns.at) > len(best.columns.at):
                        best = _Heading(text, delimiter, row.number, columns)
                    break
        except IntakeError as error:
            broken = broken or error
    if best is not None:
        return best
    return broken or missing_columns(nearest or Columns({}, ()))


def _sense(columns: Columns) -> tuple[int, int]:
    return len(columns.at), 0 if columns.at else len(columns.headings)


def _text(cell: Cell) -> str:
    """A cell as text in one line; whole numbers without a decimal point."""
    if isinstance(cell, str):
        return " ".join(cell.split())
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell)


def _name(cell: Cell) -> str:
    """A name, empty where there is a dash, a question mark or the like instead."""
    text = _text(cell)
    if text.casefold() in _NO_ANSWER or not any(character.isalnum() for character in text):
        return ""
    return text


def _note(cell: Cell) -> str:
    """A note; it may have several lines."""
    if not isinstance(cell, str):
        return _text(cell)
    return "\n".join(" ".join(line.split()) for line in cell.strip().split("\n"))


class _Assembly:
    """Pours from rows, whatever file the rows came from."""

    def __init__(self, columns: Columns, names: ResolvesNames) -> None:
        self._columns = columns
        self._names = names
        self._known: dict[str, tuple[Named, tuple[str, ...]]] = {}
        self._positions: Counter[tuple[date | None, str]] = Counter()
        self._seen: Counter[tuple[str, ...]] = Counter()
        self._unplaced = 0

    def draft(
        self,
        rows: Iterable[Row],
        label: str,
        digest: str,
        warnings: tuple[str, ...],
        rejected: list[Rejected],
        date_order: DateOrder | None,
    ) -> IntakeDraft:
        """The draft of all rows; `rejected` are rows that were no rows to begin with."""
        rows = list(rows)
        take = self._taker()
        self._dates = DateColumn((take(row, DATE) for row in rows), date_order)
        pours: list[PourDraft] = []
        unresolved: list[Unresolved] = []
        for row in rows:
            pour = self._pour(row, take, unresolved)
            if isinstance(pour, PourDraft):
                pours.append(pour)
            else:
                rejected.append(pour)
        rejected.sort(key=lambda one: one.row)
        if self._unplaced:
            warnings = (
                *warnings,
                f"{self._unplaced} places in the flight could not be read and follow the order of "
                "the rows",
            )
        return IntakeDraft(
            label, digest, tuple(pours), tuple(unresolved), tuple(rejected), warnings
        )

    def _taker(self) -> Callable[[Row, str], Cell]:
        at = self._columns.at

        def take(row: Row, role: str) -> Cell:
            place = at.get(role)
            return row.cells[place] if place is not None and place < len(row.cells) else ""

        return take

    def _pour(
        self, row: Row, take: Callable[[Row, str], Cell], unresolved: list[Unresolved]
    ) -> PourDraft | Rejected:
        columns = self._columns
        width = len(columns.headings)
        if len(row.cells) > width and any(_text(cell) for cell in row.cells[width:]):
            return Rejected(
                row.number,
                columns.headings[-1] or columns.heading(WAS),
                f"the row has {len(row.cells)} cells and the headings are {width}; "
                "a text with a separator in it must stand in quotes",
            )
        texts = {role: _name(take(row, role)) for role in (CALLED, WAS, FIRST, RUNNER_UP)}
        for role, problem in ((WAS, "what it was is missing"), (CALLED, "the call is missing")):
            if not texts[role]:
                return Rejected(row.number, columns.heading(role), problem)
        for role, text in texts.items():
            if len(text) > LONGEST_NAME:
                return Rejected(
                    row.number, columns.heading(role), "is too long for the name of a wine"
                )
        try:
            day = self._dates.read(take(row, DATE))
        except ValueError as error:
            return Rejected(row.number, columns.heading(DATE), str(error))
        flight, note = _text(take(row, FLIGHT)), _note(take(row, NOTE))
        named = {
            role: self._resolve(row.number, role, text, unresolved) if text else NOTHING
            for role, text in texts.items()
        }
        content = typed_content(
            day, flight, texts[CALLED], texts[WAS], texts[FIRST], texts[RUNNER_UP], note
        )
        self._seen[content] += 1
        return PourDraft(
            row=row.number,
            date=day,
            flight=flight,
            position=self._position(day, flight, _text(take(row, POSITION))),
            called=named[CALLED],
            was=named[WAS],
            first=named[FIRST],
            runner_up=named[RUNNER_UP],
            note=note,
            fingerprint=fingerprint(content, self._seen[content]),
        )

    def _position(self, day: date | None, flight: str, given: str) -> int:
        self._positions[day, flight] += 1
        if given:
            match = _POSITION.fullmatch(given)
            if match and 1 <= int(match[1]) <= MOST_POURS:
                return int(match[1])
            self._unplaced += 1
        return self._positions[day, flight]

    def _resolve(self, row: int, role: str, text: str, unresolved: list[Unresolved]) -> Named:
        known = self._known.get(text)
        if known is None:
            found = self._names.resolve(text)
            known = self._known[text] = (Named(text, found.wine), found.suggestions)
        named, suggestions = known
        if named.wine is None:
            unresolved.append(Unresolved(row, self._columns.heading(role), text, suggestions))
        return named
