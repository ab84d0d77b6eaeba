"""What a card is worth now: importance times gain in recall for each second it is expected to take.

What is learnt is held first: a contrast in work whose recall, on the taster's own curve, has fallen
too far comes before one that is unseen. Simulated tasters whose memory is not of the scheduler's
family lose what is spread too thin; see tests/simulations. In the last days before an exam nothing
learnt needs to hold any longer, and only the gain counts. Both go by how far the taster's own curve
lets the memory model be trusted.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from drills.grading import Grade
from drills.planning.arrays import ArrayModel
from drills.planning.curve import OwnCurve

# Recall on the taster's own curve below which a contrast is held first, without trust in the memory
# model and with it; and so many days before the exam only the gain until then counts (both measured
# on simulated tasters).
HOLDS = (0.82, 0.7)
LAST_DAYS = (4.0, 12.0)
# Recall is looked at so many days ahead, or on the day of the exam where that is nearer.
AHEAD_DAYS = 30
# A miss takes longer than an answer that is known: it is read and checked once more.
MISS_COSTS = 1.5


@dataclass(frozen=True)
class Worth:
    """Of every contrast: recall now on the own curve, gain by a showing now, and worth of a second.

    `fading` marks those to be held first. `worth` is -inf for what was answered today.
    """

    recall: Any
    gain: Any
    worth: Any
    fading: Any


def worth(
    model: ArrayModel,
    curve: OwnCurve,
    *,
    stability: Any,
    difficulty: Any,
    last: Any,
    seen: Any,
    importance: Any,
    day: float,
    exam_in: float | None = None,
    seconds: Any = 1.0,
    hold: Any = None,
) -> Worth:
    """The worth of each contrast on study day `day`.

    Stability and difficulty are read only where `seen`; `last` is the day of the last answer;
    `importance` is any scale with zero; `exam_in` is in days; `seconds` an answer's usual time;
    `hold` the recall to be held, by the curve unless told.
    """
    ahead = float(AHEAD_DAYS if exam_in is None else min(max(exam_in, 1), AHEAD_DAYS))
    days = np.maximum(day - last, 0)
    stable = np.where(seen, stability, 1.0)
    hard = np.where(seen, difficulty, 5.0)
    recall = curve.recall(days, stable)
    # The state after follows the model's curve, by which it is kept; what it is good for, the own.
    usual = model.recall(days, stable)
    known, _ = model.after(stable, hard, usual, Grade.RECALLED)
    missed, _ = model.after(stable, hard, usual, Grade.NOT_RECALLED)
    shown = recall * curve.recall(ahead, known) + (1 - recall) * curve.recall(ahead, missed)
    gain = shown - curve.recall(days + ahead, stable)
    takes = recall + MISS_COSTS * (1 - recall)
    first_known, first_missed = (
        curve.recall(ahead, model.first(grade)[0]) for grade in (Grade.RECALLED, Grade.NOT_RECALLED)
    )
    first = curve.at_first * first_known + (1 - curve.at_first) * first_missed
    first_takes = curve.at_first + MISS_COSTS * (1 - curve.at_first)
    gain = np.where(seen, gain, first)
    takes = np.where(seen, takes, first_takes) * seconds
    today = seen & (days < 1)
    value = np.where(today, -np.inf, importance * gain / takes)
    fading = seen & ~today & (recall < (_by_trust(curve, HOLDS) if hold is None else hold))
    return Worth(np.where(seen, recall, 0.0), gain, value, fading)


def in_last_days(curve: OwnCurve, exam_in: float | None) -> Any:
    """Whether the exam is so near that only the gain counts; one row a taster as the curve has."""
    if exam_in is None:
        return False
    return (exam_in >= 0) & (exam_in <= _by_trust(curve, LAST_DAYS))


def _by_trust(curve: OwnCurve, ends: tuple[float, float]) -> Any:
    without, trusted = ends
    return without + (trusted - without) * curve.trust
