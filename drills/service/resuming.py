"""What is left of a drill that was stopped: its time, and the slips that were to come back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drills.planner import USUAL_SECONDS
from drills.service.pacing import spent_on

if TYPE_CHECKING:
    from drills.service.desk import Desk


def left_over(desk: Desk) -> float:
    """Seconds that today's last drill was stopped short of; 0 for less than a card."""
    latest = desk.repository.drills(desk.taster.id, limit=1)
    if not latest:
        return 0.0
    answers = desk.repository.answers_of_drill(latest[0].id)
    given = [one for one in answers if one.undone_at is None]
    if not given or given[-1].day != desk.clock.today():
        return 0.0
    spent = spent_on(((one.seconds, one.answered_at) for one in given), latest[0].began_at)
    left = latest[0].planned_seconds - spent
    return left if left >= USUAL_SECONDS else 0.0


def unchecked(desk: Desk) -> tuple[int, ...]:
    """The contrasts that slipped today and did not come back as a check, each once, in order."""
    slips = desk.repository.slips_of_day(desk.taster.id, desk.clock.today())
    return tuple(dict.fromkeys(one.contrast_id for one in slips if not one.checked))
