"""From the code of a glass to what was in it: filled sheets, and flights entered by code."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING

from drills.clock import study_day
from drills.errors import NotPossibleError
from drills.service.flight_showing import Contents, PlannedFlight, flight_name
from drills.service.planned_flights import (
    can_open,
    contents_of,
    find_record,
    is_own,
    mark_in,
    records_of,
    reveal_codes,
)
from drills.service.pours import full_pour
from drills.service.tasting import change_pour, log_flight
from drills.storage.planned_records import PlannedFlightRecord, PlannedPourRecord
from drills.tastings.beside import with_beside
from drills.tastings.coded import Poured
from drills.tastings.drafts import Named
from drills.tastings.notes import FullFlight, FullPour

if TYPE_CHECKING:
    from drills.service.desk import Desk

_SEALED = Named("sealed")
_LONGEST = 20


@dataclass(frozen=True, slots=True)
class KeptFlight:
    """The id of a flight in the log, and the glasses that were in the log before."""

    id: int
    known_codes: tuple[int, ...] = ()

    @property
    def sentence(self) -> str:
        """What became of what was typed for those glasses; empty where there are none."""
        if not self.known_codes:
            return ""
        codes = ", ".join(str(code) for code in self.known_codes)
        were = "Glass {} was" if len(self.known_codes) == 1 else "Glasses {} were"
        return f"{were.format(codes)} in the log already; what you typed was added there."


class PlannedKey:
    """The key of all flights that serve a taster; remembers of which glasses pours were read.

    With `shut` what was not revealed yet stays unsaid, as in a preview; `kept_shut` counts those.
    """

    def __init__(self, desk: Desk, *, shut: bool = False) -> None:
        self.kept_shut = 0
        self._desk = desk
        self._shut = shut
        self._found: dict[str, tuple[PlannedFlightRecord, PlannedPourRecord]] = {}
        self._poured: defaultdict[int, list[int]] = defaultdict(list)

    @cached_property
    def _records(self) -> list[PlannedFlightRecord]:
        return records_of(self._desk)

    def find(self, flight: str, code: str) -> Poured:
        """The glass of a code; ValueError says why there is none."""
        number = _number(flight, "is no number of a planned flight") if flight else None
        records = [one for one in self._records if number in (None, one.number)]
        if not records:
            raise ValueError(
                "no flight is planned here" if number is None else f"no flight {number} is planned"
            )
        wanted = _number(code, "is no code of a glass")
        found = [(one, pour) for one in records for pour in one.pours if pour.code == wanted]
        if not found:
            raise ValueError(
                f"no planned flight has a glass {wanted}"
                if number is None
                else f"flight {number} has no glass {wanted}{self._elsewhere(wanted)}"
            )
        if len(found) > 1:
            numbers = ", ".join(str(one.number) for one, _ in found)
            raise ValueError(
                f"a glass {wanted} is in the flights {numbers}; a column “flight number” says "
                "which is meant"
            )
        record, pour = found[0]
        self._check_whose(record)
        if not can_open(record, pour):
            raise ValueError(
                f"glass {pour.code} of flight {record.number} is sealed until “{record.planner}” "
                "reveals it; take the sheet in again then"
            )
        mark = mark_in(record, pour)
        self._found[mark] = (record, pour)
        name, day = flight_name(record.number), _day(self._desk, record)
        if self._shut and pour.revealed_at is None:
            return Poured(_SEALED, None, mark, name, day)
        held = contents_of(record, pour)
        return Poured(named(self._desk, held), held.vintage, mark, name, day)

    def _check_whose(self, record: PlannedFlightRecord) -> None:
        """Keep a helper from taking a taster's sheet in as their own."""
        served = {name for pour in record.pours for name in pour.places}
        folded = {name.casefold() for name in served}
        if self._desk.taster.name.casefold() not in folded and folded & self._tasters:
            names = ", ".join(sorted(served))
            raise ValueError(
                f"flight {record.number} was poured for {names}: say whose sheet this is with "
                "--taster NAME"
            )

    @cached_property
    def _tasters(self) -> set[str]:
        return {one.name.casefold() for one in self._desk.repository.tasters()}

    def _elsewhere(self, code: int) -> str:
        """Where a glass of this code is, if anywhere."""
        there = [
            str(one.number) for one in self._records if any(pour.code == code for pour in one.pours)
        ]
        return f"; flight {there[0]} has one" if there else ""

    def poured(self, mark: str) -> None:
        """A pour was read that has this mark; those of other tastings are passed over."""
        if mark in self._found:
            record, pour = self._found[mark]
            if is_own(self._desk, record):
                self._poured[record.number].append(pour.code)
            self.kept_shut += self._shut and pour.revealed_at is None

    def reveal(self) -> None:
        """Reveal every glass of which a pour was read; those revealed already stay as they are.

        A glass of another's flight opens for this taster with the pour itself.
        """
        for number, codes in self._poured.items():
            reveal_codes(self._desk, number, codes)


def named(desk: Desk, held: Contents) -> Named:
    """What was in a glass as a name and a wine; None for one that left the table since."""
    known = held.wine in desk.table.profiles
    return Named(held.text or desk.short(held.wine), held.wine if known else None)


def codes_to_taste(desk: Desk, flight: PlannedFlight) -> tuple[int, ...]:
    """The glasses of which this taster logged no pour yet, in their order.

    Raises:
        NotPossibleError: no such flight.
        StorageError: and its kinds.
    """
    record = find_record(desk, flight.number)
    marks = {pour.code: mark_in(record, pour) for pour in record.pours}
    known = desk.repository.known_pours(desk.taster.id)
    own = flight.in_order(flight.served_as(desk.taster.name))
    return tuple(glass.code for glass in own if marks[glass.code] not in known)


def open_glass(desk: Desk, number: int, code: int) -> Contents:
    """Reveal one glass and say what was in it; of another's flight only say it.

    Raises:
        NotPossibleError: no such flight or glass.
        StorageError: and its kinds.
    """
    record = find_record(desk, number)
    if not is_own(desk, record):
        pour = next((one for one in record.pours if one.code == code), None)
        if pour is None:
            raise NotPossibleError(f"flight {number} has no glass {code}")
        return contents_of(record, pour)
    flight = reveal_codes(desk, number, [code])
    held = next(glass.contents for glass in flight.glasses if glass.code == code)
    assert held is not None
    return held


def log_planned(
    desk: Desk,
    flight: FullFlight,
    number: int,
    codes: Mapping[int, int],
    *,
    draft_id: int | None = None,
) -> KeptFlight:
    """Keep a flight that was entered by code, each pour joined with its key.

    `codes` are the glasses by position; pours without one are kept as they are. What was typed for
    the identity of a glass stands. Glasses not revealed yet are revealed with it. A glass that came
    into the log meanwhile, from a sheet, stands as it is, and what was typed is added to it.

    Raises:
        StorageError: and its kinds; then the draft stays, and doing it again doubles nothing.
        NotPossibleError: no such flight or glass.
        UsageError: there is no pour in it.
    """
    record = find_record(desk, number)
    by_code = {pour.code: pour for pour in record.pours}
    known = desk.repository.known_pours(desk.taster.id)
    marks: dict[int, str] = {}
    pours: list[FullPour] = []
    again: dict[str, FullPour] = {}
    for pour in flight.pours:
        code = codes.get(pour.position)
        if code is None:
            pours.append(pour)
            continue
        if code not in by_code:
            raise NotPossibleError(f"flight {number} has no glass {code}")
        mark = mark_in(record, by_code[code])
        if mark in known:
            again[mark] = pour
            continue
        marks[pour.position] = mark
        if not pour.reveal.text:
            held = contents_of(record, by_code[code])
            pour = replace(pour, reveal=named(desk, held), reveal_vintage=held.vintage)
        pours.append(pour)
    there = _add_to_log(desk, again)
    if pours or there is None:
        left = replace(flight, pours=tuple(pours))
        there = log_flight(desk, left, draft_id=draft_id, marks=marks)
    elif draft_id is not None:
        desk.repository.drop_draft(draft_id)
    if is_own(desk, record):
        reveal_codes(desk, number, _poured_codes(codes, marks))
    return KeptFlight(there, tuple(codes[pour.position] for pour in again.values()))


def _add_to_log(desk: Desk, again: Mapping[str, FullPour]) -> int | None:
    """Add what was typed to pours of the log, by their marks; return the flight of the last.

    Done twice it changes nothing more.
    """
    flight = None
    if again:
        for row in desk.repository.pours(desk.taster.id, full=True):
            if (typed := again.get(row.draft.fingerprint)) is not None:
                kept = full_pour(row)
                if (joined := with_beside(kept, typed)) != kept:
                    change_pour(desk, row.id, joined)
                flight = row.flight_id
    return flight


def _poured_codes(codes: Mapping[int, int], marks: Mapping[int, str]) -> Sequence[int]:
    return [code for position, code in codes.items() if position in marks]


def _day(desk: Desk, record: PlannedFlightRecord) -> date:
    """The day on which the first glass was revealed, else today."""
    first = record.first_revealed
    return date.fromordinal(study_day(first) if first else desk.clock.today())


def _number(text: str, wrong: str) -> int:
    # A code may be written in parts: “6 40”.
    said = "".join(text.strip().lstrip("#").split())
    if not (said.isascii() and said.isdecimal() and len(said) < _LONGEST):
        raise ValueError(f"“{text[:_LONGEST]}” {wrong}")
    return int(said)
