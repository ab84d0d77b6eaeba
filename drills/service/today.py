"""What waits today: the numbers of the first screen."""

from __future__ import annotations

from dataclasses import dataclass

from drills.service.desk import Desk
from drills.service.resuming import left_over


@dataclass(frozen=True, slots=True)
class Today:
    """What waits: contrasts of confused pairs, those due, those unseen, names unresolved, flights.

    `half_entered` is how many flights were left half entered, `left` the seconds that today's last
    drill was stopped short of.
    """

    confused: int
    due: int
    unseen: int
    unresolved: int
    wines: int
    next_in: int | None
    half_entered: int = 0
    left: float = 0.0


def today(desk: Desk) -> Today:
    """Count what waits today."""
    day = desk.clock.today()
    counts = desk.repository.counts(desk.taster.id, day)
    next_day = desk.repository.next_due_day(desk.taster.id)
    return Today(
        confused=counts.urgent,
        due=counts.due,
        unseen=counts.unseen,
        unresolved=desk.repository.unresolved_pours(desk.taster.id),
        wines=len(desk.table.profiles),
        next_in=None if next_day is None else max(next_day - day, 0),
        half_entered=len(desk.repository.drafts(desk.taster.id)),
        left=left_over(desk),
    )
