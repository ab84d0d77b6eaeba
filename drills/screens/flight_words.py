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


def glasses_of(flight: PlannedFlight) -> Content:
    """What a flight covers, the codes still sealed, and what the open glasses held."""
    lines = [Content.assemble((f"{flight.name} ", "bold"), (printable(flight.sentence), ""))]
    if sealed := [str(glass.code) for glass in flight.glasses if glass.contents is None]:
        lines.append(Content.assemble(("sealed  ", "dim"), ("  ".join(sealed), "bold")))
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
