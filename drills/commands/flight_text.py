"""What the commands of the next flight print; a sealed glass is a code and nothing else."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from textwrap import fill
from typing import TYPE_CHECKING, Any

from drills.phrases import count
from drills.tastings.cells import printable

if TYPE_CHECKING:
    from drills.service.desk import Desk
    from drills.service.flight_sheets import WrittenSheets
    from drills.service.flight_showing import PlannedFlight, PlannedGlass


def flight_json(flight: PlannedFlight) -> dict[str, Any]:
    """A planned flight; `wine` of a glass is null while it is sealed, `why` while any is."""
    told = flight.coverage_told
    return {
        "flight": flight.number,
        "planned_by": flight.planner or None,
        "made_at": flight.made_at.isoformat(),
        "state": flight.state,
        "seed": flight.asked.seed,
        "tasters": list(flight.tasters),
        "covers": {
            "weak_pairs": flight.coverage.weak,
            "pairs": flight.coverage.pairs,
            "laterals": flight.coverage.laterals,
            "expected": round(flight.coverage.expected, 3),
            "expected_all": round(flight.coverage.expected_all, 3),
        }
        if told
        else None,
        "choice": {
            "worth": round(flight.coverage.worth, 3),
            "greedy": None if flight.coverage.greedy is None else round(flight.coverage.greedy, 3),
            "bound": round(flight.coverage.bound, 3),
            "exact": flight.coverage.exact,
        }
        if told
        else None,
        "balance": None
        if flight.coverage.position_gap is None
        else {
            "position_gap": flight.coverage.position_gap,
            "carry_gap": flight.coverage.carry_gap,
        },
        "to_buy": flight.coverage.to_buy if told else None,
        "cost": round(flight.coverage.cost, 2) if told else None,
        "glasses": [
            {
                "code": glass.code,
                "places": {
                    name: {"sitting": place.sitting, "place": place.position}
                    for name, place in glass.places.items()
                },
                "revealed": glass.revealed_at is not None,
                "wine": glass.contents and glass.contents.wine,
                "label": glass.contents and glass.contents.text,
                "vintage": glass.contents and glass.contents.vintage,
                "why": (glass.contents and glass.contents.sentence) or None,
            }
            for glass in flight.glasses
        ],
    }


def print_flight(desk: Desk, flight: PlannedFlight, *, named: bool = False) -> None:
    """A new plan: what a taster may know, and the wines only where they are open.

    Where it was `named` who plans, the helper has to name them too.
    """
    glasses = count(len(flight.glasses), "glass", "glasses")
    print(f"{flight.name}: {glasses}, {flight.coverage.sentence}.")
    for taster in flight.tasters:
        codes = "  ".join(str(glass.code) for glass in flight.in_order(taster))
        print(f"  {printable(taster)}: {codes}")
    told = flight.coverage
    if told.balance:
        print(fill(told.balance, 78, initial_indent="  ", subsequent_indent="  "))
    if told.exact:
        greedy = "finds no flight" if told.greedy is None else f"covers {told.greedy:.2g}"
        print(
            f"  worth {told.worth:.2g} weighed confusions, and no flight within these limits more\n"
            f"  (the best pair in turn {greedy}; bound {told.bound:.2g})"
        )
    elif told.bound:
        print(f"  worth {told.worth:.2g} weighed confusions; no flight more than {told.bound:.2g}")
    if flight.coverage.sittings > 1:
        print(f"  in {flight.coverage.sittings} sittings, as the sheets show")
    if flight.coverage.to_buy:
        about = f", about {flight.coverage.cost:,.2f}" if flight.coverage.cost else ""
        print(f"  {count(flight.coverage.to_buy, 'bottle')} to buy{about}")
    opened = [glass for glass in flight.glasses if glass.contents is not None]
    for glass in opened:
        print_glass(desk, glass)
    if not opened:
        who = f" --taster {shlex.quote(desk.taster.name)}" if named else ""
        print(
            f"The wines are sealed. A helper writes the sheets: crosspour flight sheets "
            f"{flight.number} --folder DIR{printable(who)}"
        )


def print_glass(desk: Desk, glass: PlannedGlass) -> None:
    """A glass that is open: its code, its wine, why it was poured."""
    held = glass.contents
    assert held is not None, "a sealed glass is never printed"
    year = "" if held.vintage is None or str(held.vintage) in held.text else f" {held.vintage}"
    short = desk.short(held.wine)
    also = "" if held.text.startswith(short) else f" ({short})"
    print(f"{glass.code}  {printable(held.text)}{year}{also}")
    if held.sentence:
        print(f"     {printable(held.sentence)}")


def print_revealed(flight: PlannedFlight) -> None:
    """How many glasses are sealed still."""
    if flight.sealed:
        print(f"{flight.name}: {count(flight.sealed, 'glass', 'glasses')} sealed still")
    else:
        print(f"{flight.name}: every glass is revealed")


def print_sheets(written: WrittenSheets) -> None:
    """The files, those for the helper apart."""
    for title, paths in (
        ("for the helper, they name the wines", written.helper),
        ("for the tasters", written.tasters),
    ):
        if paths:
            print(f"{title}:")
            for path in paths:
                print(f"  {printable(str(path))}")
    print(
        "Spit and drink water; spitting does not make driving safe. The sheets hold the cautions."
    )


def print_flights(found: Sequence[PlannedFlight]) -> None:
    """One line a flight, the latest first."""
    if not found:
        print("No flight is planned yet; crosspour flight plan makes one.")
    for flight in found:
        day = flight.made_at.astimezone().date().isoformat()
        glasses = count(len(flight.glasses), "glass", "glasses")
        sealed = f", {flight.sealed} sealed" if flight.sealed else ""
        print(
            f"{flight.number:>3}  {day}  {flight.state:<7}  {glasses}{sealed}; "
            f"{printable(flight.sentence)}"
        )
