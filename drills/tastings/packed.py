"""Spreadsheets, XLSX and ODS: looked over before they are unpacked, then read sheet by sheet."""

from __future__ import annotations

import re
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import IO, Any, BinaryIO
from xml.parsers import expat

from drills.errors import IntakeError
from drills.phrases import count
from drills.tastings.cells import LONGEST_FIELD, Cell, Row, tidy

# A sheet of 100,000 pours with all their notes unpacks to some 200 MB and holds 4.5 million cells.
LARGEST_UNPACKED = 400 * 1024 * 1024  # bytes
MOST_CELLS = 10_000_000
MOST_PARTS = 10_000
# No sheet of the programs that write them is larger (their published limits).
MOST_ROWS, MOST_COLUMNS = 1_048_576, 16_384
_CHUNK = 1 << 20
# Where a cell with something in it stands. Not only the first place that a tag gives: of two the
# library believes the last. An empty cell, formatted only, takes no room and may stand anywhere.
_PLACE = re.compile(
    rb"""\br\s{0,9}=\s{0,9}["']([A-Za-z]{1,9})(\d{1,9})["']"""
    rb"""(?=(?:[^<>"']{1,100}+|"[^"<]{0,400}+"|'[^'<]{0,400}+'){0,200}+(?<!/)>"""
    rb"""\s{0,99}+(?:[^<\s]|<[^/]))"""
)
# A cell that gives no place stands in the row that its row gives.
_ROW = re.compile(rb"""<(?:\w{1,20}:)?row\b[^<>]{0,400}?\br\s{0,9}=\s{0,9}["'](\d{1,9})["']""")
_PLACELESS = re.compile(
    rb"""<(?:\w{1,20}:)?c(?:\s(?![^<>]{0,400}\br\s{0,9}=)[^<>]{0,400}+)?(?<!/)>"""
)
_UNSAVED = re.compile(rb"(?:</(?:\w{1,20}:)?f>|<(?:\w{1,20}:)?f/>)\s{0,99}</(?:\w{1,20}:)?c>")
_OVERLAP = 4096
_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_OFFICE = "urn:oasis:names:tc:opendocument:xmlns:office:1.0"
_TABLE = "urn:oasis:names:tc:opendocument:xmlns:table:1.0"
_TEXT = "urn:oasis:names:tc:opendocument:xmlns:text:1.0"


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of a workbook. `merged` holds ranges of cells: first row, column, last ones."""

    name: str
    height: int
    merged: tuple[tuple[int, int, int, int], ...]
    rows: Iterable[Row]


class Workbook:
    """The sheets of a spreadsheet file, read one at a time."""

    def __init__(self, stream: BinaryIO) -> None:
        self.unsaved = _look_over(stream)
        """How many formulas have no saved value, so that their cells are empty."""
        stream.seek(0)
        with _understood():
            from python_calamine import load_workbook

            self._book = load_workbook(stream)
            self.names = tuple(self._book.sheet_names)

    def sheets(self) -> Iterator[Sheet]:
        """Every sheet that holds a table, in the order of the workbook."""
        for number, name in enumerate(self.names):
            with _understood():
                sheet = self._book.get_sheet_by_index(number)
                start, end, height = sheet.start, sheet.end, sheet.total_height
                ranges = sheet.merged_cell_ranges or ()
            if start is None or end is None:
                continue
            rows, columns = end[0] + 1, end[1] + 1
            if rows > MOST_ROWS or columns > MOST_COLUMNS:
                raise IntakeError(
                    f"has a sheet of {count(rows, 'row')} and {count(columns, 'column')}, larger"
                    f" than any program makes ({MOST_ROWS:,} and {MOST_COLUMNS:,} at most)"
                )
            merged = tuple(
                (top, left - start[1], bottom, right - start[1])
                for (top, left), (bottom, right) in ranges
            )
            yield Sheet(tidy(name), height, merged, _rows(sheet))


def _rows(sheet: Any) -> Iterator[Row]:
    left = sheet.iter_rows()
    number = 0
    while True:
        number += 1
        with _understood():
            values = next(left, None)
        if values is None:
            return
        # Where a cell stands far from the others, most are empty.
        yield Row(number, [value if value == "" else _cell(value, number) for value in values])


@contextmanager
def _understood() -> Iterator[None]:
    """What the library cannot make out of a file becomes one error of ours."""
    try:
        yield
    except BaseException as error:
        # A panic of the library is no Exception, and no reason to end the program.
        module, kind = type(error).__module__, type(error).__name__
        if not (module.startswith(("python_calamine", "pyo3")) or isinstance(error, OSError)):
            raise
        if kind == "PasswordError":
            raise IntakeError("is protected by a password; save it without one") from None
        raise IntakeError("is damaged or no spreadsheet (XLSX, ODS)") from None


def _cell(value: Any, number: int) -> Cell:
    """A value of the library as a cell of ours."""
    if isinstance(value, str):
        if len(value) > LONGEST_FIELD:
            raise IntakeError(f"row {number} has a cell of more than {LONGEST_FIELD:,} characters")
        return tidy(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return float(value)
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    if isinstance(value, time):
        return value.isoformat("seconds")
    if isinstance(value, timedelta):
        return value.total_seconds()
    return tidy(str(value))


def filled_merged(sheet: Sheet, places: Sequence[int]) -> tuple[Iterator[Row], list[int]]:
    """The rows of a sheet with the merged cells of some columns filled from their first row.

    The list holds, as the rows are read, how many of them were filled.
    """
    wanted = sorted(
        (top, bottom, column)
        for top, left, bottom, right in sheet.merged
        if bottom > top
        for column in places
        if left <= column <= right
    )
    filled: list[int] = []

    def rows() -> Iterator[Row]:
        standing: dict[int, tuple[int, Cell]] = {}
        coming = iter(wanted)
        following = next(coming, None)
        for row in sheet.rows:
            index = row.number - 1
            while following is not None and following[0] <= index:
                top, bottom, column = following
                if top == index and column < len(row.cells):
                    standing[column] = (bottom, row.cells[column])
                following = next(coming, None)
            blank = [
                (column, value)
                for column, (bottom, value) in standing.items()
                if index <= bottom and column < len(row.cells) and row.cells[column] == ""
            ]
            if blank and any(cell != "" for cell in row.cells):
                cells = list(row.cells)
                for column, value in blank:
                    cells[column] = value
                filled.append(row.number)
                row = Row(row.number, cells)
            yield row

    return (rows() if wanted else iter(sheet.rows)), filled


# ---- before anything is unpacked for good


def _look_over(stream: BinaryIO) -> int:
    """Refuse what would take too much room, by what it says and by what it is.

    Returns how many formulas have no saved value.
    """
    unsaved = 0
    try:
        with zipfile.ZipFile(stream) as packed:
            parts = packed.infolist()
            names = {part.filename for part in parts}
            if len(parts) > MOST_PARTS:
                raise IntakeError(f"holds {len(parts):,} parts, more than any spreadsheet")
            _check_kind(names)
            if any(part.compress_type not in _METHODS for part in parts):
                raise IntakeError("is packed in a way that spreadsheets are not; save it anew")
            if sum(part.file_size for part in parts) > LARGEST_UNPACKED:
                raise _too_much()
            left = LARGEST_UNPACKED
            for part in parts:
                watch = _watch_for(part.filename, is_ods="content.xml" in names)
                with packed.open(part) as content:
                    left -= _measure(content, left, watch)
                if watch is not None:
                    watch.close()
                    unsaved += watch.unsaved
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        if "password" in str(error) or "encrypted" in str(error):
            raise IntakeError("is protected by a password; save it without one") from None
        raise IntakeError("is damaged or no spreadsheet (XLSX, ODS)") from None
    except (OSError, ValueError, OverflowError):
        raise IntakeError("is damaged or no spreadsheet (XLSX, ODS)") from None
    return unsaved


def _check_kind(names: set[str]) -> None:
    if "xl/workbook.bin" in names:
        raise IntakeError("is a binary workbook (XLSB); save it as XLSX or CSV")
    if any(name.startswith("Index/") and name.endswith(".iwa") for name in names):
        raise IntakeError("is a spreadsheet of another kind; export it as XLSX or CSV")
    if any(name.startswith("word/") for name in names):
        raise IntakeError("is a text document, not a table")
    if not any(name.startswith("xl/") for name in names) and "content.xml" not in names:
        raise IntakeError("is a packed file and no spreadsheet (XLSX, ODS); unpack it first")


def _measure(content: IO[bytes], most: int, watch: _Watch | None) -> int:
    size = 0
    while chunk := content.read(_CHUNK):
        size += len(chunk)
        if size > most:
            raise _too_much()
        if watch is not None:
            watch.see(chunk)
    return size


def _too_much() -> IntakeError:
    return IntakeError(f"unpacks to more than {LARGEST_UNPACKED // 1024**2} MB; split it")


def _too_wide() -> IntakeError:
    return IntakeError(f"has cells spread over a sheet of more than {MOST_CELLS:,}; split it")


class _Watch:
    """Looks at the content of one part as it is unpacked."""

    unsaved = 0

    def see(self, chunk: bytes) -> None:
        """Look at the next bytes."""

    def close(self) -> None:
        """There are no more."""


def _watch_for(name: str, *, is_ods: bool) -> _Watch | None:
    if is_ods:
        return _OdsExtent() if name == "content.xml" else None
    # A sheet may lie anywhere in the file.
    return _XlsxExtent()


class _XlsxExtent(_Watch):
    """How far apart the cells of a sheet stand: the library makes room for all between them."""

    def __init__(self) -> None:
        self._rest = b""
        self._width = self._height = self._cells = 0
        self._widest = self._open_row = self._last_row = 0
        self._placeless = False

    def see(self, chunk: bytes) -> None:
        text = self._rest + chunk
        # What ends in the part that was looked at before was counted there.
        seen = len(self._rest)
        self.unsaved += sum(match.end() > seen for match in _UNSAVED.finditer(text))
        for match in _PLACE.finditer(text):
            column = 0
            for letter in match[1].upper():
                column = column * 26 + letter - 64
            self._width = max(self._width, column)
            self._height = max(self._height, int(match[2]))
        self._count_rows(text, chunk)
        if max(self._width * self._height, self._cells) > MOST_CELLS:
            raise _too_wide()
        self._rest = text[-_OVERLAP:]

    def _count_rows(self, text: bytes, chunk: bytes) -> None:
        rows = [
            sum(row.count(begin) for begin in (b"<c ", b"<c>", b"<c/"))
            for row in chunk.split(b"<row")
        ]
        self._cells += sum(rows)
        self._widest = max(self._widest, self._open_row + rows[0], *rows)
        self._open_row = rows[-1] if len(rows) > 1 else self._open_row + rows[0]
        self._last_row = max((self._last_row, *(int(one[1]) for one in _ROW.finditer(text))))
        self._placeless = self._placeless or _PLACELESS.search(text) is not None
        if self._placeless:
            self._width = max(self._width, self._widest)
            self._height = max(self._height, self._last_row)


class _OdsExtent(_Watch):
    """How many cells a sheet comes to once repeated rows and columns are written out."""

    def __init__(self) -> None:
        self._parser = expat.ParserCreate(namespace_separator=" ")
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        self._parser.EntityDeclHandler = self._entity
        self._reset()

    def _reset(self) -> None:
        self._height = self._width = self._before = 0
        self._row_repeats = self._row_width = self._column = 0
        self._cell_repeats = 0
        self._has_content = False

    def see(self, chunk: bytes) -> None:
        try:
            self._parser.Parse(chunk, False)
        except (expat.ExpatError, LookupError, ValueError):
            # A LookupError is an encoding that nobody knows.
            raise IntakeError("is damaged or no spreadsheet (XLSX, ODS)") from None

    def close(self) -> None:
        try:
            self._parser.Parse(b"", True)
        except (expat.ExpatError, LookupError, ValueError):
            raise IntakeError("is damaged or no spreadsheet (XLSX, ODS)") from None

    def _entity(self, *_: object) -> None:
        raise IntakeError("declares entities, as no spreadsheet does")

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        if name == f"{_TABLE} table":
            self._reset()
        elif name == f"{_TABLE} table-row":
            self._row_repeats = _times(attributes, "rows")
            self._column = self._row_width = 0
        elif name in (f"{_TABLE} table-cell", f"{_TABLE} covered-table-cell"):
            self._cell_repeats = _times(attributes, "columns")
            self._has_content = f"{_OFFICE} value-type" in attributes
        elif name == f"{_TEXT} p":
            self._has_content = True

    def _end(self, name: str) -> None:
        if name in (f"{_TABLE} table-cell", f"{_TABLE} covered-table-cell"):
            self._column += self._cell_repeats
            if self._has_content:
                self._row_width = self._column
            self._has_content = False
        elif name == f"{_TABLE} table-row":
            self._before += self._row_repeats
            if self._row_width:
                self._height = self._before
                self._width = max(self._width, self._row_width)
            if self._height * self._width > MOST_CELLS:
                raise _too_wide()


def _times(attributes: dict[str, str], what: str) -> int:
    try:
        return min(max(int(attributes.get(f"{_TABLE} number-{what}-repeated", "1")), 1), 10**7)
    except ValueError:
        return 1
