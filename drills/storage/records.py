"""What goes into storage and comes out of it: plain frozen records, never rows of a session.

Imports nothing of the database, so that screens and pure modules may use these cheaply. Times are
aware UTC datetimes. A `day` is a study day as `date.toordinal()`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from random import SystemRandom
from typing import Literal, NamedTuple

Truth = Literal["a", "b"]

# As `secrets` draws, whose import takes longer than all else here.
_CHANCE = SystemRandom()


@dataclass(frozen=True, slots=True)
class TasterRecord:
    """Who answers and tastes; one database may hold several.

    `login` is the role on a server that is theirs alone; `shares` is whether their confusions may
    be counted with others'.
    """

    id: int
    name: str
    made_at: datetime
    login: str | None = None
    shares: bool = False


class GroupConfusion(NamedTuple):
    """How often tasters who share called one wine another.

    `tasters` is how many of them did, `poured` how often the wine was poured for any of them.
    """

    called: str
    was: str
    tasters: int
    times: int
    poured: int


@dataclass(frozen=True, slots=True)
class ContrastRecord:
    """One contrast of a pair as storage keeps it."""

    id: int  # stable, positive, below 2**63
    wine_a: str  # key of the wine; sorts before wine_b
    wine_b: str
    cues: str  # joined by "+": "acid+petrol"
    sides: int  # which wines it can be asked for: 1 only a, 2 only b, 3 both
    bearing: str  # which way each cue points; another text means the answer turned
    rank: int  # order of introduction, over all pairs
    strength: float  # joint weight, in decibans
    retired_at: datetime | None = None
    turned_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class MemoryRecord:
    """What a taster's memory of one contrast is thought to be."""

    taster_id: int
    contrast_id: int
    stability: float  # days
    difficulty: float  # the memory model's own scale
    last_day: int
    due_day: int
    answers: int
    slips: int
    last_at: datetime


@dataclass(frozen=True, slots=True)
class QueueRow:
    """A contrast that could be shown next; `memory` is None while it is unseen."""

    contrast: ContrastRecord
    memory: MemoryRecord | None


class PlanRow(NamedTuple):
    """What planning needs of one contrast; the last three are None while it is unseen."""

    contrast_id: int
    wine_a: str
    wine_b: str
    cues: str
    stability: float | None
    difficulty: float | None
    last_day: int | None


@dataclass(frozen=True, slots=True)
class Counts:
    """How many contrasts wait, of each kind; an urgent one may be due or unseen as well."""

    urgent: int
    due: int
    unseen: int


@dataclass(frozen=True, slots=True)
class DrillRecord:
    """One sitting of answering."""

    id: int
    taster_id: int
    began_at: datetime
    ended_at: datetime | None
    planned_seconds: int
    note: str


@dataclass(frozen=True, slots=True)
class AnswerRecord:
    """One answer; `id` and `undone_at` are storage's to give.

    `receipt` is the number by which an answer is known again, the same at every try to keep it.
    """

    taster_id: int
    contrast_id: int
    drill_id: int
    answered_at: datetime
    day: int
    form: str
    swapped: bool  # wine_a stood on the right
    truth: Truth  # the wine that the shown cues pointed to
    given: str
    correct: bool
    sureness: int  # 1 guess, 2 leaning, 3 sure
    seconds: float
    grade: int  # 1 to 4, on the program's own scale
    counts: bool  # False for the check of a slip inside the same drill
    id: int | None = None
    undone_at: datetime | None = None
    receipt: int | None = None


@dataclass(frozen=True, slots=True)
class SideCounts:
    """How often the truth lately was wine a or b, and stood left or right."""

    a: int
    b: int
    left: int
    right: int


@dataclass(frozen=True, slots=True)
class IntakeDraft:
    """Where a set of pours came from: a file's name or "typed", and the digest of its content."""

    source: str
    digest: str
    made_at: datetime


@dataclass(frozen=True, slots=True)
class ObservationRow:
    """One thing noted of a pour.

    `attribute` is the cue, empty for a word that no cue answers to. `reading` is a level's label,
    a number, a hue, or "yes" and "no" for a descriptor. `typed` is what was typed where that was
    not the reading itself.
    """

    attribute: str
    reading: str
    typed: str = ""


@dataclass(frozen=True, slots=True)
class CandidateRow:
    """A wine that was considered; `struck` is why it was struck off, empty while it stands."""

    text: str
    wine: str | None = None
    struck: str = ""


@dataclass(frozen=True, slots=True)
class PourDraft:
    """One wine of a tasting, as typed and as resolved; `fingerprint` tells it from every other.

    `note` is the taster's remark. Observations and candidates, in their order, are there where they
    were given or asked for.
    """

    flight: str
    tasted_on: date | None
    position: int
    fingerprint: str
    called_text: str = ""
    called_wine: str | None = None
    was_text: str = ""
    was_wine: str | None = None
    first_text: str = ""
    first_wine: str | None = None
    runner_text: str = ""
    runner_wine: str | None = None
    note: str = ""
    called_vintage: int | None = None
    was_vintage: int | None = None
    first_vintage: int | None = None
    called_sureness: int | None = None  # 1 guess, 2 leaning, 3 sure
    first_sureness: int | None = None
    label_alcohol: float | None = None  # % vol
    seconds: float | None = None
    price: str = ""
    world: str = ""
    climate: str = ""
    age: str = ""
    appearance: str = ""
    nose: str = ""
    palate: str = ""
    observations: tuple[ObservationRow, ...] = ()
    candidates: tuple[CandidateRow, ...] = ()


@dataclass(frozen=True, slots=True)
class PourRecord:
    """A kept pour with its flight."""

    id: int
    flight_id: int
    intake_id: int | None
    logged_at: datetime
    draft: PourDraft


@dataclass(frozen=True, slots=True)
class FlightRecord:
    """A tasting and how many pours of it are kept."""

    id: int
    name: str
    tasted_on: date | None
    pours: int


@dataclass(frozen=True, slots=True)
class IntakeOutcome:
    """What an intake changed; `intake_id` is None where every pour was known already."""

    intake_id: int | None
    added: int
    already_known: int


@dataclass(frozen=True, slots=True)
class IntakeRecord:
    """An intake that added pours."""

    id: int
    source: str
    digest: str
    made_at: datetime
    pours: int
    undone_at: datetime | None


@dataclass(frozen=True, slots=True)
class ConfusionRow:
    """A pour whose final call was another wine; both are known."""

    called: str
    was: str
    tasted_on: date | None
    logged_at: datetime


@dataclass(frozen=True, slots=True)
class RevealRow:
    """A pour whose identity is known; `called` is None where no call was made or understood."""

    was: str
    called: str | None
    tasted_on: date | None


@dataclass(frozen=True, slots=True)
class ChangeRecord:
    """What a field of a pour held before an edit, and after; None for nothing."""

    pour_id: int
    changed_at: datetime
    field: str
    before: str | None
    after: str | None


@dataclass(frozen=True, slots=True)
class DraftRecord:
    """A half-entered flight, as JSON."""

    id: int
    content: str
    saved_at: datetime


@dataclass(frozen=True, slots=True)
class OwnNameRecord:
    """A name as a taster types it, and the wine they mean by it."""

    text: str
    wine: str
    made_at: datetime


class DaySlip(NamedTuple):
    """A card answered wrong: its contrast, the pair, which wine it was, whether it came back."""

    contrast_id: int
    wine_a: str
    wine_b: str
    truth: str
    checked: bool


class CardTime(NamedTuple):
    """An answer as a time: its form, its own seconds, when it was given, and its drill."""

    form: str
    seconds: float
    answered_at: datetime
    drill_id: int
    began_at: datetime


def new_receipt() -> int:
    """A number by which an answer is known again, however often keeping it is tried."""
    return _CHANCE.getrandbits(62) + 1
