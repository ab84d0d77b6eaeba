"""What is left of a drill that was stopped: what it was of, its time, the slips to come back."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drills.planner import USUAL_SECONDS
from drills.service.pacing import spent_on

if TYPE_CHECKING:
    from drills.service.desk import Desk
    from drills.storage.records import AnswerRecord, DrillRecord

# Behind so many drills without an answer no stopped one is looked for.
_LOOKED_AT = 10


@dataclass(frozen=True, slots=True)
class Kind:
    """What a drill is of: these pairs, one style, sure slips, or whatever is worth most."""

    pairs: tuple[tuple[str, str], ...] = ()
    style: str | None = None
    sure_slips: bool = False

    @property
    def note(self) -> str:
        """How it is kept with its drill; empty for the daily one."""
        if self.pairs:
            return json.dumps({"pairs": self.pairs})
        if self.style:
            return json.dumps({"style": self.style})
        return json.dumps({"sure_slips": True}) if self.sure_slips else ""


def kind_of(note: str) -> Kind:
    """The kind that a note tells; the daily drill for a note that tells none."""
    try:
        told = json.loads(note) if note else {}
        pairs = tuple((str(one), str(other)) for one, other in told.get("pairs", ()))
        return Kind(pairs, told.get("style"), told.get("sure_slips", False) is True)
    except (ValueError, TypeError, AttributeError):
        return Kind()


def stopped_kind(desk: Desk) -> Kind:
    """What the last drill with an answer was of."""
    found = _latest(desk)
    return kind_of(found[0].note) if found else Kind()


def left_over(desk: Desk) -> float:
    """Seconds that today's last drill was stopped short of; 0 for less than a card."""
    found = _latest(desk)
    if found is None:
        return 0.0
    drill, given = found
    if given[-1].day != desk.clock.today():
        return 0.0
    spent = spent_on(((one.seconds, one.answered_at) for one in given), drill.began_at)
    left = drill.planned_seconds - spent
    return left if left >= USUAL_SECONDS else 0.0


def _latest(desk: Desk) -> tuple[DrillRecord, list[AnswerRecord]] | None:
    """The last drill with answers that stand: one that was only looked at ends no other."""
    for drill in desk.repository.drills(desk.taster.id, limit=_LOOKED_AT):
        answers = desk.repository.answers_of_drill(drill.id)
        if given := [one for one in answers if one.undone_at is None]:
            return drill, given
    return None


def unchecked(desk: Desk) -> tuple[int, ...]:
    """The contrasts that slipped today and did not come back as a check, each once, in order."""
    slips = desk.repository.slips_of_day(desk.taster.id, desk.clock.today())
    return tuple(dict.fromkeys(one.contrast_id for one in slips if not one.checked))


def shown_today(desk: Desk) -> frozenset[int]:
    """The contrasts of all answers of today that stand."""
    today = desk.clock.today()
    answers = desk.repository.answers_between(desk.taster.id, today, today)
    return frozenset(one.contrast_id for one in answers)
