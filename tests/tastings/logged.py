"""Flights and files as tests keep them in a log."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from cards.scale import Level
from drills.service.desk import Desk
from drills.service.export import kept_pours
from drills.service.intake import Taken, read, take_in
from drills.tastings.drafts import Named
from drills.tastings.export import KeptPour
from drills.tastings.notes import Candidate, FullFlight, FullPour, Note, Verdict

SANCERRE, MARLBOROUGH = "sauvignon-sancerre", "sauvignon-marlborough"
DAY = date(2026, 3, 1)


def pour(position: int = 1, called: str | None = MARLBOROUGH, **changes: Any) -> FullPour:
    """A pour with something in every field, a Sancerre; `changes` by field."""
    values: dict[str, Any] = {
        "note": Note(
            {"acid": Level.MED, "alcohol": 13.5, "passion-fruit": True, "petrol": False},
            free=("zesty",),
            nose="passion fruit, no petrol",
            typed={"passion-fruit": "maracuja"},
        ),
        "candidates": (Candidate("Sancerre", SANCERRE, "too ripe"), Candidate("Steen?")),
        "first": Verdict("Sancerre", SANCERRE, 2021, 1),
        "final": Verdict("Marlborough", called, 2022, 3),
        "runner_up": Named("Rueda"),
        "reveal": Named("Sancerre", SANCERRE),
        "reveal_vintage": 2020,
        "label_alcohol": 13.0,
        "price": "18 €",
        "seconds": 201.5,
        "remark": "corked?",
    }
    return FullPour(position, **(values | changes))


def flight(*entered: FullPour, name: str = "Club", day: date | None = DAY) -> FullFlight:
    """A flight of these pours, of one without any."""
    return FullFlight(name, day, entered or (pour(),))


def peppery(number: int, heard: bool) -> FullPour:
    """A Northern Rhône Syrah, its pepper noted or said not to be there, its alcohol too high."""
    note = Note({"black-pepper": heard, "acid": Level.LOW, "alcohol": 14.5})
    wine = "syrah-northern-rhone"
    return FullPour(
        number, note, final=Verdict("x", wine), reveal=Named("x", wine), label_alcohol=13.0
    )


def full_flight() -> FullFlight:
    """A flight with everything in it, as the tasting screen would keep it."""
    note = Note(
        {"acid": Level.HIGH, "alcohol": 13.5, "petrol": False, "lemon": True, "hue": "straw"},
        free=("like rain; on stone", "=1+1"),
        nose="lemon, later\nhay",
        world="old",
        typed={"acid": "sharp!", "lemon": "citron"},
    )
    first = FullPour(
        1,
        note,
        (Candidate("Chablis", "chardonnay-chablis", "no [flint]"), Candidate("Steen?")),
        Verdict("Sancerre", SANCERRE, 2021, 1),
        Verdict("Marlborough", MARLBOROUGH, 2022, 3),
        Named("Rueda"),
        Named("Sancerre", SANCERRE),
        2020,
        13.0,
        "=25.00",
        95.125,
        " well; \n- then",
    )
    return FullFlight("  Tues; day", date(2025, 5, 3), (first, FullPour(2, remark="no call")))


def taken(desk: Desk, file: Path, *, dry_run: bool = False) -> Taken:
    """Take a file in, or only look at it."""
    with read(desk, str(file)) as intake:
        return take_in(desk, intake, dry_run=dry_run)


def log(desk: Desk) -> list[KeptPour]:
    """All pours that are kept, by fingerprint."""
    return sorted(kept_pours(desk), key=lambda one: one.fingerprint)
