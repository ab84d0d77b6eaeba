"""All tastings as one file: CSV for spreadsheets, JSON Lines for programs."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain
from typing import TYPE_CHECKING

from drills.errors import UsageError
from drills.paths import expanded
from drills.service.intake import words_of
from drills.service.pours import full_pour
from drills.service.writing import BEGINS, check_free, write_whole
from drills.tastings.cells import printable
from drills.tastings.export import KeptPour, json_lines, table_rows

if TYPE_CHECKING:
    from drills.service.desk import Desk

_TABLE, _LINES = (".csv",), (".jsonl", ".ndjson")


def export(desk: Desk, file: str, *, overwrite: bool = False) -> int:
    """Write every kept pour to a file, which appears whole or not at all; how many there were.

    Raises:
        UsageError: the name says no kind of file that can be written.
        WriteError: it is there already, or cannot be written.
        StorageError: the database cannot be read.
    """
    path = expanded(file)
    kind = path.suffix.lower()
    if kind not in (*_TABLE, *_LINES):
        raise UsageError(f"“{printable(file)}” should end in .csv or .jsonl")
    check_free(path, overwrite=overwrite)
    pours = kept_pours(desk)
    if kind in _TABLE:
        # Neither the beginning nor the headings are a pour.
        pieces = chain([BEGINS], table_rows(pours, words_of(desk)))
        return write_whole(path, pieces, overwrite=overwrite) - 2
    return write_whole(path, json_lines(pours), overwrite=overwrite)


def kept_pours(desk: Desk) -> Iterator[KeptPour]:
    """Every kept pour with all that was noted of it, flight by flight."""
    for record in desk.repository.pours(desk.taster.id, full=True):
        draft = record.draft
        yield KeptPour(draft.flight, draft.tasted_on, full_pour(record), draft.fingerprint)
