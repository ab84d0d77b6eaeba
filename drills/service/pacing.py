"""How long cards take the taster, from the answers that are kept."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING

from cards.questions import Form
from drills.planning.pace import LATEST, LONGEST

if TYPE_CHECKING:
    from drills.service.desk import Desk

CardSeconds = tuple[Form, float]
"""The form of a card, and its seconds with all that belongs to it."""


def own_times(desk: Desk) -> list[CardSeconds]:
    """The latest cards, the newest last."""
    found: list[CardSeconds] = []
    drill, before = None, None
    # One more: where the log is cut within a drill, its first answer only says when the next began.
    for one in desk.repository.card_times(desk.taster.id, LATEST + 1):
        if one.drill_id != drill:
            drill, before = one.drill_id, one.began_at
        assert before is not None
        found.append((Form(one.form), whole_seconds(one.seconds, before, one.answered_at)))
        before = one.answered_at
    return found[-LATEST:]


def whole_seconds(seconds: float, before: datetime, answered_at: datetime) -> float:
    """Seconds of a card with the reveal before it: from one answer to the next, less any pause.

    An answer's own seconds are the least, for a clock may have been set back.
    """
    return min(max((answered_at - before).total_seconds(), seconds), LONGEST)


def spent_on(answers: Iterable[tuple[float, datetime]], began_at: datetime) -> float:
    """Seconds that the answers of one drill took, in their order, pauses left out."""
    whole, before = 0.0, began_at
    for seconds, answered_at in answers:
        whole += whole_seconds(seconds, before, answered_at)
        before = answered_at
    return whole
