"""Planned flights: looked at without their identities, and revealed glass by glass."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any

from drills.errors import NotPossibleError, StorageError
from drills.pouring.seal import mark_of, opened
from drills.service.flight_showing import (
    UNTOLD,
    Asked,
    Contents,
    Coverage,
    PlannedFlight,
    PlannedGlass,
    as_served,
)
from drills.storage.planned_records import (
    PlannedFlightRecord,
    PlannedPourRecord,
    Reveal,
)

if TYPE_CHECKING:
    from drills.service.desk import Desk


def records_of(desk: Desk) -> list[PlannedFlightRecord]:
    """The flights that a taster planned, and those of others that serve them; the latest first.

    A glass of another's flight is open for a taster once their own pour of it is in the log, and
    only for them: what one taster opens would tell the rest.
    """
    me = desk.taster
    own = desk.repository.planned_flights(me.id)
    others = desk.repository.flights_served_to(me.id, me.name)
    if others:
        known = desk.repository.known_pours(me.id)
        others = [_as_logged(one, known) for one in others]
    return sorted((*own, *others), key=lambda one: (one.number, one.made_at), reverse=True)


def _as_logged(record: PlannedFlightRecord, known: Collection[str]) -> PlannedFlightRecord:
    """Another's flight, its glasses open as far as one's own pours of them are in the log."""
    pours = []
    for pour in record.pours:
        if mark_in(record, pour) in known and can_open(record, pour):
            when = pour.revealed_at or record.first_revealed or record.made_at
            pours.append(replace(pour, wine=contents_of(record, pour).wine, revealed_at=when))
        else:
            pours.append(replace(pour, wine=None, revealed_at=None))
    opened_ones = sum(pour.revealed_at is not None for pour in pours)
    state = ("done" if opened_ones == len(pours) else "poured") if opened_ones else "planned"
    return replace(record, pours=tuple(pours), state=state)


def is_own(desk: Desk, record: PlannedFlightRecord) -> bool:
    """Whether this taster planned it."""
    return record.planner == desk.taster.name


def planned_flights(desk: Desk) -> list[PlannedFlight]:
    """Every planned flight of a taster's own or that serves them, the latest first."""
    return [look_as(desk, one) for one in records_of(desk)]


def find_record(desk: Desk, number: int | None = None) -> PlannedFlightRecord:
    """A planned flight by number; the latest that is not done, else the latest, where none is said.

    Raises:
        NotPossibleError: there is none.
    """
    records = records_of(desk)
    if not records:
        raise NotPossibleError(
            f"no flight is planned yet by or for “{desk.taster.name}”; "
            "crosspour flight plan makes one"
        )
    if number is None:
        return next((one for one in records if one.state != "done"), records[0])
    # In old files two tasters may have planned a flight of the same number.
    found = [one for one in records if one.number == number]
    if not found:
        numbers = ", ".join(str(one.number) for one in records[:10])
        raise NotPossibleError(f"there is no planned flight {number}; there is {numbers}")
    return next((one for one in found if is_own(desk, one)), found[0])


def own_record(desk: Desk, number: int | None = None) -> PlannedFlightRecord:
    """The same of a flight that this taster planned, whose key they keep.

    Raises:
        NotPossibleError: there is none, or another planned it.
    """
    if number is None:
        own = desk.repository.planned_flights(desk.taster.id)
        if own:
            return next((one for one in own if one.state != "done"), own[0])
    record = find_record(desk, number)
    if not is_own(desk, record):
        first = "" if record.seal else ", once it is revealed"
        raise NotPossibleError(
            f"flight {record.number} was planned by “{record.planner}”, who keeps its key; for you "
            f"a glass opens with your call of it, on the screen or by your sheet{first}"
        )
    return record


def look_as(desk: Desk, record: PlannedFlightRecord) -> PlannedFlight:
    """A kept flight as this taster may see it.

    Raises:
        StorageError: a key is damaged.
    """
    flight = look(record)
    if is_own(desk, record):
        return flight
    glasses = tuple(
        replace(one, contents=_with_name(desk, one.contents)) if one.contents else one
        for one in flight.in_order(flight.served_as(desk.taster.name))
    )
    return replace(flight, glasses=glasses, planner=record.planner)


def _with_name(desk: Desk, held: Contents) -> Contents:
    """Contents of which a server told the wine only, with the wine's name."""
    return replace(held, text=held.text or desk.short(held.wine))


def look(record: PlannedFlightRecord, *, unsealed: bool = False) -> PlannedFlight:
    """A kept flight; what is in a glass only where it was revealed, or all with `unsealed`.

    Raises:
        StorageError: a key is damaged.
    """
    told = json.loads(record.asked)
    # Why a wine was poured names its partner, which may be sealed still.
    reasons = unsealed or all(pour.revealed_at for pour in record.pours)
    asked = Asked(**_known(Asked, told["asked"]) | {"tasters": tuple(told["asked"]["tasters"])})
    glasses = tuple(
        PlannedGlass(
            pour.code,
            pour.places,
            _shown(contents_of(record, pour), reasons=reasons)
            if (unsealed and can_open(record, pour)) or pour.revealed_at
            else None,
            pour.revealed_at,
        )
        for pour in record.pours
    )
    return PlannedFlight(
        id=record.id,
        number=record.number,
        made_at=record.made_at,
        state=record.state,
        asked=asked,
        coverage=Coverage(**_known(Coverage, told["coverage"])) if "coverage" in told else UNTOLD,
        tasters=asked.tasters,
        glasses=(
            *as_served(glasses, asked.tasters[0]),
            *(glass for glass in glasses if asked.tasters[0] not in glass.places),
        ),
    )


def can_open(record: PlannedFlightRecord, pour: PlannedPourRecord) -> bool:
    """Whether what is in a glass is here to be told; a server may keep it until the reveal."""
    return bool(record.seal) or pour.told is not None


def mark_in(record: PlannedFlightRecord, pour: PlannedPourRecord) -> str:
    """What tells a pour of a glass from every other."""
    return pour.mark or mark_of(record.seal, pour.code)


def contents_of(record: PlannedFlightRecord, pour: PlannedPourRecord) -> Contents:
    """Open the sealed key of one glass; of what a server told it holds the wine's key alone.

    Raises:
        NotPossibleError: the server keeps it until its planner reveals it.
        StorageError: the key is damaged.
    """
    if not record.seal:
        if pour.told is None:
            raise NotPossibleError(
                f"glass {pour.code} of flight {record.number} is sealed until “{record.planner}” "
                "reveals it; what you typed or filled in can wait"
            )
        return Contents(pour.told, "", None, None, False, None, "", "")
    try:
        return Contents(**_known(Contents, opened(pour.sealed, seal_of(record.seal, pour.code))))
    except (ValueError, TypeError) as error:
        raise StorageError(
            f"the sealed key of glass {pour.code} in flight {record.number} is damaged"
        ) from error


def _shown(contents: Contents, *, reasons: bool) -> Contents:
    return contents if reasons else replace(contents, role="", sentence="")


def _known(kind: type[Any], given: Mapping[str, Any]) -> dict[str, Any]:
    names = {field.name for field in fields(kind)}
    return {name: value for name, value in given.items() if name in names}


def seal_of(seal: str, code: int) -> str:
    """The seal of one glass."""
    # One wine in two glasses must not look the same.
    return f"{seal} {code}"


# ---- revealing


def reveal_codes(desk: Desk, number: int, codes: Sequence[int]) -> PlannedFlight:
    """Reveal glasses by code and count their bottles off the cellar; twice changes nothing.

    Raises:
        NotPossibleError: no such flight of this taster's own, or no such glass in it.
        StorageError: and its kinds.
    """
    record = own_record(desk, number)
    pours = {pour.code: pour for pour in record.pours}
    reveals = []
    for code in codes:
        if code not in pours:
            there = ", ".join(str(one) for one in pours)
            raise NotPossibleError(f"flight {number} has no glass {code}; it has {there}")
        if pours[code].revealed_at is None:
            held = contents_of(record, pours[code])
            reveals.append(Reveal(pours[code].id, held.wine, held.stock))
    if reveals:
        why = f"poured in flight {number}"
        record = desk.repository.reveal_planned(desk.taster.id, record.id, reveals, why)
    return look(record)


def reveal_next(
    desk: Desk, number: int | None = None, code: int | None = None
) -> tuple[PlannedFlight, PlannedGlass]:
    """Reveal one glass: that of a code, else the next in the first taster's order.

    Raises:
        NotPossibleError: no such flight or glass, or every glass is revealed already.
    """
    flight = look(own_record(desk, number))
    if code is None:
        shut = next((glass for glass in flight.glasses if glass.revealed_at is None), None)
        if shut is None:
            raise NotPossibleError(f"every glass of flight {flight.number} is revealed already")
        code = shut.code
    flight = reveal_codes(desk, flight.number, [code])
    return flight, next(glass for glass in flight.glasses if glass.code == code)
