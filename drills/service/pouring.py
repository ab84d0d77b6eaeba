"""Plans the next flight: wines from the weak pairs, codes, an order for each taster; sealed."""

from __future__ import annotations

import json
import random
import secrets
from collections.abc import Sequence
from dataclasses import asdict, replace
from itertools import chain
from typing import TYPE_CHECKING

from drills.errors import PouringError, UsageError
from drills.phrases import count
from drills.pouring.choice import Choice, Chosen, Limits, Role, choose, usual_decoys
from drills.pouring.codes import draw_codes
from drills.pouring.seal import sealed
from drills.pouring.serving import Glass, Served, Serving, serve, served_so_far, share
from drills.service.flight_showing import Asked, Contents, Coverage, PlannedFlight
from drills.service.planned_flights import look, records_of, seal_of
from drills.service.staking import Field, field_of
from drills.storage.planned_records import (
    Place,
    PlannedFlightDraft,
    PlannedFlightRecord,
    PlannedPourDraft,
)

if TYPE_CHECKING:
    from drills.service.desk import Desk

MOST_BOTTLES, MOST_TASTERS = 24, 40
LONGEST_NAME = 40
# Codes of so many glasses before are not drawn again; there are some five hundred to draw from.
_UNUSED = 150
_SEEDS = 2**31


def plan(desk: Desk, asked: Asked) -> PlannedFlight:
    """Choose the wines of the next flight, give them codes and orders, and keep them sealed.

    Raises:
        UsageError: something is asked for that cannot be meant.
        PouringError: no flight fits; the message names what is short.
        StorageError: and its kinds; then nothing is kept.
    """
    check(asked)
    seed = secrets.randbelow(_SEEDS) if asked.seed is None else asked.seed
    asked = replace(asked, tasters=asked.tasters or (desk.taster.name,), seed=seed)
    field = field_of(desk, asked)
    choice, decoys = _choose(field, asked)
    scarce = asked.decoys is None and decoys < usual_decoys(asked.bottles)
    asked = replace(asked, decoys=decoys)
    records = records_of(desk)
    # Shuffled: the order in which the wines were chosen tells the weakest pair.
    pours = list(choice.pours)
    random.Random(f"glasses {seed}").shuffle(pours)
    serving = _serve(desk, asked, choice, pours, records)
    orders = [_places_of(order.sittings) for order in serving.orders]
    codes = [
        int(code)
        for code in draw_codes(
            len(pours),
            seed=seed,
            used=_latest_codes(records),
            orders=[
                [int(key) for sitting in order.sittings for key in sitting]
                for order in serving.orders
            ],
        )
    ]
    seal = secrets.token_hex(16)
    drafts = [
        PlannedPourDraft(
            code,
            sealed(asdict(_contents(desk, field, pour)), seal_of(seal, code)),
            {
                order.taster: place[str(number)]
                for order, place in zip(serving.orders, orders, strict=True)
                if str(number) in place
            },
        )
        for number, (code, pour) in enumerate(zip(codes, pours, strict=True))
    ]
    sittings = max(len(order.sittings) for order in serving.orders)
    coverage = _coverage(field, choice, sittings, decoys if scarce else None)
    if len(serving.orders) > 1:
        coverage = replace(coverage, position_gap=serving.position_gap, carry_gap=serving.carry_gap)
    told = {"asked": asdict(asked), "coverage": asdict(coverage)}
    kept = desk.repository.keep_planned(
        desk.taster.id,
        PlannedFlightDraft(seed, seal, json.dumps(told, ensure_ascii=False), drafts),
    )
    return look(kept)


def _choose(field: Field, asked: Asked) -> tuple[Choice, int]:
    """The flight, and how many decoys it was asked to have.

    Where the taster did not say how many, the usual ones or as many as can be.

    Raises:
        PouringError: no flight fits, with however few decoys.
    """
    if asked.decoys is not None:
        return _choose_with(field, asked, asked.decoys), asked.decoys
    for decoys in range(usual_decoys(asked.bottles), 0, -1):
        try:
            return _choose_with(field, asked, decoys), decoys
        except PouringError:
            # What is short without any decoy is the better answer.
            continue
    return _choose_with(field, asked, 0), 0


def _choose_with(field: Field, asked: Asked, decoys: int) -> Choice:
    assert asked.seed is not None
    try:
        return choose(
            field.bottles,
            field.stakes,
            Limits(
                wines=asked.bottles,
                budget=asked.budget,
                dearest=asked.dearest,
                decoys=decoys,
                usual_price=field.usual_price,
            ),
            told_apart=field.told_apart,
            laterals=field.laterals,
            seed=asked.seed,
        )
    except PouringError as error:
        if asked.budget is None or field.usual_price is not None:
            raise
        raise PouringError(f"{error}; --usual-price says what such a bottle costs") from None


def check(asked: Asked) -> None:
    """Raise UsageError where what is asked for cannot be meant."""
    if not 2 <= asked.bottles <= MOST_BOTTLES:
        raise UsageError(f"a flight has 2 to {MOST_BOTTLES} bottles, not {asked.bottles}")
    for name, price in (
        ("budget", asked.budget),
        ("dearest bottle", asked.dearest),
        ("usual price", asked.usual_price),
    ):
        # The comparison also refuses what is no number at all.
        if price is not None and not 0 <= price < 1e9:
            raise UsageError(f"the {name} should be a price, 0 or more")
    if asked.decoys is not None and not 0 <= asked.decoys <= asked.bottles - 2:
        raise UsageError(f"of {asked.bottles} bottles 0 to {asked.bottles - 2} can be decoys")
    if asked.seed is not None and not 0 <= asked.seed < _SEEDS:
        raise UsageError(f"a seed lies between 0 and {_SEEDS - 1}")
    if len(asked.tasters) > MOST_TASTERS:
        raise UsageError(f"a flight has at most {MOST_TASTERS} tasters")
    for name in asked.tasters:
        if not name.strip() or len(name) > LONGEST_NAME or not name.isprintable():
            raise UsageError(f"a taster's name has 1 to {LONGEST_NAME} plain characters")
    if asked.shared and asked.white_first:
        raise UsageError("wines that are shared out are served mixed: leave the order by style out")
    folded = [name.casefold() for name in asked.tasters]
    if len(set(folded)) < len(folded):
        raise UsageError("two tasters have the same name")


def tasters_said(text: str) -> tuple[str, ...]:
    """Tasters from a number (“3”) or from names with commas between.

    Raises:
        UsageError: neither.
    """
    said = text.strip()
    if said.isdecimal():
        if not 1 <= int(said) <= MOST_TASTERS:
            raise UsageError(f"a flight has 1 to {MOST_TASTERS} tasters, not {said}")
        return tuple(f"taster {number}" for number in range(1, int(said) + 1))
    names = tuple(" ".join(name.split()) for name in said.split(","))
    check(Asked(tasters=names))
    return names


def _serve(
    desk: Desk,
    asked: Asked,
    choice: Choice,
    pours: Sequence[Chosen],
    records: Sequence[PlannedFlightRecord],
) -> Serving:
    glasses = [
        Glass(str(number), pour.bottle.wine, desk.table.profiles[pour.bottle.wine].style)
        for number, pour in enumerate(pours)
    ]
    assert asked.seed is not None
    if asked.shared:
        return share(glasses, asked.tasters, seed=asked.seed)
    return serve(
        glasses,
        asked.tasters,
        white_first=asked.white_first,
        earlier={name: _earlier(records, name) for name in asked.tasters},
        together=[stake.pair for stake in choice.covered],
        seed=asked.seed,
    )


def _earlier(records: Sequence[PlannedFlightRecord], taster: str) -> Served:
    """What a taster was served in the flights that were poured."""
    flights = []
    for record in records:
        mine = [pour for pour in record.pours if pour.wine is not None and taster in pour.places]
        sittings: dict[int, list[tuple[int, str]]] = {}
        for pour in mine:
            place = pour.places[taster]
            sittings.setdefault(place.sitting, []).append((place.position, pour.wine or ""))
        flights.append([[wine for _, wine in sorted(one)] for one in sittings.values()])
    return served_so_far(flights)


def _places_of(sittings: Sequence[Sequence[str]]) -> dict[str, Place]:
    """Sitting and place of every glass; places go on from one sitting to the next."""
    found: dict[str, Place] = {}
    for sitting, keys in enumerate(sittings, 1):
        for key in keys:
            found[key] = Place(sitting, len(found) + 1)
    return found


def _latest_codes(records: Sequence[PlannedFlightRecord]) -> set[str]:
    codes = chain.from_iterable((str(pour.code) for pour in one.pours) for one in records)
    return {code for _, code in zip(range(_UNUSED), codes, strict=False)}


def _contents(desk: Desk, field: Field, pour: Chosen) -> Contents:
    bottle = pour.bottle
    row = field.rows.get(bottle.key)
    wine = desk.table.profiles[bottle.wine]
    return Contents(
        wine=bottle.wine,
        text=row.text if row else wine.name,
        vintage=row.vintage if row else None,
        price=bottle.price,
        owned=bottle.owned,
        # The second glass of a bottle takes no second bottle.
        stock=row.id if row and pour.role is not Role.REPEAT else None,
        role=pour.role.value,
        sentence=_why(desk, field, pour),
    )


def _why(desk: Desk, field: Field, pour: Chosen) -> str:
    """One sentence: what the wine is here for."""
    own = desk.short(pour.bottle.wine)
    if pour.role is Role.DECOY:
        return f"A decoy: {own} is in no pair with another glass{_near(desk, field, pour)}."
    if pour.role is Role.REPEAT:
        return f"{own} once more: whether a wine is called the same twice."
    first, *others = [
        (desk.short(partner), stake)
        for partner, stake in zip(pour.partners, pour.stakes, strict=True)
    ]
    also = f"; beside it also {', '.join(name for name, _ in others)}" if others else ""
    times = field.times.get(first[1].pair, 0)
    if not times:
        return f"{own} against {first[0]}: near laterals, not mixed up yet{also}."
    often = "once" if times == 1 else count(times, "time")
    cards = ", known on the cards but not in the glass" if first[1].ahead >= 0.5 else ""
    return f"{own} against {first[0]}: mixed up {often}{cards}{also}."


def _near(desk: Desk, field: Field, decoy: Chosen) -> str:
    """Which poured wine a decoy could be taken for, and why."""
    if decoy.decoy_of is None:
        return ""
    wine, other = decoy.bottle.wine, decoy.decoy_of
    near = other in field.laterals(wine) or wine in field.laterals(other)
    return f", {'near' if near else 'and has a lateral in common with'} {desk.short(other)}"


def _coverage(field: Field, choice: Choice, sittings: int, scarce: int | None) -> Coverage:
    weak = [stake for stake in choice.covered if field.times.get(stake.pair)]
    return Coverage(
        weak=len(field.times),
        pairs=len(weak),
        laterals=len(choice.covered) - len(weak),
        expected=sum(stake.expected for stake in weak),
        expected_all=field.expected,
        to_buy=len(choice.to_buy),
        cost=choice.cost,
        sittings=sittings,
        scarce_decoys=scarce,
        worth=choice.value,
        greedy=choice.greedy,
        bound=choice.bound,
        exact=choice.exact,
    )
