"""Sixty days of drills, tastings and missed days, for many simulated tasters at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from drills.grading import Grade
from drills.memory import MemoryModel
from drills.planning.arrays import ArrayModel

DAYS = 60
PAIRS, GROUP = 240, 8
CONTRASTS = PAIRS * GROUP
TOGETHER = 5
# A miss takes longer: its explanation is read, and it is checked once more.
MISS_COSTS = 1.5
TASTING_EVERY, POURS = 7, 6


@dataclass
class Known:
    """What a program may know: its own memory of every answer, never the taster's true one.

    `importance` is the program's estimate for each contrast; `rank` the order of introduction;
    `urgent` marks contrasts of pairs confused since they were answered last; `seconds` the usual
    time of an answer of each taster.
    """

    importance: Any
    rank: Any
    seconds: Any
    stability: Any
    difficulty: Any
    last: Any
    due: Any
    answers: Any
    gap: Any
    urgent: Any

    @property
    def seen(self) -> Any:
        """Which contrasts were ever answered."""
        return self.answers > 0


class Policy(Protocol):
    """A way of choosing: for every taster and contrast the worth now, -inf for not now."""

    def worth(self, known: Known, day: int, minutes: float) -> Any: ...

    def told(self, known: Known, t: Any, i: Any, grade: Any, days: Any, day: int) -> None: ...

    def start(self, tasters: int, world: World) -> None: ...


@dataclass(frozen=True)
class Outcome:
    """Of every taster: importance-weighted recall on the last day, and confusions in tastings.

    `daily` and `daily_unseen` count the answers of each day (rows), and how many of them were to
    contrasts never seen before.
    """

    recall: Any
    confusions: Any
    answers: Any
    introduced: Any
    daily: Any
    daily_unseen: Any


def run(
    forgetting: Any,
    policy: Policy,
    *,
    minutes: float = 10.0,
    tasters: int = 40,
    days: int = DAYS,
    seed: int = 1,
    missed: float = 0.12,
    away: tuple[int, int] | None = None,
) -> Outcome:
    """Let tasters drill by a policy; the same seed gives the same tasters to every policy.

    `missed` is the share of days without a drill; `away` a first and last day of a holiday.
    """
    rng = np.random.default_rng(seed)
    world = World(forgetting, tasters, rng, missed, days, away)
    known, truth = world.known, world.truth
    coin = np.random.default_rng(seed + 7)
    confusions = np.zeros(tasters)
    daily, unseen = np.zeros((days, tasters)), np.zeros((days, tasters))
    beliefs = ArrayModel(MemoryModel().numbers)
    policy.start(tasters, world)
    most = int(minutes * 60 / 5) + 5
    for day in range(days):
        worth = np.where(known.urgent, 1e6, 0.0) + policy.worth(known, day, minutes)
        chosen = np.argpartition(-worth, min(most, CONTRASTS - 1), axis=1)[:, :most]
        values = np.take_along_axis(worth, chosen, 1)
        order = np.argsort(-values, axis=1)
        chosen = np.take_along_axis(chosen, order, 1)
        there = np.isfinite(np.take_along_axis(values, order, 1))
        left = np.where(world.absent[day], 0.0, minutes * 60.0)
        for place in range(most):
            t = np.where((left > 0) & there[:, place])[0]
            if not len(t):
                break
            i = chosen[t, place]
            recalled = coin.random(len(t)) < truth.recall_of(t, i, day)
            grade = _grade(recalled, coin)
            took = world.pace[t] * np.where(grade == 1, MISS_COSTS, 1.0)
            left[t] -= took * coin.uniform(0.7, 1.3, len(t))
            unseen[day, t] += ~known.seen[t, i]
            elapsed = np.where(known.seen[t, i], day - known.last[t, i], np.nan)
            policy.told(known, t, i, grade, elapsed, day)
            remember(known, beliefs, t, i, grade, day)
            truth.study(t, i, day, recalled)
            daily[day, t] += 1
        if day % TASTING_EVERY == TASTING_EVERY - 2:
            confusions += _taste(world, day, coin)
    every = np.ix_(np.arange(tasters), np.arange(CONTRASTS))
    recall = (truth.recall_of(*every, days) * world.importance).sum(1)
    return Outcome(recall, confusions, daily.sum(0), known.seen.sum(1), daily, unseen)


class World:
    """The tasters: what matters to each, their pace, their memory, and what a program knows."""

    def __init__(
        self,
        forgetting: Any,
        tasters: int,
        rng: np.random.Generator,
        missed: float,
        days: int,
        away: tuple[int, int] | None,
    ) -> None:
        true = np.exp(rng.normal(0, 1.1, (tasters, PAIRS)))
        true /= true.sum(1, keepdims=True)
        # The program's estimate, from separation and exam weight, is off by a factor of 1.6.
        guess = true * np.exp(rng.normal(0, 0.5, true.shape))
        guess /= guess.sum(1, keepdims=True)
        # The shipped order of introduction goes with the prior confusion rates of its table by a
        # rank correlation of 0.76; so does this one with true importance.
        key = np.log(true) + rng.normal(0, 0.95, true.shape)
        shape = (tasters, CONTRASTS)
        self.importance = np.repeat(true, GROUP, 1) / GROUP
        self.pair_importance = true
        self.pace = np.exp(rng.normal(np.log(11), 0.25, tasters))
        self.truth = forgetting(tasters, CONTRASTS, rng)
        self.absent = rng.random((days, tasters)) < missed
        if away is not None:
            self.absent[away[0] : away[1] + 1] = True
        self.known = Known(
            importance=np.repeat(guess, GROUP, 1) / GROUP,
            rank=introduction(key),
            seconds=self.pace,
            stability=np.full(shape, 1.0),
            difficulty=np.full(shape, 5.0),
            last=np.full(shape, -1.0),
            due=np.full(shape, np.inf),
            answers=np.zeros(shape, int),
            gap=np.ones(shape),
            urgent=np.zeros(shape, bool),
        )


def introduction(key: Any) -> Any:
    """The order of introduction of contrasts: blocks of five pairs, one contrast of each in turn.

    `key` is larger for pairs to be met earlier.
    """
    rank = np.argsort(np.argsort(-key, axis=1), axis=1)
    within = np.tile(np.arange(GROUP), PAIRS)[None]
    of_pair = np.repeat(rank, GROUP, axis=1)
    return (of_pair // TOGETHER) * 1000 + within * 10 + of_pair % TOGETHER


def _grade(recalled: Any, coin: np.random.Generator) -> Any:
    """Two glasses: without recall half of the answers are right, most of them given as guesses."""
    number = len(recalled)
    lucky = ~recalled & (coin.random(number) < 0.5)
    claim, sure = coin.random(number), coin.random(number) < 0.75
    bluff = np.where(claim < 0.8, 1, np.where(claim < 0.95, 2, 3))
    return np.where(recalled, np.where(sure, 3, 2), np.where(lucky, bluff, 1))


def remember(known: Known, beliefs: ArrayModel, t: Any, i: Any, grade: Any, day: int) -> None:
    """Take an answer into the program's memory."""
    seen, stability, difficulty = known.seen[t, i], known.stability[t, i], known.difficulty[t, i]
    recall = beliefs.recall(np.maximum(day - known.last[t, i], 0), stability)
    after = [beliefs.after(stability, difficulty, recall, one) for one in list(Grade)[:3]]
    first = [beliefs.first(one) for one in list(Grade)[:3]]
    for place, kept in enumerate((known.stability, known.difficulty)):
        later = np.choose(grade - 1, [one[place] for one in after])
        kept[t, i] = np.where(seen, later, np.choose(grade - 1, [one[place] for one in first]))
    known.last[t, i] = day
    known.due[t, i] = day + np.maximum(np.rint(beliefs.holds(known.stability[t, i], 0.9)), 1)
    doubled = np.where(seen, known.gap[t, i] * 2, 1.0)
    known.gap[t, i] = np.where(grade == 1, 1.0, doubled)
    known.answers[t, i] += 1
    known.urgent[t, i] = False


def _taste(world: World, day: int, coin: np.random.Generator) -> Any:
    """A flight: pours of pairs by importance; two contrasts of each come to mind, or none."""
    tasters = len(world.pace)
    lost = np.zeros(tasters)
    reached = np.cumsum(world.pair_importance, axis=1)
    t = np.arange(tasters)
    for _ in range(POURS):
        pair = (reached < coin.random((tasters, 1)) * reached[:, -1:]).sum(1)
        told = np.zeros(tasters, bool)
        for _ in range(2):
            i = pair * GROUP + coin.integers(0, GROUP, tasters)
            told |= coin.random(tasters) < world.truth.recall_of(t, i, day + 0.5)
        wrong = ~told & (coin.random(tasters) < 0.5)
        lost += wrong
        for one in t[wrong]:
            world.known.urgent[one, pair[one] * GROUP : (pair[one] + 1) * GROUP] = True
    return lost
