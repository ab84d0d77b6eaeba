"""What goes into storage and comes out of it of a cellar and of planned flights: frozen records.

Imports nothing of the database. Times are aware UTC datetimes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class StockRow:
    """A wine in a taster's cellar: its name as typed, the wine it means (None waits), what is left.

    `price` of one bottle, in whatever money the taster keeps the list in; `id` is storage's to
    give.
    """

    text: str
    wine: str | None = None
    vintage: int | None = None
    price: float | None = None
    bottles: int = 1
    note: str = ""
    id: int | None = None


@dataclass(frozen=True, slots=True)
class StockChangeRecord:
    """A change of a cellar: when, why, and how many rows it touched."""

    id: int
    changed_at: datetime
    why: str
    rows: int


@dataclass(frozen=True, slots=True)
class Place:
    """Where a glass stands in one taster's order, from 1, and in which sitting, from 1."""

    sitting: int
    position: int


@dataclass(frozen=True, slots=True)
class PlannedPourDraft:
    """A glass to be poured: its code, its sealed identity, and its place for every taster."""

    code: int
    sealed: str
    places: Mapping[str, Place]


@dataclass(frozen=True, slots=True)
class PlannedPourRecord:
    """A glass of a planned flight; `wine` and `revealed_at` are None until it is revealed.

    Where a server keeps the key to itself, `mark` is what tells a pour of this glass from every
    other, and `told` its wine once its planner has revealed it; `sealed` is empty then.
    """

    id: int
    code: int
    sealed: str
    wine: str | None
    revealed_at: datetime | None
    places: Mapping[str, Place]
    mark: str = ""
    told: str | None = None


@dataclass(frozen=True, slots=True)
class PlannedFlightDraft:
    """A flight to be planned: its seed, its seal, what was asked (JSON), and its glasses."""

    seed: int
    seal: str
    asked: str
    pours: Sequence[PlannedPourDraft]


@dataclass(frozen=True, slots=True)
class PlannedFlightRecord:
    """A planned flight. `state` is planned, poured (some glasses revealed) or done (all).

    `planner` is the name of the taster who planned it, `first_revealed` when they opened its first
    glass. `seal` is empty where a server keeps the key to itself.
    """

    id: int
    number: int
    made_at: datetime
    seed: int
    state: str
    seal: str
    asked: str
    planner: str
    pours: tuple[PlannedPourRecord, ...]
    first_revealed: datetime | None = None


@dataclass(frozen=True, slots=True)
class Reveal:
    """One glass to be revealed: the wine, and the row of the cellar its bottle came from."""

    pour_id: int
    wine: str
    stock_id: int | None = None
