"""A planned flight in words: what is sealed is a code and nothing else. Pure."""

from __future__ import annotations

from textual.content import Content

from drills.phrases import count
from drills.service.flight_showing import PlannedFlight
from drills.tastings.cells import printable


def row_of(flight: PlannedFlight) -> Content:
    """The row of a flight in the list."""
    day = flight.made_at.astimezone().date().isoformat()
    sealed = f", {flight.sealed} sealed" if flight.sealed else ""
    return Content.assemble(
        (f"{flight.name:<11}", ""),
        (f"{day}  ", "dim"),
        (f"{flight.state:<8}", "bold" if flight.state == "planned" else ""),
        f"{count(len(flight.glasses), 'glass', 'glasses')}{sealed}",
    )


def glasses_of(flight: PlannedFlight, taster: str) -> Content:
    """What a flight covers, the codes still sealed, and what the open glasses held.

    The codes stand as they are opened on the screen: in the taster's own order or, where the flight
    does not name them, in that of the first whom it names.
    """
    lines = [Content.assemble((f"{flight.name} ", "bold"), (printable(flight.sentence), ""))]
    whose = flight.served_as(taster)
    served = flight.in_order(whose)
    glasses = (*served, *(glass for glass in flight.glasses if glass not in served))
    if sealed := [str(glass.code) for glass in glasses if glass.contents is None]:
        as_whom = (
            "" if whose.casefold() == taster.casefold() else f", as {printable(whose)} is served"
        )
        lines.append(Content.assemble((f"sealed{as_whom}  ", "dim"), ("  ".join(sealed), "bold")))
    for glass in flight.glasses:
        if (held := glass.contents) is not None:
            lines.append(
                Content.assemble(
                    (f"{glass.code}  ", "bold"),
                    printable(held.text),
                    ("  ", ""),
                    (printable(held.sentence), "dim"),
                )
            )
    return Content("\n").join(lines)


def folder_asked(flight: PlannedFlight) -> str:
    """The question into which folder the sheets go, and what will lie there."""
    if flight.planner:
        return f"Into which folder? Blank sheets only: “{flight.planner}” keeps the key."
    return (
        "Into which folder? The key and the shopping list name the wines: let your helper open "
        "them."
    )
