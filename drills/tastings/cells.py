"""Cells from a file: bytes to text, text to rows. What the cells mean is not known here.

A reader of another kind of file yields the same rows: a number as a spreadsheet shows it, and
cells that are text, numbers or dates.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import TypeAlias

from drills.errors import IntakeError

Cell: TypeAlias = str | float | date

LONGEST_FIELD = 1_000_000
DELIMITERS = (",", ";", "\t", "|")

_SIGNATURES = (
    (b"PK\x03\x04", "is a spreadsheet or another packed file; save the sheet as CSV first"),
    (b"\xd0\xcf\x11\xe0", "is an old spreadsheet (XLS); save the sheet as CSV first"),
    (b"%PDF", "is a PDF, not a table"),
    (b"\x89PNG", "is a picture, not a table"),
    (b"\xff\xd8\xff", "is a picture, not a table"),
    (b"GIF8", "is a picture, not a table"),
    (b"\x1f\x8b", "is compressed; unpack it first"),
    (b"SQLite format 3\x00", "is a database, not a table"),
)
# UTF-32 begins like UTF-16, so it is looked for first.
_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_TEXT_CONTROLS = b"\t\n\r\x0b\x0c\x1a"
_CONTROLS = bytes(set(range(32)) - set(_TEXT_CONTROLS)) + b"\x7f"
_SAMPLE = 65_536

# Nothing of these may reach a terminal or a name: control characters, marks that turn the
# direction of writing, invisible characters, halves of surrogate pairs.
_UNWANTED = re.compile(
    "[\x00-\x08\x0e-\x1f\x7f\u0080-\u0084\u0086-\u009f\u00ad\u200b-\u200f\u202a-\u202e\u2060-\u2069"
    "\ufeff\ufff9-\ufffb]"
)
_BREAKS = re.compile("[\x0b\x0c\u0085\u2028\u2029]")
_HALVES = re.compile("[\ud800-\udfff]")


@dataclass(frozen=True, slots=True)
class Row:
    """One row, with the number that a spreadsheet shows beside it."""

    number: int
    cells: tuple[Cell, ...]


def decode(content: bytes) -> tuple[str, tuple[str, ...]]:
    """The text of a file and what is to be said of it; IntakeError if it is no text."""
    for signature, problem in _SIGNATURES:
        if content.startswith(signature):
            raise IntakeError(problem)
    for mark, encoding in _MARKS:
        if content.startswith(mark):
            try:
                return _tidy(content[len(mark) :].decode(encoding)), ()
            except UnicodeDecodeError:
                if encoding != "utf-8":
                    raise IntakeError(
                        f"is damaged: it begins as {encoding.upper()} and does not go on so"
                    ) from None
                content = content[len(mark) :]
    sample = content[:_SAMPLE]
    controls = len(sample) - len(sample.translate(None, _CONTROLS))
    if controls * 20 > len(sample):
        raise IntakeError("is no text file; save the sheet as CSV in UTF-8")
    try:
        return _tidy(content.decode("utf-8")), ()
    except UnicodeDecodeError:
        lenient = content.decode("utf-8", "replace")
    lost = lenient.count("\ufffd")
    # Far more letters that are good UTF-8 than not: it is UTF-8 with a few damaged places.
    beyond_ascii = len(lenient) - len(lenient.encode("ascii", "ignore"))
    if beyond_ascii - lost > lost:
        return _tidy(lenient), (f"{lost} damaged characters stand as “\ufffd”",)
    western = content.decode("cp1252", "replace")
    lost = western.count("\ufffd")
    warnings = (f"{lost} damaged characters stand as “\ufffd”",) if lost else ()
    return _tidy(western), warnings


def tidy(text: str) -> str:
    """`text` without characters that are no text; ends of lines become line feeds."""
    return _tidy(text)


def _tidy(text: str) -> str:
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    text = _UNWANTED.sub("", text)
    if not text.isascii():
        text = _HALVES.sub("\ufffd", text)
    return _BREAKS.sub(" ", text)


def printable(text: str) -> str:
    """`text` for a message: what has no picture stands as “\ufffd”."""
    if text.isprintable():
        return text
    return "".join(character if character.isprintable() else "\ufffd" for character in text)


def delimited_rows(text: str, delimiter: str) -> Iterator[Row]:
    """The rows of a table in text, as a spreadsheet would show them.

    A cell may stand in double quotes, with doubled quotes inside. IntakeError names the row of a
    quote that never closes and of a cell above `LONGEST_FIELD` characters.
    """
    lines = text.split("\n")
    if not lines[-1]:
        lines.pop()
    number = 0
    at = 0
    while at < len(lines):
        number += 1
        line = lines[at]
        if '"' in line:
            cells, at = _quoted_row(lines, at, delimiter, number)
        else:
            cells = line.split(delimiter)
            at += 1
        if len(line) > LONGEST_FIELD:
            for cell in cells:
                _check_length(len(cell), number)
        yield Row(number, tuple(cells))


def _check_length(length: int, number: int) -> None:
    if length > LONGEST_FIELD:
        raise IntakeError(f"row {number} has a cell of more than {LONGEST_FIELD:,} characters")


def _quoted_row(lines: list[str], at: int, delimiter: str, number: int) -> tuple[list[str], int]:
    """The cells of the row that begins in line `at`, and the line after it."""
    cells: list[str] = []
    line = lines[at]
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
                    at += 1
                    if at >= len(lines):
                        raise IntakeError(f"breaks off inside a quoted cell of row {number}")
                    line, position = lines[at], 0
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
            return cells, at + 1
        start = end + 1
