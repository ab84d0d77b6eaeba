"""How a taster forgets, learnt from that taster's own answers.

The memory model's curve is everybody's. A taster's own may fall faster or slower, and with a longer
or a shorter tail; a planner that takes the tail on trust spreads itself over more than it can hold.
Two numbers are learnt, on a grid: by what factor stability is off, and the power of the fall
(a large power is nearly exponential forgetting).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Any

import numpy as np

from drills.grading import Grade
from drills.planning.arrays import ArrayModel, Floats

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

# The grid, and how far it may be believed before any answer (our assumptions): the logarithm of the
# factor is normal, every step to a larger power less likely than the one before.
_POWERS = (0.1542, 0.3, 0.6, 1.2, 3.0)
_FACTORS = np.linspace(-2.5, 2.5, 11)
_FACTOR_SPREAD, _STEP_COST = 0.9, 0.4
# So many of what is not known is graded as known all the same: right by luck and not given as a
# guess (half are right by luck, about one in five of these is claimed).
LUCK = 0.1
# First answers that were recalled, of how many: the prior for contrasts never seen.
_FIRST_KNOWN, _FIRST_ALL = 0.7, 2.0


# So many times as large a power, or (the second) so small a factor, and nothing is left of trust in
# the memory model's curve (measured on simulated tasters, see DEVELOPERS.md).
_NO_TRUST_POWER, _NO_TRUST_FACTOR = 1.8, 0.3


@dataclass(frozen=True)
class OwnCurve:
    """Recall as this taster forgets: `factor` on stability and the `power` of the fall.

    `at_first` is how probably a contrast never seen is answered as known. Numbers may be arrays of
    one row a taster.
    """

    factor: Any = 1.0
    power: Any = _POWERS[0]
    at_first: Any = _FIRST_KNOWN / _FIRST_ALL

    def recall(self, days: Any, stability: Any) -> Any:
        """The probability of knowing a contrast so many days after its last answer."""
        bend = 0.9 ** (-1 / self.power) - 1
        return (1 + bend * days / (stability * self.factor)) ** -self.power

    @property
    def trust(self) -> Any:
        """How far the memory model may be trusted with what fades, from 0 to 1.

        1 where recall falls as slowly as the model has it, 0 where it falls much faster or without
        the model's long tail: then nothing keeps by itself.
        """
        steeper = np.log(self.power / _POWERS[0]) / np.log(_NO_TRUST_POWER)
        faster = np.maximum(np.log(self.factor) / np.log(_NO_TRUST_FACTOR), 0)
        return np.clip(1 - steeper - faster, 0, 1)


class CurveBelief:
    """What is believed of the curves of some tasters, one row each."""

    def __init__(self, tasters: int = 1) -> None:
        self._power = np.repeat(np.array(_POWERS), len(_FACTORS))
        self._bend = 0.9 ** (-1 / self._power) - 1
        self._factor = np.tile(_FACTORS, len(_POWERS))
        steps = np.repeat(np.arange(len(_POWERS)), len(_FACTORS))
        prior = -0.5 * (self._factor / _FACTOR_SPREAD) ** 2 - _STEP_COST * steps
        self._log = np.tile(prior, (tasters, 1))
        self._known = np.full(tasters, _FIRST_KNOWN)
        self._first = np.full(tasters, _FIRST_ALL)

    def learn_first(self, taster: Any, known: Any) -> None:
        """First answers, one for each place of `taster`, and whether they were graded as known."""
        np.add.at(self._first, taster, 1.0)
        np.add.at(self._known, taster, np.asarray(known, dtype=float))

    def learn(self, taster: Any, days: Any, stability: Any, known: Any) -> None:
        """Later answers: days since the one before, stability then, graded as known or not."""
        days, stability = np.asarray(days, float)[:, None], np.asarray(stability, float)[:, None]
        recall = (1 + self._bend * days / (stability * np.exp(self._factor))) ** -self._power
        seems = np.clip(recall + (1 - recall) * LUCK, 1e-6, 1 - 1e-6)
        told = np.where(np.asarray(known, bool)[:, None], np.log(seems), np.log1p(-seems))
        np.add.at(self._log, taster, told)

    def curve(self) -> OwnCurve:
        """The curves that are believed in: posterior means of the logarithms."""
        share = np.exp(self._log - self._log.max(axis=1, keepdims=True))
        share /= share.sum(axis=1, keepdims=True)
        return OwnCurve(
            factor=np.exp((share * self._factor).sum(axis=1, keepdims=True)),
            power=np.exp((share * np.log(self._power)).sum(axis=1, keepdims=True)),
            at_first=(self._known / self._first)[:, None],
        )


def curve_of(model: ArrayModel, answers: Iterable[tuple[int, int, int]]) -> OwnCurve:
    """The curve that one taster's graded answers speak for.

    `answers` are (contrast, grade, study day) in their order within each contrast. Answers of one
    day after the first say nothing of forgetting and are left out.
    """
    belief = CurveBelief()
    for one in replayed(model, answers):
        nobody = np.zeros(len(one.known), int)
        if one.days is None or one.stability is None:
            belief.learn_first(nobody, one.known)
        else:
            later = one.days >= 1
            belief.learn(nobody[later], one.days[later], one.stability[later], one.known[later])
    learnt = belief.curve()
    return OwnCurve(
        *(float(value[0, 0]) for value in (learnt.factor, learnt.power, learnt.at_first))
    )


@dataclass(frozen=True)
class Round:
    """The nth answers of all contrasts that have so many: their places in the log, known or not.

    `days` since the answer before and `stability` then are None for the first.
    """

    places: Any
    known: Any
    days: Floats | None
    stability: Floats | None


def replayed(model: ArrayModel, answers: Iterable[tuple[int, int, int]]) -> Iterator[Round]:
    """All first answers, then all second ones and so on, as the memory model took them.

    An answer on the day of the one before is taken as one at full recall.
    """
    log = sorted(enumerate(answers), key=lambda one: one[1][0])
    histories = [
        [(place, grade, day) for place, (_, grade, day) in group]
        for _, group in groupby(log, key=lambda one: one[1][0])
    ]
    histories.sort(key=len, reverse=True)
    if not histories:
        return
    stability, difficulty = np.ones(len(histories)), np.ones(len(histories))
    last = np.zeros(len(histories))
    for nth in range(len(histories[0])):
        there = sum(len(one) > nth for one in histories)
        table = np.array([one[nth] for one in histories[:there]])
        places, grade, day = table[:, 0], table[:, 1], table[:, 2].astype(float)
        known = grade > int(Grade.NOT_RECALLED)
        if nth == 0:
            yield Round(places, known, None, None)
            after = [model.first(one) for one in Grade]
        else:
            days = np.maximum(day - last[:there], 0)
            before, hard = stability[:there].copy(), difficulty[:there].copy()
            yield Round(places, known, days, before)
            recall = model.recall(days, before)
            after = [model.after(before, hard, recall, one) for one in Grade]
        for kept, part in ((stability, 0), (difficulty, 1)):
            kept[:there] = np.choose(grade - 1, [np.broadcast_to(a[part], there) for a in after])
        last[:there] = day
