"""What was read of a tasting before anything is kept: what was typed, and what it resolved to."""

from __future__ import annotations

import hashlib
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from json.encoder import encode_basestring
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from drills.tastings.notes import FullPour


@dataclass(frozen=True, slots=True)
class Named:
    """A wine as typed, and the key of the wine it stands for; None waits to be resolved."""

    text: str
    wine: str | None = None


NOTHING = Named("")


class PourDraft(NamedTuple):
    """One pour: what it was, the final call, and where given the first call and the runner-up.

    `row` is the row that a spreadsheet shows, `position` the place in the flight from 1. `full` is
    all that the row holds, where it holds more than names and a remark.
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
    full: FullPour | None = None


@dataclass(frozen=True, slots=True)
class Unresolved:
    """A name that no wine, or more than one, answers to; its pour is kept as typed."""

    row: int
    column: str
    text: str
    suggestions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Unread:
    """What of a note could not be read, and why; it is kept as typed among the other words."""

    row: int
    column: str
    text: str
    reason: str


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
    pours: Sequence[PourDraft]
    unresolved: Sequence[Unresolved] = ()
    rejected: Sequence[Rejected] = ()
    unread: Sequence[Unread] = ()
    warnings: Sequence[str] = ()


def typed_content(
    day: date | None, flight: str, called: str, was: str, first: str, runner_up: str, note: str
) -> tuple[str, ...]:
    """What a pour says, whatever the case, the spacing, the encoding and the way of its date."""
    return (
        day.isoformat() if day else "",
        *(even(text) for text in (flight, called, was, first, runner_up, note)),
    )


def fingerprint(content: Iterable[str], occurrence: int) -> str:
    """The SHA-256 of a pour's content; the `occurrence` tells equal rows of one file apart."""
    return digest_of(map(encode_basestring, content), occurrence)


def digest_of(quoted: Iterable[str], occurrence: int) -> str:
    """The fingerprint of a content whose texts stand as JSON writes them."""
    said = f"[{','.join(quoted)},{occurrence}]"
    return hashlib.sha256(said.encode("utf-8", "surrogatepass")).hexdigest()


def even(text: str) -> str:
    """A text whatever its case, its spacing and its way of writing accents."""
    if not text.isascii():
        text = unicodedata.normalize("NFKC", text)
    return " ".join(text.casefold().split())
