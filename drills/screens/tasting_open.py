"""A flight that lies open: begun anew, taken up again, or planned and tasted by code."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from drills.errors import DrillsError
from drills.screens.tasting_draft import DraftKeeper, HalfEntered, half_entered
from drills.screens.tasting_reader import Fault, SheetReader
from drills.screens.tasting_sheet import FlightSheet, PourSheet, usual_minutes
from drills.service.completing import WineBook, WordBook
from drills.service.desk import Desk

if TYPE_CHECKING:
    from drills.service.flight_showing import PlannedFlight
    from drills.service.glasses import KeptFlight


class OpenFlight:
    """A flight that is being entered, with all that its screens need to read it."""

    def __init__(self, desk: Desk, sheet: FlightSheet, draft_id: int | None = None) -> None:
        self.desk = desk
        self.sheet = sheet
        self.keeper = DraftKeeper(desk, sheet, draft_id)

    @classmethod
    def resumed(cls, desk: Desk, half: HalfEntered) -> OpenFlight:
        """A flight that was left half entered."""
        return cls(desk, half.sheet, half.draft_id)

    @classmethod
    def planned(cls, desk: Desk, flight: PlannedFlight) -> OpenFlight | None:
        """A planned flight: as it was left, else blank pages for the glasses not in the log yet.

        None where every glass is in the log.

        Raises:
            NotPossibleError: no such flight.
            StorageError: and its kinds.
        """
        from drills.service.glasses import codes_to_taste

        for half in half_entered(desk):
            if half.sheet.planned == flight.number:
                return cls.resumed(desk, half)
        # A glass is logged once, so what is logged is not asked for again.
        codes = codes_to_taste(desk, flight)
        if not codes:
            return None
        sheet = FlightSheet(
            name=flight.name,
            tasted_on=desk.clock.now().astimezone().date(),
            pours=[PourSheet(code=code) for code in codes],
            minutes=float(usual_minutes(len(codes))),
            planned=flight.number,
        )
        return cls(desk, sheet)

    @cached_property
    def words(self) -> WordBook:
        """The lexicon as tasters write it."""
        return WordBook(self.desk.table.lexicon)

    @cached_property
    def wines(self) -> WineBook:
        """The names of wines."""
        return WineBook(self.desk.table, self.desk.names)

    @cached_property
    def reader(self) -> SheetReader:
        """What makes full pours of the sheet."""
        return SheetReader(self.words, self.wines, self.this_year)

    @cached_property
    def this_year(self) -> int:
        """The year of the wall clock."""
        return self.desk.clock.now().astimezone().year

    def faults(self) -> list[Fault]:
        """The lines that cannot be read."""
        return self.reader.faults(self.sheet)

    def reveal(self, pour: PourSheet) -> None:
        """Open the reveal of a pour; the key says what the glass of a planned flight held.

        Raises:
            NotPossibleError, StorageError: nobody can say what it held; the reveal stays shut.
        """
        from drills.service.glasses import named, open_glass

        if self.sheet.planned is not None and pour.code is not None:
            held = open_glass(self.desk, self.sheet.planned, pour.code)
            was = named(self.desk, held)
            pour.write("was", was.text, was.wine)
            pour.type("was-vintage", str(held.vintage or ""))
            pour.type("price", "" if held.price is None else f"{held.price:g}")
        pour.opened, pour.skipped = True, not pour.called

    def log(self) -> KeptFlight:
        """Keep the flight for good in place of its draft.

        Raises:
            NotPossibleError: the planned flight, or a glass of it, is not there.
            UsageError: there is no pour in it.
            StorageError: and its kinds. Whatever is raised, the draft stays.
        """
        from drills.service.glasses import KeptFlight, log_planned
        from drills.service.tasting import log_flight

        draft = self.keeper.shut()
        sheet = self.sheet
        full = self.reader.flight(sheet)
        try:
            if sheet.planned is None:
                return KeptFlight(log_flight(self.desk, full, draft_id=draft))
            return log_planned(self.desk, full, sheet.planned, sheet.codes, draft_id=draft)
        except DrillsError:
            self.keeper.reopen()
            raise
