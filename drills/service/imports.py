"""Earlier imports: list them, and take one back whole."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drills.errors import NotPossibleError
from drills.storage.records import IntakeRecord

if TYPE_CHECKING:
    from drills.service.desk import Desk

MOST_LISTED = 500


def imports(desk: Desk) -> list[IntakeRecord]:
    """The latest imports, newest first, those that were taken back among them."""
    return desk.repository.intakes(desk.taster.id, MOST_LISTED)


def take_back(desk: Desk, number: int) -> tuple[IntakeRecord, int]:
    """Take an import's pours out again; the import, and how many pours went.

    Raises:
        NotPossibleError: there is no such import of this taster, or it was taken back already.
    """
    found = next((one for one in imports(desk) if one.id == number), None)
    if found is None:
        raise NotPossibleError(f"there is no import {number}; --list shows them")
    if found.undone_at is not None:
        raise NotPossibleError(f"import {number} was taken back already")
    return found, desk.repository.undo_intake(number)


def imports_json(found: list[IntakeRecord]) -> list[dict[str, Any]]:
    """`[{import, source, made_at, pours, undone_at}]`, newest first."""
    return [
        {
            "import": one.id,
            "source": one.source,
            "made_at": one.made_at.isoformat(),
            "pours": one.pours,
            "undone_at": None if one.undone_at is None else one.undone_at.isoformat(),
        }
        for one in found
    ]


def taken_back_json(which: IntakeRecord, gone: int) -> dict[str, Any]:
    """`{import, source, pours}`: what was taken back, and how many pours went."""
    return {"import": which.id, "source": which.source, "pours": gone}
