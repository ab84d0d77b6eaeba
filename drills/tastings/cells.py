"""Cells of a table in text. What the cells mean is not known here.

A reader of another kind of file yields the same rows: a number as a spreadsheet shows it, and
cells that are text, numbers or dates.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import NamedTuple, TypeAlias

from drills.errors import IntakeError

Cell: TypeAlias = str | float | date

LONGEST_FIELD = 1_000_000
DELIMITERS = (",", ";", "\t", "|")

# Nothing of these may reach a terminal or a name: control characters, marks that turn the
# direction of writing, invisible characters; breaks of lines that no program shows as such.
_UNWANTED = re.compile(
    "[\x00-\x08\x0e-\x1f\x7f\u0080-\u0084\u0086-\u009f\u00ad\u061c\u180e\u200b-\u200f\u202a-\u202e"
    "\u2060-\u2069\ufeff\ufff9-\ufffb\U000e0000-\U000e007f]"
)
_BREAKS = re.compile("[\x0b\x0c\u0085\u2028\u2029]")
_HALVES = re.compile("[\ud800-\udfff]")
_ANY_OF_THEM = re.compile(f"{_UNWANTED.pattern}|{_BREAKS.pattern}|{_HALVES.pattern}|\r", re.DOTALL)


class Row(NamedTuple):
    """One row, with the number that a spreadsheet shows beside it."""

    number: int
    cells: Sequence[Cell]


def tidy(text: str) -> str:
    """`text` without characters that are no text; ends of lines become line feeds."""
    if _ANY_OF_THEM.search(text) is None:
        return text
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    text = _UNWANTED.sub("", text)
    text = _HALVES.sub("\ufffd", text)
    return _BREAKS.sub(" ", text)


def printable(text: str) -> str:
    """`text` for a message: what has no picture stands as “\ufffd”."""
    if text.isprintable():
        return text
    return "".join(character if character.isprintable() else "\ufffd" for character in text)


def delimited_rows(lines: Iterable[str], delimiter: str) -> Iterator[Row]:
    """The rows of a table in lines of text, as a spreadsheet would show them.

    A cell may stand in double quotes, with doubled quotes inside. IntakeError names the row of a
    quote that never closes and of a cell above `LONGEST_FIELD` characters.
    """
    # A quote that opens behind blanks is none to the library's reader.
    opens_late = re.compile(rf"(?:^|{re.escape(delimiter)})[ \t]+\"")
    left = iter(lines)
    # Rows that go on in further lines take them from the same iterator.
    for number, line in enumerate(left, 1):
        if '"' not in line:
            cells = line.split(delimiter)
        elif ((' "' not in line and '\t"' not in line) or opens_late.search(line) is None) and (
            known := _plainly_quoted(line, delimiter)
        ):
            cells = known
        else:
            cells = _quoted_row(line, left, delimiter, number)
        if len(line) > LONGEST_FIELD:
            for cell in cells:
                _check_length(len(cell), number)
        yield Row(number, cells)


def _plainly_quoted(line: str, delimiter: str) -> list[str] | None:
    """The cells of a line whose quotes are all closed and beside a delimiter, else None."""
    if line.count('"') % 2 or len(line) > 100_000:
        return None
    try:
        return next(csv.reader([line], delimiter=delimiter, strict=True))
    except csv.Error:
        return None


def _check_length(length: int, number: int) -> None:
    if length > LONGEST_FIELD:
        raise IntakeError(f"row {number} has a cell of more than {LONGEST_FIELD:,} characters")


def _quoted_row(line: str, left: Iterator[str], delimiter: str, number: int) -> list[str]:
    """The cells of the row that begins in `line` and may go on in the lines that are left."""
    cells: list[str] = []
    start = 0
    blank = " \t".replace(delimiter, "")
    while True:
        opening = start
        while opening < len(line) and line[opening] in blank:
            opening += 1
        if opening < len(line) and line[opening] == '"':
            parts: list[str] = []
            length = 0
            position = opening + 1
            while True:
                closing = line.find('"', position)
                if closing < 0:
                    part = line[position:] + "\n"
                    following = next(left, None)
                    if following is None:
                        raise IntakeError(f"breaks off inside a quoted cell of row {number}")
                    line, position = following, 0
                elif line[closing + 1 : closing + 2] == '"':
                    part = line[position : closing + 1]
                    position = closing + 2
                else:
                    part = line[position:closing]
                    position = closing + 1
                parts.append(part)
                length += len(part)
                _check_length(length, number)
                if closing >= 0 and position == closing + 1:
                    break
            end = line.find(delimiter, position)
            rest = line[position:] if end < 0 else line[position:end]
            cells.append("".join(parts) + rest.rstrip(blank))
        else:
            end = line.find(delimiter, start)
            cells.append(line[start:] if end < 0 else line[start:end])
        if end < 0:
            return cells
        start = end + 1
