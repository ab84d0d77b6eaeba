"""What was read of a tasting before anything is kept: what was typed, and what it resolved to."""

from __future__ import annotations

import hashlib
import json
import unicodedata
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Named:
    """A wine as typed, and the key of the wine it stands for; None waits to be resolved."""

    text: str
    wine: str | None = None


NOTHING = Named("")
_LIST = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"))


@dataclass(frozen=True, slots=True)
class PourDraft:
    """One pour: what it was, the final call, and where given the first call and the runner-up.

    `row` is the row that a spreadsheet shows, `position` the place in the flight from 1.
    """

    row: int
    date: date | None
    flight: str
    position: int
    called: Named
    was: Named
    first: Named
    runner_up: Named
    note: str
    fingerprint: str


@dataclass(frozen=True, slots=True)
class Unresolved:
    """A name that no wine, or more than one, answers to; its pour is kept as typed."""

    row: int
    column: str
    text: str
    suggestions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Rejected:
    """A row that is left out, the column at fault as the file calls it, and why."""

    row: int
    column: str
    reason: str


@dataclass(frozen=True, slots=True)
class IntakeDraft:
    """All that one source holds. `digest` is the SHA-256 of its bytes, in hexadecimal."""

    source: str
    digest: str
    pours: tuple[PourDraft, ...]
    unresolved: tuple[Unresolved, ...] = ()
    rejected: tuple[Rejected, ...] = ()
    warnings: tuple[str, ...] = ()


def typed_content(
    day: date | None, flight: str, called: str, was: str, first: str, runner_up: str, note: str
) -> tuple[str, ...]:
    """What a pour says, whatever the case, the spacing, the encoding and the way of its date."""
    return (
        day.isoformat() if day else "",
        *(_even(text) for text in (flight, called, was, first, runner_up, note)),
    )


def fingerprint(content: tuple[str, ...], occurrence: int) -> str:
    """The SHA-256 of a pour's content; the `occurrence` tells equal rows of one file apart."""
    said = _LIST.encode([*content, occurrence])
    return hashlib.sha256(said.encode("utf-8", "surrogatepass")).hexdigest()


def _even(text: str) -> str:
    if not text.isascii():
        text = unicodedata.normalize("NFKC", text)
    return " ".join(text.casefold().split())
