"""Ways of choosing cards: plain ones (due order and the like), the planner, and an oracle."""

# ruff: noqa: ARG002 (every way is asked with the same arguments)

from __future__ import annotations

from copy import deepcopy
from typing import Any

import numpy as np

from drills.memory import MemoryModel
from drills.planning.arrays import ArrayModel
from drills.planning.curve import CurveBelief
from drills.planning.order import places
from drills.planning.value import AHEAD_DAYS, MISS_COSTS, Worth, in_last_days, worth
from tests.simulations.world import DAYS, Known, World


class _Plain:
    def start(self, tasters: int, world: World) -> None:
        """Nothing to set up."""

    def told(self, known: Known, t: Any, i: Any, grade: Any, days: Any, day: int) -> None:
        """Nothing is learnt beyond the memory of each contrast."""


class DueOrder(_Plain):
    """What is due, the longest overdue first; then what is unseen.

    `by_importance` introduces by the program's estimate of importance instead of the shipped order;
    `every` keeps one card in so many for unseen contrasts, however much is due.
    """

    def __init__(self, *, by_importance: bool = False, every: int | None = None) -> None:
        self.by_importance, self.every = by_importance, every

    def worth(self, known: Known, day: int, minutes: float) -> Any:
        """Due before unseen, or three of the one and one of the other in turn."""
        unseen = _by_rank(np.where(known.seen, np.inf, _unseen_key(known, self.by_importance)))
        late = np.where(known.seen & (known.due <= day), known.due, np.inf)
        due = _by_rank(late)
        if self.every is None:
            return np.where(np.isfinite(late), 1e5 - due, np.where(known.seen, -np.inf, -unseen))
        places = np.where(
            np.isfinite(late),
            due // (self.every - 1) * self.every + due % (self.every - 1),
            unseen * self.every + self.every - 1,
        )
        return np.where(np.isfinite(late) | ~known.seen, -places, -np.inf)


class RandomOrder(_Plain):
    """Any contrast, whatever is known of it."""

    def __init__(self, seed: int = 3) -> None:
        self._rng = np.random.default_rng(seed)

    def worth(self, known: Known, day: int, minutes: float) -> Any:
        """Chance."""
        return self._rng.random(known.stability.shape)


class Doubling(_Plain):
    """Fixed intervals: one day, doubled at every success, one day again after a miss."""

    def worth(self, known: Known, day: int, minutes: float) -> Any:
        """Due before unseen."""
        due = known.last + known.gap
        unseen = _by_rank(np.where(known.seen, np.inf, known.rank))
        return np.where(known.seen, np.where(due <= day, 1e5 - due, -np.inf), -unseen)


def _by_rank(key: Any) -> Any:
    return np.argsort(np.argsort(key, axis=1, kind="stable"), axis=1, kind="stable").astype(float)


def _unseen_key(known: Known, by_importance: bool) -> Any:
    if not by_importance:
        return known.rank
    within = np.arange(known.rank.shape[1]) % 8
    return -known.importance * 1e6 + within * 1e-6


class Planner:
    """The product's planner: drills.planning, told no more than the program knows.

    `exam` is whether the taster has set the last day as an exam; `hold` is the
    planner's own unless changed.
    """

    def __init__(self, *, exam: bool = True, hold: float | None = None) -> None:
        self.exam, self.hold = exam, hold
        self.model = ArrayModel(MemoryModel().numbers)

    def start(self, tasters: int, world: World) -> None:
        """Nothing is known of anybody."""
        del world
        self.belief = CurveBelief(tasters)

    def told(self, known: Known, t: Any, i: Any, grade: Any, days: Any, day: int) -> None:
        """Learn the curve, as `curve_of` does from stored answers."""
        recalled = grade > 1
        first = np.isnan(days)
        self.belief.learn_first(t[first], recalled[first])
        later = ~first & (np.nan_to_num(days) >= 1)
        stability = known.stability[t[later], i[later]]
        self.belief.learn(t[later], days[later], stability, recalled[later])

    def worth(self, known: Known, day: int, minutes: float) -> Any:
        """The product's order, turned into a worth."""
        left = DAYS - day if self.exam else None
        curve = self.belief.curve()
        value = worth(
            self.model,
            curve,
            stability=known.stability,
            difficulty=known.difficulty,
            last=known.last,
            seen=known.seen,
            importance=known.importance,
            day=day,
            exam_in=left,
            hold=self.hold,
        )
        last_days = in_last_days(curve, left)
        order = places(value, known.seen, last_days=last_days, room=minutes * 5)
        return -order


class Oracle(_Plain):
    """Knows every taster's true model, recall and importance; chooses as the planner does.

    No proven bound, for it looks one answer ahead: the best of several `hold` is a mark to be
    measured against. `hold` above 1 is none: only gain for time counts. In the last `last_days`
    it always does.
    """

    def __init__(self, hold: float, last_days: int = 5) -> None:
        self.hold, self.last_days = hold, last_days

    def start(self, tasters: int, world: World) -> None:
        """See everything."""
        self.world = world

    def worth(self, known: Known, day: int, minutes: float) -> Any:
        """The true gain for the time."""
        truth = self.world.truth
        every = np.ix_(*(np.arange(number) for number in known.stability.shape))
        recall = truth.recall_of(*every, day)
        ahead = day + max(min(DAYS - day, AHEAD_DAYS), 1)
        after = []
        for recalled in (True, False):
            other = deepcopy(truth)
            other.study(*every, day, np.full(known.stability.shape, recalled))
            after.append(other.recall_of(*every, ahead))
        gain = recall * after[0] + (1 - recall) * after[1] - truth.recall_of(*every, ahead)
        value = self.world.importance * gain / (recall + MISS_COSTS * (1 - recall))
        today = known.seen & (known.last >= day)
        value = np.where(today, -np.inf, value)
        if self.hold > 1:
            return value
        told = Worth(recall, gain, value, known.seen & ~today & (recall < self.hold))
        last_days = DAYS - day <= self.last_days
        return -places(told, known.seen, last_days=last_days, room=1)
