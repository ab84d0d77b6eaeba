"""Simulated tasters: three models of forgetting that share nothing but their interface.

Arrays run over tasters (rows) and contrasts (columns); days are counted from the first.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from drills.grading import Grade
from drills.memory import MemoryModel
from drills.planning.arrays import ArrayModel


class SchedulerFamily:
    """The scheduler's own formulas, every number of every taster moved by about a quarter."""

    name = "scheduler's family"

    def __init__(self, tasters: int, contrasts: int, rng: np.random.Generator) -> None:
        usual = np.array(MemoryModel().numbers)
        own = usual * np.exp(rng.normal(0, 0.25, (tasters, 21)))
        own[:, 20] = np.clip(own[:, 20], 0.1, 0.4)
        own[:, 7] = usual[7]
        self.own = own
        self.stability = np.full((tasters, contrasts), np.nan)
        self.difficulty = np.full((tasters, contrasts), np.nan)
        self.last = np.zeros((tasters, contrasts))
        # Some contrasts hold longer than others, which nobody knows beforehand.
        self.ease = np.exp(rng.normal(0, 0.3, (tasters, contrasts)))

    def _model(self, t: Any) -> ArrayModel:
        return ArrayModel(list(np.moveaxis(self.own[t], -1, 0)))

    def recall_of(self, t: Any, i: Any, day: float) -> Any:
        """Recall of chosen contrasts of chosen tasters; 0 for one never seen."""
        stability = self.stability[t, i] * self.ease[t, i]
        days = np.maximum(day - self.last[t, i], 0)
        return np.where(np.isnan(stability), 0.0, self._model(t).recall(days, stability))

    def study(self, t: Any, i: Any, day: float, known: Any) -> None:
        """An answer and its explanation; `known` is whether the contrast was recalled."""
        model, new = self._model(t), np.isnan(self.stability[t, i])
        stability = np.where(new, 1.0, self.stability[t, i])
        difficulty = np.where(new, 5.0, self.difficulty[t, i])
        recall = np.where(new, 1.0, self.recall_of(t, i, day))
        again, good = (
            model.after(stability, difficulty, recall, grade)
            for grade in (Grade.NOT_RECALLED, Grade.RECALLED)
        )
        first_again, first_good = (
            model.first(grade) for grade in (Grade.NOT_RECALLED, Grade.RECALLED)
        )
        for place, kept in enumerate((self.stability, self.difficulty)):
            later = np.where(known, good[place], again[place])
            first = np.where(known, first_good[place], first_again[place])
            kept[t, i] = np.where(new, first, later)
        self.last[t, i] = day


class PowerLaw:
    """Activation: every repetition decays by a power of its age, the faster the higher activation.

    Pavlik and Anderson, Cognitive Science 29 (2005) 559: m = ln sum t^-d, d = c e^m + a, recall is
    logistic in m; a, c, tau, s and the slower time between sessions are given from memory.
    """

    name = "power-law activation"
    A, C, TAU, S = 0.177, 0.217, -0.704, 0.255
    # A day between sessions passes as slowly as so many seconds of a session.
    SECONDS_A_DAY = 0.025 * 86400 * 0.35
    _MOST = 24

    def __init__(self, tasters: int, contrasts: int, rng: np.random.Generator) -> None:
        def own(value: float, spread: float) -> Any:
            return value * np.exp(rng.normal(0, spread, tasters))

        self.a, self.c, self.s = own(self.A, 0.15), own(self.C, 0.15), own(self.S, 0.1)
        self.tau = self.TAU + rng.normal(0, 0.3, tasters)
        self.known_before = rng.normal(0, 0.25, (tasters, contrasts))
        self.at = np.full((tasters, contrasts, self._MOST), np.nan, dtype=np.float32)
        self.decay = np.zeros((tasters, contrasts, self._MOST), dtype=np.float32)
        self.number = np.zeros((tasters, contrasts), int)

    def activation(self, t: Any, i: Any, day: float) -> Any:
        """The natural logarithm of the summed traces."""
        age = np.maximum((day - self.at[t, i]) * self.SECONDS_A_DAY, 30.0)
        # An empty trace has no age and no decay, and no age to the power of none would be one.
        traces = np.where(np.isnan(age), 0.0, age ** -self.decay[t, i])
        return np.log(traces.sum(axis=-1) + 1e-12)

    def recall_of(self, t: Any, i: Any, day: float) -> Any:
        """Recall of chosen contrasts of chosen tasters; 0 for one never seen."""
        m = self.activation(t, i, day) + self.known_before[t, i]
        recall = 1 / (1 + np.exp((self.tau[t] - m) / self.s[t]))
        return np.where(self.number[t, i] == 0, 0.0, recall)

    def study(self, t: Any, i: Any, day: float, known: Any) -> None:
        """An answer and its explanation; both leave one more trace, whatever was known."""
        del known
        number = self.number[t, i]
        m = self.activation(t, i, day)
        decay = np.where(number == 0, self.a[t], self.c[t] * np.exp(m) + self.a[t])
        place = np.minimum(number, self._MOST - 1)
        self.at[t, i, place] = day
        self.decay[t, i, place] = np.minimum(decay, 1.5)
        self.number[t, i] = number + 1


class HalfLife:
    """Recall halves in a time that a success lengthens and a miss shortens.

    Settles, Meeder, ACL 2016, 1848 (half-life regression) multiply the half-life at every success;
    here a repetition of what is still known well adds less: 2.2-fold at 90% recall, at most
    2.8-fold below. A miss halves it, but is explained on the spot, so that at least the first
    half-life is left.
    """

    name = "half-life"
    FULL_AT = 0.1  # how far recall has fallen where a success earns the usual growth

    def __init__(self, tasters: int, contrasts: int, rng: np.random.Generator) -> None:
        grows = np.log(2.2) + rng.normal(0, 0.15, (tasters, 1))
        self.grows = np.exp(grows + rng.normal(0, 0.15, (tasters, contrasts)))
        self.first = 2.0 * np.exp(rng.normal(0, 0.4, (tasters, contrasts)))
        self.half = np.full((tasters, contrasts), np.nan)
        self.last = np.zeros((tasters, contrasts))

    def recall_of(self, t: Any, i: Any, day: float) -> Any:
        """Recall of chosen contrasts of chosen tasters; 0 for one never seen."""
        half, days = self.half[t, i], np.maximum(day - self.last[t, i], 0)
        return np.where(np.isnan(half), 0.0, 2.0 ** -(days / np.where(np.isnan(half), 1.0, half)))

    def study(self, t: Any, i: Any, day: float, known: Any) -> None:
        """An answer and its explanation; `known` is whether the contrast was recalled."""
        half, first = self.half[t, i], self.first[t, i]
        # A repetition of what is still known well adds little.
        room = np.clip((1 - self.recall_of(t, i, day)) / self.FULL_AT, 0, 1.5)
        longer = half * (1 + (self.grows[t, i] - 1) * room)
        after = np.where(known, longer, np.maximum(half * 0.5, first))
        self.half[t, i] = np.where(np.isnan(half), first, after)
        self.last[t, i] = day


class StubbornHalfLife(HalfLife):
    """The same where a success earns its growth only at 50% recall: nothing holds for long."""

    name = "half-life, stubborn"
    FULL_AT = 0.5


MODELS = (SchedulerFamily, PowerLaw, HalfLife, StubbornHalfLife)
