"""Tastings: keep a flight, correct a pour, debrief it, and say how the taster reads."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from weakref import WeakKeyDictionary

from cards.cellar import Cellar
from cards.contrasts import ordered_pair
from cards.naming.folding import words
from drills.errors import NotPossibleError, UsageError
from drills.service.desk import Desk
from drills.service.pours import fingerprint_of, full_pour, pour_draft, read_observations
from drills.service.senses import keep_not_smelt
from drills.storage.records import FlightRecord, ObservationRow, PourDraft, PourRecord
from drills.tastings.cells import printable
from drills.tastings.debrief import Debrief, NoDebrief, debrief
from drills.tastings.notes import FullFlight, FullPour
from drills.tastings.reading import LATEST, PersonalReading, ReadCount, personal_reading

_SHOWN = 5


@dataclass(frozen=True, slots=True)
class DebriefedPour:
    """A pour with its debrief; `debrief` is None where there is none, and `reason` says why.

    `pour_id` is None for a pour that is not kept yet.
    """

    pour: FullPour
    debrief: Debrief | None
    reason: str = ""
    pour_id: int | None = None


@dataclass(frozen=True, slots=True)
class DebriefedFlight:
    """A kept flight with the debriefs of its pours, in the order of tasting."""

    flight: FlightRecord
    pours: tuple[DebriefedPour, ...]


# ---- keeping


def log_flight(
    desk: Desk,
    flight: FullFlight,
    *,
    draft_id: int | None = None,
    marks: Mapping[int, str] | None = None,
) -> int:
    """Keep a flight as it was entered and drop its draft, both or neither; return its id.

    `marks` are the fingerprints of pours, by position, that are known by something else than by
    what was typed, as the glass they were in.

    Pairs that were mixed up come to the head of the next drill. A second flight of one name and day
    gets a number behind its name, for the two are told apart by nothing else.

    Raises:
        StorageError: and its kinds; then nothing is kept and the draft stays.
        UsageError: there is no pour in it.
    """
    if not flight.pours:
        raise UsageError("a flight without a pour cannot be kept")
    repository, taster = desk.repository, desk.taster.id
    name = _free_name(desk, flight.name, flight.tasted_on)
    known = repository.known_pours(taster)
    drafts: list[PourDraft] = []
    seen: Counter[str] = Counter()
    for pour in flight.pours:
        mark = (marks or {}).get(pour.position)
        if mark is None:
            mark = _free_mark(pour, name, flight.tasted_on, seen, known)
        drafts.append(pour_draft(pour, flight=name, tasted_on=flight.tasted_on, fingerprint=mark))
    desk.ensure_pairs(_confused(desk, drafts))
    return repository.record_flight(taster, name, flight.tasted_on, drafts, draft_id=draft_id)


def change_pour(desk: Desk, pour_id: int, pour: FullPour) -> PourRecord:
    """Correct a kept pour, or reveal it later; what it held before stays in its history.

    Raises:
        StorageError: no such pour.
    """
    after = pour_draft(pour, flight="", tasted_on=None, fingerprint="")
    desk.ensure_pairs(_confused(desk, [after]))
    return desk.repository.change_pour(pour_id, after)


def remember_name(desk: Desk, text: str, wine: str) -> int:
    """Keep what this taster means by a name, and resolve the pours that wait for it.

    Other spellings of the name that wait (case, accents, spaces) are resolved with it, and pairs
    that prove to be mixed up come to the head of the next drill. Returns how many pours it
    resolved.

    Raises:
        UsageError: the name says nothing.
        NotPossibleError: the table has no such wine.
    """
    folded = "".join(words(text))
    if not folded:
        raise UsageError(f"“{printable(text)}” is no name")
    if wine not in desk.table.profiles:
        raise NotPossibleError(f"the table has no wine “{printable(wine)}”")
    repository, taster = desk.repository, desk.taster.id
    spellings = {
        other for other in repository.waiting_names(taster) if "".join(words(other)) == folded
    } | {text}
    resolved = [
        replace(
            one.draft,
            called_wine=_meant(one.draft.called_text, one.draft.called_wine, spellings, wine),
            was_wine=_meant(one.draft.was_text, one.draft.was_wine, spellings, wine),
        )
        for one in repository.unresolved(taster)
    ]
    desk.ensure_pairs(pair for pair in _confused(desk, resolved) if wine in pair)
    count = repository.remember_name(taster, text, wine, sorted(spellings - {text}))
    desk.__dict__.pop("names", None)
    return count


def _meant(text: str, known: str | None, spellings: Container[str], wine: str) -> str | None:
    return wine if known is None and text in spellings else known


def _free_mark(
    pour: FullPour, flight: str, tasted_on: date | None, seen: Counter[str], known: Container[str]
) -> str:
    """A fingerprint that no kept pour has, and no pour of this flight before."""
    first = fingerprint_of(pour, flight, tasted_on)
    while True:
        seen[first] += 1
        mark = fingerprint_of(pour, flight, tasted_on, seen[first])
        if mark not in known:
            return mark


def _free_name(desk: Desk, name: str, tasted_on: date | None) -> str:
    taken = desk.repository.flight_names(desk.taster.id, tasted_on)
    if name not in taken:
        return name
    number = 2
    while (numbered := f"{name} ({number})".strip()) in taken:
        number += 1
    return numbered


def _confused(desk: Desk, drafts: Iterable[PourDraft]) -> list[tuple[str, str]]:
    known = desk.table.profiles.keys()
    return sorted(
        {
            ordered_pair(one.called_wine, one.was_wine)
            for one in drafts
            if one.called_wine in known and one.was_wine in known
            if one.called_wine is not None and one.was_wine is not None
            if one.called_wine != one.was_wine
        }
    )


# ---- the taster's own reading


@dataclass(frozen=True, slots=True)
class _Known:
    """A reading with the state of the log and of the table that it was made from."""

    state: tuple[object, ...]
    reading: PersonalReading
    cellar: Cellar


_KNOWN: WeakKeyDictionary[Desk, _Known] = WeakKeyDictionary()


def reading(desk: Desk) -> PersonalReading:
    """How this taster reads, from the pours of the log; made anew only when the log has changed."""
    return _known(desk).reading


def _known(desk: Desk) -> _Known:
    state = (desk.table.fingerprint, desk.repository.log_state(desk.taster.id))
    known = _KNOWN.get(desk)
    if known is None or known.state != state:
        found = read_log(desk)
        known = _Known(state, found, Cellar(desk.table, found.reader))
        _KNOWN[desk] = known
        smells = (word for one in found.not_smelt for word in one.smell.descriptors)
        keep_not_smelt(desk, smells)
    return known


def read_log(desk: Desk) -> PersonalReading:
    """How this taster reads, estimated now."""
    repository, taster = desk.repository, desk.taster.id
    readings = [
        ReadCount(one.wine, one.attribute, value, one.times)
        for one in repository.reading_counts(taster, LATEST)
        for value in read_observations([ObservationRow(one.attribute, one.reading)]).values()
    ]
    return personal_reading(
        desk.table,
        readings,
        repository.noted_pours(taster, LATEST),
        [(one.called, one.label, one.times) for one in repository.alcohol_counts(taster, LATEST)],
    )


# ---- debriefs


def debrief_pours(desk: Desk, pours: Sequence[FullPour]) -> list[DebriefedPour]:
    """Debrief pours, kept or just entered, as this taster reads."""
    known = _known(desk)
    found = []
    for pour in pours:
        try:
            found.append(DebriefedPour(pour, debrief(pour, known.cellar, known.reading.reader)))
        except NoDebrief as error:
            found.append(DebriefedPour(pour, None, str(error)))
    return found


def debrief_flight(desk: Desk, flight: FlightRecord) -> DebriefedFlight:
    """Debrief every pour of a kept flight."""
    kept = desk.repository.pours(desk.taster.id, flight.id, full=True)
    found = debrief_pours(desk, [full_pour(one) for one in kept])
    return DebriefedFlight(
        flight,
        tuple(replace(one, pour_id=row.id) for one, row in zip(found, kept, strict=True)),
    )


def find_flight(desk: Desk, wanted: str | None = None) -> FlightRecord:
    """A kept flight by name, date (2026-03-14) or number; the newest where none is said.

    Raises:
        NotPossibleError: no flight is kept, or none answers to what was said.
    """
    flights = desk.repository.flights(desk.taster.id, limit=10**9)
    if not flights:
        raise NotPossibleError("no tasting is logged yet")
    if wanted is None:
        return flights[0]
    said = " ".join(wanted.split()).casefold()
    for answers in (
        lambda one: " ".join(one.name.split()).casefold() == said,
        lambda one: one.tasted_on is not None and one.tasted_on.isoformat() == said,
        lambda one: str(one.id) == said,
    ):
        # Newest first, so of several the newest is meant.
        if (found := next(filter(answers, flights), None)) is not None:
            return found
    latest = "; ".join(flight_words(one) for one in flights[:_SHOWN])
    raise NotPossibleError(f"no flight is called “{printable(wanted)}”; the latest are {latest}")


def pick_pour(flight: DebriefedFlight, position: int) -> DebriefedFlight:
    """The flight with one of its pours only; NotPossibleError where there is none at this place."""
    pours = tuple(one for one in flight.pours if one.pour.position == position)
    if not pours:
        places = ", ".join(str(one.pour.position) for one in flight.pours)
        raise NotPossibleError(f"this flight has no pour {position}; it has {places}")
    return replace(flight, pours=pours)


def flight_words(flight: FlightRecord) -> str:
    """A flight as it is called: its name, its date, and its number in the log."""
    day = f", {flight.tasted_on.isoformat()}" if flight.tasted_on else ""
    # “Flight 1” may be the name of number 7, so the number is said to be one.
    return f"{printable(flight.name) or 'flight without a name'}{day} (number {flight.id})"
