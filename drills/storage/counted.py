"""What the database counts and sums up: plain frozen records, as those of `records`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from drills.storage.records import Truth


@dataclass(frozen=True, slots=True)
class ReadingCount:
    """How often a cue was read so in pours of one wine."""

    wine: str
    attribute: str
    reading: str
    times: int


@dataclass(frozen=True, slots=True)
class AlcoholCount:
    """How often an alcohol was called, the label saying another or the same, % vol."""

    wine: str | None
    called: float
    label: float
    times: int


@dataclass(frozen=True, slots=True)
class PairRating:
    """So many answers to *which glass?* on a pair, with one truth, outcome and sureness."""

    wine_a: str
    wine_b: str
    truth: Truth
    correct: bool
    sureness: int
    times: int


@dataclass(frozen=True, slots=True)
class FormCount:
    """So many answers to one form, with one outcome and sureness."""

    form: str
    correct: bool
    sureness: int
    times: int


@dataclass(frozen=True, slots=True)
class TimedAnswer:
    """When an answer was given, and when its drill began."""

    day: int
    drill_id: int
    began_at: datetime
    answered_at: datetime


@dataclass(frozen=True, slots=True)
class CallChange:
    """Pours by whether the first call was right and whether the final one was.

    `lost` had a right first call and a wrong final one, `gained` the other way round.
    """

    both_right: int
    lost: int
    gained: int
    both_wrong: int


@dataclass(frozen=True, slots=True)
class PairPour:
    """A pour of one of two wines that was called one of the two."""

    id: int
    flight: str
    tasted_on: date | None
    was: str
    called: str


@dataclass(frozen=True, slots=True)
class ContrastScore:
    """How often a contrast was answered since its answer last turned, and how often wrongly."""

    contrast_id: int
    answers: int
    wrong: int
