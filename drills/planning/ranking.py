"""Every contrast valued, and kept in step with answers, pace and pairs without starting anew.

An answer changes the memory of one contrast and perhaps what its pair matters: only the contrasts
of that pair are valued again, and the next cards are picked without sorting the rest. What comes
out is what valuing everything anew would give (a property in the tests).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from drills.planning.arrays import ArrayModel
from drills.planning.curve import OwnCurve
from drills.planning.importance import shares
from drills.planning.order import USUAL_ROOM, first_places
from drills.planning.value import Worth, in_last_days, worth

Memory = tuple[float, float, int]
"""Stability (days), difficulty, and the study day of the last answer."""

# Stands where nothing is remembered, and is never read.
_UNSEEN: Memory = (1.0, 5.0, 0)


class Ranking:
    """The worth of every contrast of one taster on one study day.

    `pairs` numbers the pair of each contrast, in the order of introduction; `stability`,
    `difficulty` and `last` (a study day) are None for what is unseen; `importance` is that of each
    pair, `factor` lowers that of a contrast.
    """

    def __init__(
        self,
        model: ArrayModel,
        curve: OwnCurve,
        *,
        pairs: Sequence[int],
        stability: Sequence[float | None],
        difficulty: Sequence[float | None],
        last: Sequence[int | None],
        importance: Sequence[float],
        factor: Any = 1.0,
        day: int,
        exam_in: float | None = None,
    ) -> None:
        self._model, self._curve, self._day, self._exam_in = model, curve, day, exam_in
        self._pair = np.asarray(pairs, int)
        self._share = shares(self._pair) * factor
        self._importance = np.asarray(importance, float).copy()
        self.seen = np.array([one is not None for one in last], bool)
        self._stability, self._difficulty, self._last = (
            np.array([usual if one is None else one for one in column], float)
            for usual, column in zip(_UNSEEN, (stability, difficulty, last), strict=True)
        )
        self._seconds = (1.0, 1.0)
        self._value = self._valued(slice(None))

    def _valued(self, places: Any) -> Worth:
        return worth(
            self._model,
            self._curve,
            stability=self._stability[places],
            difficulty=self._difficulty[places],
            last=self._last[places],
            seen=self.seen[places],
            importance=self._importance[self._pair[places]] * self._share[places],
            day=self._day,
            exam_in=self._exam_in,
        )

    def paced(self, seen: float, unseen: float) -> None:
        """Take a card of a contrast met before, and of one unseen, for so many seconds."""
        self._seconds = (seen, unseen)

    def remember(self, place: int, memory: Memory | None) -> None:
        """Take in what is remembered of a contrast; it counts once its pair is weighed."""
        self.seen[place] = memory is not None
        kept = memory or _UNSEEN
        self._stability[place], self._difficulty[place], self._last[place] = kept

    def weigh(self, pair: int, importance: float) -> None:
        """Value the contrasts of a pair anew, at this importance."""
        self._importance[pair] = importance
        places = np.flatnonzero(self._pair == pair)
        found = self._valued(places)
        for kept, new in (
            (self._value.recall, found.recall),
            (self._value.gain, found.gain),
            (self._value.worth, found.worth),
            (self._value.fading, found.fading),
        ):
            kept[places] = new

    def ahead(
        self, number: int, *, room: float = USUAL_ROOM, since: int = 0, left_out: Iterable[int] = ()
    ) -> list[int]:
        """The places of the next contrasts, as `drills.planning.order.first_places` orders them."""
        seen, unseen = self._seconds
        a_second = Worth(
            self._value.recall,
            self._value.gain,
            self._value.worth / np.where(self.seen, seen, unseen),
            self._value.fading,
        )
        return first_places(
            a_second,
            self.seen,
            number,
            last_days=bool(in_last_days(self._curve, self._exam_in)),
            room=room,
            since=since,
            left_out=left_out,
        )

    def met(self, pair: int) -> bool:
        """Whether a contrast of a pair was ever answered."""
        return bool(self.seen[self._pair == pair].any())

    def nth(self, pair: int) -> int:
        """The place of a pair by importance, 1 for the one that matters most."""
        return 1 + int((self._importance > self._importance[pair]).sum())

    def recall(self, place: int) -> float:
        """Recall of a contrast now, on the taster's own curve."""
        return float(self._value.recall[place])

    def gain(self, place: int) -> float:
        """What showing a contrast now adds to its recall ahead."""
        return float(self._value.gain[place])
