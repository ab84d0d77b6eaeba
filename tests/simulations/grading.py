"""Which grading of an answer tracks true recall best, on one log that all rules read alike.

On a question of two a taster who does not know is right half the time. How candid tasters are is
varied: `candour` is how often one who does not know says so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from drills.grading import Grade, Sureness, grade_of
from drills.memory import MemoryModel
from drills.planning.arrays import ArrayModel

# Days between the answers to a contrast: short and long ones mixed.
GAPS = (1, 3, 2, 8, 5, 20, 12, 40)
Rule = Callable[[bool, int], int]


def as_the_program(right: bool, sureness: int) -> int:
    """The program's rule, from which and how sure."""
    return int(grade_of(right, Sureness(sureness), 6.0))


def right_or_wrong(right: bool, sureness: int) -> int:
    """Right is recalled, wrong is not."""
    del sureness
    return int(Grade.RECALLED if right else Grade.NOT_RECALLED)


@dataclass(frozen=True)
class Tracking:
    """How predictions match true recall: log loss, and the root mean square gap of calibration."""

    log_loss: float
    calibration: float


def track(
    forgetting: Any,
    rules: dict[str, Rule],
    *,
    candour: float = 0.8,
    tasters: int = 40,
    contrasts: int = 60,
    seed: int = 3,
) -> dict[str, Tracking]:
    """Ask every contrast on spaced days, let each rule predict each time and at the end."""
    rng = np.random.default_rng(seed)
    truth = forgetting(tasters, contrasts, rng)
    model = ArrayModel(MemoryModel().numbers)
    t, i = (each.ravel() for each in np.indices((tasters, contrasts)))
    days = np.cumsum([0, *GAPS])
    states: dict[str, tuple[Any, Any]] = {}
    predicted: dict[str, list[Any]] = {name: [] for name in rules}
    true: list[Any] = []
    last = 0
    for day in days:
        recall = truth.recall_of(t, i, day)
        if states:
            true.append(recall)
            for name, (stability, _) in states.items():
                predicted[name].append(model.recall(day - last, stability))
        known = rng.random(len(t)) < recall
        right = known | (rng.random(len(t)) < 0.5)
        claim, sure = rng.random(len(t)), rng.random(len(t)) < 0.75
        bluff = np.where(claim < candour, 1, np.where(claim < (3 * candour + 1) / 4, 2, 3))
        sureness = np.where(known, np.where(sure, 3, 2), bluff)
        for name, rule in rules.items():
            table = np.array([[rule(bool(ok), level) for level in (1, 2, 3)] for ok in (0, 1)])
            grade = table[right.astype(int), sureness - 1]
            states[name] = _after(model, states.get(name), grade, day - last)
        truth.study(t, i, day, known)
        last = day
    probability = np.concatenate(true)
    return {
        name: _tracking(np.concatenate(found), probability) for name, found in predicted.items()
    }


def _after(model: ArrayModel, state: Any, grade: Any, days: Any) -> tuple[Any, Any]:
    if state is None:
        options = [model.first(one) for one in Grade]
    else:
        recall = model.recall(days, state[0])
        options = [model.after(*state, recall, one) for one in Grade]
    shape = grade.shape
    stability, difficulty = (
        np.choose(grade - 1, [np.broadcast_to(one[part], shape) for one in options])
        for part in (0, 1)
    )
    return stability, difficulty


def _tracking(predicted: Any, true: Any) -> Tracking:
    p = np.clip(predicted, 1e-4, 1 - 1e-4)
    loss = -(true * np.log(p) + (1 - true) * np.log1p(-p)).mean()
    bins = np.minimum((p * 20).astype(int), 19)
    gaps = [
        (p[bins == one].mean() - true[bins == one].mean()) ** 2 * (bins == one).mean()
        for one in np.unique(bins)
    ]
    return Tracking(float(loss), float(np.sqrt(sum(gaps))))
