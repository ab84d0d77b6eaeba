"""The mark that an exported row bears: which pour it is, and whether the row was edited since.

A spreadsheet may write dates and numbers its own way; that is no edit. A row that still is what was
exported is taken for that very pour; any other row is read like one typed by hand.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from drills.tastings.cells import Cell
from drills.tastings.drafts import even
from drills.tastings.figures import decimal_text

# A spreadsheet takes a cell that begins so for a formula and would run it, blanks before or not.
_RUNS = re.compile(r"[\s']*[=+\-@＝＋－＠]|'*[\t\r\n]")
_NUMBER = re.compile(r"[+-]?\d{1,15}(?:[.,]\d{1,15})?")
_MARK = re.compile(r"pour-([0-9a-f]{64})-([0-9a-f]{12})")


@dataclass(frozen=True, slots=True)
class Mark:
    """The fingerprint of a pour, and the check of the row that was written of it."""

    fingerprint: str
    check: str

    def __str__(self) -> str:
        return f"pour-{self.fingerprint}-{self.check}"


def read_mark(cell: object) -> Mark | None:
    """The mark in a cell, None where there is none."""
    match = _MARK.fullmatch(cell.strip()) if isinstance(cell, str) else None
    return None if match is None else Mark(match[1], match[2])


def guarded(text: str) -> str:
    """A text that no spreadsheet runs: an apostrophe before what begins like a formula."""
    return f"'{text}" if _RUNS.match(text) else text


def unguarded(text: str) -> str:
    """A text without the apostrophe that `guarded` put before it."""
    return text[1:] if text.startswith("'") and _RUNS.match(text, 1) else text


def check_of_row(cells: Iterable[tuple[str, Cell]]) -> str:
    """The check of a row of a table, from the role and the cell of each column."""
    said = sorted((role, _settled(cell)) for role, cell in cells)
    return _check([pair for pair in said if pair[1]])


def check_of_object(content: Mapping[str, Any]) -> str:
    """The check of an object of JSON, its mark left out."""
    return _check({name: value for name, value in content.items() if name != "mark"})


def _check(content: object) -> str:
    said = json.dumps(content, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(said.encode("utf-8")).hexdigest()[:12]


def _settled(cell: Cell) -> str:
    """A cell whatever a spreadsheet made of its spacing, its numbers and its date."""
    if isinstance(cell, int | float):
        return decimal_text(float(cell))
    if isinstance(cell, date):
        return cell.isoformat()
    text = even(cell)
    if _NUMBER.fullmatch(text):
        return decimal_text(float(text.replace(",", ".")))
    return text
