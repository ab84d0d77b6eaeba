"""A source as a table: which kind of file it is, where its headings stand, and its rows.

Every kind is read twice: once to learn its columns, the order of its dates and whether dates and
flights hold further down, and once for the rows themselves, a few at a time.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import ExitStack
from itertools import islice
from typing import Protocol

from drills.errors import IntakeError
from drills.phrases import count
from drills.tastings.cells import DELIMITERS, Row, delimited_rows
from drills.tastings.columns import Columns, DescriptorOf, find_columns, missing_columns
from drills.tastings.drafts import Rejected
from drills.tastings.headings import DATE, FLIGHT
from drills.tastings.lines import COLUMNS as LINE_COLUMNS
from drills.tastings.lines import has_arrow, line_rows
from drills.tastings.object_rows import Paths
from drills.tastings.objects import Thing, things_in_document, things_in_lines
from drills.tastings.packed import Workbook, filled_merged
from drills.tastings.plain_rows import PlainRow, read_plain
from drills.tastings.sources import Source
from drills.tastings.texts import Encoding, find_encoding, lines_of

_HEADING_WITHIN = 20  # rows; some people write a title above the headings
# Enough lines to hold the headings, should a title of several lines stand above them.
_HEAD_LINES = 400
_TABLE_SUFFIXES = (".csv", ".tsv", ".tab")
_LINE_SUFFIXES = (".jsonl", ".ndjson")
# How objects of JSON begin, and a list of them; a name in square brackets does not.
_OBJECTS = re.compile(r"\[?\s*\{\s*(?:[\"}]|$)|\[\s*$")
_SEPARATOR_LINE = re.compile(r"\s*\"?sep=([^\w\s\"]|\t)\"?\s*", re.IGNORECASE)

Progress = Callable[[float], None]
"""Told which share of the source has been read, 0 to 1."""


class SourceTable(Protocol):
    """A table that can be read from its beginning again and again."""

    @property
    def columns(self) -> Columns:
        """Where each column stands."""

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is to be said of the source as a whole, its last reading included."""

    def rows(self, progress: Progress | None = None) -> Iterator[Row | PlainRow | Rejected]:
        """Every row below the headings that is not empty."""


def open_table(source: Source, descriptor: DescriptorOf, stack: ExitStack) -> SourceTable:
    """The table of a source; IntakeError where it holds none.

    What has to stay open while rows are read is entered into the `stack`.
    """
    encoding = find_encoding(source)
    if encoding is None:
        return _PackedTable(source, descriptor, stack)
    return _text_table(source, encoding, descriptor)


def _text_table(source: Source, encoding: Encoding, descriptor: DescriptorOf) -> SourceTable:
    head = list(islice(lines_of(source, encoding), _HEAD_LINES + 1))
    is_whole = len(head) <= _HEAD_LINES
    first = next((line.strip() for line in head if line.strip()), "")
    if not first and not any(line.strip() for line in lines_of(source, encoding)):
        raise IntakeError("is empty")
    if source.suffix not in _TABLE_SUFFIXES and (
        source.suffix in (*_LINE_SUFFIXES, ".json") or _OBJECTS.match(first)
    ):
        in_lines = source.suffix in _LINE_SUFFIXES or (
            source.suffix != ".json" and _is_object(first) and not (is_whole and len(head) == 1)
        )
        return _ObjectTable(source, encoding, descriptor, in_lines)
    heading = _find_heading(head[:_HEAD_LINES], descriptor, is_whole)
    if isinstance(heading, _Heading):
        return _DelimitedTable(source, encoding, heading)
    if source.suffix in _TABLE_SUFFIXES or not any(map(has_arrow, lines_of(source, encoding))):
        raise heading
    return _LineTable(source, encoding)


def _is_object(line: str) -> bool:
    found = next(things_in_lines([line]), None)
    return isinstance(found, Thing)


class _Text:
    """What all tables in text share."""

    def __init__(self, source: Source, encoding: Encoding) -> None:
        self._source = source
        self._encoding = encoding

    def _lines(self, progress: Progress | None) -> Iterator[str]:
        if progress is None:
            return lines_of(self._source, self._encoding)
        size = max(self._source.size, 1)
        read = 0

        def told(number: int) -> None:
            nonlocal read
            read += number
            progress(min(read / size, 1.0))

        return lines_of(self._source, self._encoding, told)


class _DelimitedTable(_Text):
    """Cells that commas, semicolons, tabs or bars set apart."""

    def __init__(self, source: Source, encoding: Encoding, heading: _Heading) -> None:
        super().__init__(source, encoding)
        self._heading = heading
        self.columns = heading.columns
        self.warnings = (*encoding.warnings, *heading.columns.warnings)

    def rows(self, progress: Progress | None = None) -> Iterator[Row | PlainRow | Rejected]:
        """Every row below the headings that is not empty."""
        heading = self._heading
        lines = self._lines(progress)
        if heading.skips_first:
            next(lines, None)
        for row in delimited_rows(lines, heading.delimiter):
            if row.number > heading.row and any(map(_says, row.cells)):
                yield row


class _LineTable(_Text):
    """Lines of “called > was”."""

    columns = LINE_COLUMNS

    def __init__(self, source: Source, encoding: Encoding) -> None:
        super().__init__(source, encoding)
        self.warnings = encoding.warnings

    def rows(self, progress: Progress | None = None) -> Iterator[Row | PlainRow | Rejected]:
        """A row for each line that says something, a heading “called > was” left out."""
        begun = False
        for line in line_rows(self._lines(progress)):
            if isinstance(line, Row):
                if not begun and find_columns(line.cells[1:3]).complete:
                    continue
                begun = True
            yield line


class _ObjectTable(_Text):
    """Objects of JSON."""

    def __init__(
        self, source: Source, encoding: Encoding, descriptor: DescriptorOf, in_lines: bool
    ) -> None:
        super().__init__(source, encoding)
        self._read = things_in_lines if in_lines else things_in_document
        self._paths = Paths(descriptor)
        plain = others = False
        for thing in self._read(self._lines(None)):
            if isinstance(thing, Thing):
                if read_plain(thing.number, thing.content) is not None:
                    plain = True
                else:
                    others = True
                    self._paths.see(thing)
        self.columns = self._paths.columns()
        if others and not plain and not self.columns.complete:
            raise missing_columns(self.columns)
        if not others and not plain and not any(True for _ in self._read(self._lines(None))):
            raise IntakeError("holds no pours")
        self.warnings = (*encoding.warnings, *self.columns.warnings)

    def rows(self, progress: Progress | None = None) -> Iterator[Row | PlainRow | Rejected]:
        """Every object, as a pour or as a row of cells."""
        for thing in self._read(self._lines(progress)):
            if isinstance(thing, Rejected):
                yield thing
            else:
                yield read_plain(thing.number, thing.content) or self._paths.row(thing)


class _PackedTable:
    """The first sheet of a spreadsheet that says what was called and what it was."""

    def __init__(self, source: Source, descriptor: DescriptorOf, stack: ExitStack) -> None:
        self._merged: list[int] = []
        # Read whole once: the digest tells whether the file was taken in before.
        for _ in source.chunks():
            pass
        self._book = Workbook(stack.enter_context(source.opened()))
        self._name, self._row, self.columns, others = self._find(descriptor)
        if unsaved := self._book.unsaved:
            others.append(
                f"{count(unsaved, 'formula')} without a saved value read as empty; open the file "
                "in a spreadsheet and save it"
            )
        self._warnings = (*self.columns.warnings, *others)

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is to be said of the workbook."""
        if not self._merged:
            return self._warnings
        return (*self._warnings, "dates and flights of merged cells hold for all their rows")

    def _find(self, descriptor: DescriptorOf) -> tuple[str, int, Columns, list[str]]:
        nearest: Columns | None = None
        found: tuple[str, int, Columns] | None = None
        others: list[str] = []
        for sheet in self._book.sheets():
            for row in islice(sheet.rows, _HEADING_WITHIN):
                columns = find_columns(row.cells, descriptor)
                if found is None and (nearest is None or _sense(columns) > _sense(nearest)):
                    nearest = columns
                if columns.complete:
                    if found is None:
                        found = (sheet.name, row.number, columns)
                    else:
                        others.append(f"sheet “{sheet.name[:40]}” was not read; save it by itself")
                    break
        if found is None:
            raise missing_columns(nearest or Columns({}, ()))
        if len(self._book.names) > 1:
            others.insert(0, f"read from sheet “{found[0][:40]}”")
        return (*found, others)

    def rows(self, progress: Progress | None = None) -> Iterator[Row | PlainRow | Rejected]:
        """Every row below the headings that is not empty."""
        sheet = next(one for one in self._book.sheets() if one.name == self._name)
        at = self.columns.at
        places = [at[role] for role in (DATE, FLIGHT) if role in at]
        rows, self._merged = filled_merged(sheet, places)
        for row in rows:
            if progress is not None and row.number % 200 == 0:
                progress(min(row.number / max(sheet.height, 1), 1.0))
            if row.number > self._row and any(map(_says, row.cells)):
                yield row


def _says(cell: object) -> bool:
    return bool(cell.strip()) if isinstance(cell, str) else True


class _Heading:
    """The row of headings: in which row it stands, and how the table is delimited."""

    def __init__(self, delimiter: str, row: int, columns: Columns, skips_first: bool) -> None:
        self.delimiter, self.row, self.columns = delimiter, row, columns
        self.skips_first = skips_first


def _find_heading(
    head: Sequence[str], descriptor: DescriptorOf, is_whole: bool
) -> _Heading | IntakeError:
    """The headings, with the delimiter that makes most sense of them; else why there are none."""
    delimiters: Iterable[str] = DELIMITERS
    skips_first = False
    if match := _SEPARATOR_LINE.fullmatch(head[0]):
        head, delimiters, skips_first = head[1:], (match[1],), True
    best: _Heading | None = None
    nearest: Columns | None = None
    broken: IntakeError | None = None
    for delimiter in delimiters:
        try:
            for row in islice(delimited_rows(head, delimiter), _HEADING_WITHIN):
                if not any(map(_says, row.cells)):
                    continue
                columns = find_columns(row.cells, descriptor)
                if nearest is None or _sense(columns) > _sense(nearest):
                    nearest = columns
                if columns.complete:
                    if best is None or len(columns.at) > len(best.columns.at):
                        best = _Heading(delimiter, row.number, columns, skips_first)
                    break
        except IntakeError as error:
            # A quote that is still open where the first lines end may close further down.
            if is_whole:
                broken = broken or error
    if best is not None:
        return best
    return broken or missing_columns(nearest or Columns({}, ()))


def _sense(columns: Columns) -> tuple[int, int]:
    return len(columns.at), 0 if columns.at else len(columns.headings)
