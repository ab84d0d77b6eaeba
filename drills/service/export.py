"""All tastings as one file: CSV for spreadsheets, JSON Lines for programs."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import suppress
from typing import TYPE_CHECKING

from drills.errors import DrillsError, UsageError
from drills.paths import expanded
from drills.service.intake import words_of
from drills.service.pours import full_pour
from drills.tastings.cells import printable
from drills.tastings.export import KeptPour, json_lines, table_rows

if TYPE_CHECKING:
    from drills.service.desk import Desk

_TABLE, _LINES = (".csv",), (".jsonl", ".ndjson")
# Spreadsheets take a file that begins so for UTF-8; others pass over it.
_BEGINS = "\ufeff"


class ExportError(DrillsError):
    """The file cannot be written."""


def export(desk: Desk, file: str, *, overwrite: bool = False) -> int:
    """Write every kept pour to a file, which appears whole or not at all; how many there were.

    Raises:
        UsageError: the name says no kind of file that can be written.
        ExportError: it is there already, or cannot be written.
        StorageError: the database cannot be read.
    """
    path = expanded(file)
    kind = path.suffix.lower()
    if kind not in (*_TABLE, *_LINES):
        raise UsageError(f"“{printable(file)}” should end in .csv or .jsonl")
    shown = printable(str(path))
    if path.exists() and not overwrite:
        raise ExportError(f"“{shown}” is there already; --force writes over it")
    pours = kept_pours(desk)
    pieces = table_rows(pours, words_of(desk)) if kind in _TABLE else json_lines(pours)
    beside = path.with_name(f".{path.name[:60]}.{os.getpid()}.part")
    number = 0
    try:
        with beside.open("x", encoding="utf-8", newline="") as stream:
            if kind in _TABLE:
                stream.write(_BEGINS)
            for piece in pieces:
                stream.write(piece)
                number += 1
            stream.flush()
            os.fsync(stream.fileno())
        beside.replace(path)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise ExportError(f"“{shown}” cannot be written: {why}") from None
    finally:
        # Gone already where all went well.
        with suppress(OSError, ValueError):
            beside.unlink()
    return number - 1 if kind in _TABLE else number


def kept_pours(desk: Desk) -> Iterator[KeptPour]:
    """Every kept pour with all that was noted of it, flight by flight."""
    for record in desk.repository.pours(desk.taster.id, full=True):
        draft = record.draft
        yield KeptPour(draft.flight, draft.tasted_on, full_pour(record), draft.fingerprint)
