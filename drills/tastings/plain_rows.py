"""Rows that are whole pours already: what `FullPour.to_plain` gave, in JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date
from typing import Any

from drills.tastings.marks import Mark, check_of_object, read_mark
from drills.tastings.notes import FullPour, Note, Plain

FLIGHT, TASTED_ON, MARK = "flight", "tasted_on", "mark"
_KNOWN = frozenset({*(field.name for field in fields(FullPour)), FLIGHT, TASTED_ON, MARK})
_NOTED = frozenset(field.name for field in fields(Note))


@dataclass(frozen=True, slots=True)
class PlainRow:
    """A pour as it stands in the source, with its flight.

    `mark` is there where the program wrote the row and nobody edited it.
    """

    number: int
    flight: str
    day: date | None
    pour: FullPour
    mark: Mark | None


def plain_pour(flight: str, day: date | None, pour: FullPour, fingerprint: str) -> Plain:
    """A pour with its flight and its mark as JSON can hold it."""
    plain: Plain = {}
    if flight:
        plain[FLIGHT] = flight
    if day is not None:
        plain[TASTED_ON] = day.isoformat()
    plain |= pour.to_plain()
    return plain | {MARK: str(Mark(fingerprint, check_of_object(plain)))}


def read_plain(number: int, content: Mapping[str, Any]) -> PlainRow | None:
    """The pour that an object is, None where it is anything but a plain pour."""
    mark = read_mark(content.get(MARK))
    if mark is not None and mark.check != check_of_object(content):
        mark = None
    note = content.get("note", {})
    if (
        not content.keys() <= _KNOWN
        or not isinstance(note, dict)
        or not note.keys() <= _NOTED
        or not (mark or any(isinstance(content.get(name), dict) for name in ("final", "reveal")))
    ):
        return None
    flight, day = content.get(FLIGHT, ""), content.get(TASTED_ON)
    try:
        pour = FullPour.from_plain(content)
        tasted_on = None if day is None else date.fromisoformat(day)
    except (ValueError, TypeError):
        return None
    if not isinstance(flight, str):
        return None
    return PlainRow(number, flight, tasted_on, pour, mark)
