"""The draft of a flight that is being entered: kept after every change, gone once it is logged."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from threading import Lock

from drills.screens.tasting_sheet import FlightSheet
from drills.service.desk import Desk


class DraftKeeper:
    """Keeps one sheet. Calls may come from any thread; an older state never covers a later one."""

    def __init__(self, desk: Desk, sheet: FlightSheet, draft_id: int | None = None) -> None:
        self._desk = desk
        self._sheet = sheet
        self.draft_id = draft_id
        self._lock = Lock()
        self._taken = 0
        self._kept = 0
        self._content = ""
        self._shut = False

    def snapshot(self) -> tuple[int, str]:
        """The sheet as it is now, numbered; to be taken where the sheet is changed."""
        self._taken += 1
        return self._taken, json.dumps(self._sheet.to_plain(), ensure_ascii=False)

    def save(self, number: int, content: str) -> None:
        """Keep a snapshot unless a later one is kept already; StorageError."""
        with self._lock:
            if self._shut or number <= self._kept or content == self._content:
                return
            repository, taster = self._desk.repository, self._desk.taster
            self.draft_id = repository.save_draft(taster.id, content, self.draft_id)
            self._kept, self._content = number, content

    def shut(self) -> int | None:
        """Save nothing more: the flight is about to be logged. Returns the draft to drop."""
        with self._lock:
            self._shut = True
            return self.draft_id

    def reopen(self) -> None:
        """Go on saving: the flight could not be logged."""
        with self._lock:
            self._shut = False


@dataclass(frozen=True, slots=True)
class HalfEntered:
    """A flight that was left half entered."""

    draft_id: int
    sheet: FlightSheet
    saved_at: datetime


def half_entered(desk: Desk) -> list[HalfEntered]:
    """The flights that were left half entered, the latest first; StorageError.

    What another program wrote in a draft's place, and no sheet can be read from, is passed over.
    """
    found = []
    for draft in desk.repository.drafts(desk.taster.id):
        try:
            sheet = FlightSheet.from_plain(json.loads(draft.content))
        except ValueError:
            continue
        found.append(HalfEntered(draft.id, sheet, draft.saved_at))
    return found
