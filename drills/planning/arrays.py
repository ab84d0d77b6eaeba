"""The memory model over many contrasts at once.

The same formulas as the library that `drills.memory` wraps (FSRS-6: Ye and others, open source;
equal to it to 1e-9 in a test), written for arrays. Numbers may also be arrays: simulated tasters
each bring parameters of their own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drills.grading import Grade
from drills.memory import MemoryModel

Floats = NDArray[np.float64]
LEAST_STABILITY = 0.001
_EASIEST, _HARDEST = 1.0, 10.0


def model_of(memory: MemoryModel) -> ArrayModel:
    """The model of a memory, with its parameters."""
    return ArrayModel(memory.numbers)


@dataclass(frozen=True)
class ArrayModel:
    """Recall and the next states, with the 21 numbers of the memory model.

    Stability is in days, difficulty runs from 1 to 10, days are counted from the last answer.
    """

    numbers: Sequence[Any]

    @cached_property
    def decay(self) -> Any:
        """The (negative) power by which recall falls."""
        return -self.numbers[20]

    @cached_property
    def factor(self) -> Any:
        """What makes recall 90% after `stability` days."""
        return 0.9 ** (1 / self.decay) - 1

    def recall(self, days: Any, stability: Any) -> Any:
        """The probability of knowing a contrast so many days after its last answer."""
        return (1 + self.factor * days / stability) ** self.decay

    def holds(self, stability: Any, target: float) -> Any:
        """Days until recall falls to `target`, not rounded."""
        return stability / self.factor * (target ** (1 / self.decay) - 1)

    def first(self, grade: Grade) -> tuple[Any, Any]:
        """Stability and difficulty after the first answer ever."""
        stability = np.maximum(self.numbers[grade - 1], LEAST_STABILITY)
        return stability, np.clip(self._first_difficulty(grade), _EASIEST, _HARDEST)

    def after(self, stability: Any, difficulty: Any, recall: Any, grade: Grade) -> tuple[Any, Any]:
        """Stability and difficulty after an answer on a later day, at which recall was `recall`."""
        w = self.numbers
        if grade is Grade.NOT_RECALLED:
            long = (
                w[11]
                * difficulty ** -w[12]
                * ((stability + 1) ** w[13] - 1)
                * np.exp((1 - recall) * w[14])
            )
            after = np.minimum(long, stability / np.exp(w[17] * w[18]))
        else:
            more = {Grade.WITH_EFFORT: w[15], Grade.AT_EASE: w[16]}.get(grade, 1.0)
            after = stability * (
                1
                + np.exp(w[8])
                * (11 - difficulty)
                * stability ** -w[9]
                * (np.exp((1 - recall) * w[10]) - 1)
                * more
            )
        return np.maximum(after, LEAST_STABILITY), self._next_difficulty(difficulty, grade)

    def _first_difficulty(self, grade: Grade) -> Any:
        return self.numbers[4] - np.exp(self.numbers[5] * (grade - 1)) + 1

    def _next_difficulty(self, difficulty: Any, grade: Grade) -> Any:
        w = self.numbers
        moved = difficulty - (_HARDEST - difficulty) * w[6] * (grade - 3) / 9
        back = w[7] * self._first_difficulty(Grade.AT_EASE) + (1 - w[7]) * moved
        return np.clip(back, _EASIEST, _HARDEST)
