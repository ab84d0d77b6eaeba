"""The planner at a taster's desk: every contrast valued once, then handed out by place.

Imports numpy, so a drill loads it while its first card is being read.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import islice
from typing import TYPE_CHECKING, Any

import numpy as np

from cards.contrasts import ordered_pair
from drills.confusions import CallCount
from drills.planner import Waiting, Why
from drills.planning.arrays import model_of
from drills.planning.curve import OwnCurve, curve_of
from drills.planning.importance import Pair, expected_confusions, shares
from drills.planning.order import places
from drills.planning.value import Worth, in_last_days, worth

if TYPE_CHECKING:
    from drills.service.desk import Desk
    from drills.storage.records import PlanRow

# Separation is worked out for pairs that were met or confused, and for so many more in the order
# of introduction: 0.15 ms each.
_NEAREST = 300
# What rests on a smell that this taster does not perceive comes last, not never.
_UNPERCEIVED = 0.01


@dataclass(frozen=True)
class Planned:
    """Every contrast in use with its place; one for a drill, since values stand for a study day.

    `pairs` ranks the pairs by importance, from 1.
    """

    rows: list[PlanRow]
    value: Worth
    seen: Any
    pairs: dict[Pair, int]
    curve: OwnCurve
    order: Any
    _index: dict[int, int]

    def waiting(self, left_out: Collection[int], limit: int) -> list[Waiting]:
        """The next contrasts by place, those of `left_out` not among them."""
        return list(islice(self._waiting(left_out), limit))

    def _waiting(self, left_out: Collection[int]) -> Iterator[Waiting]:
        for place in self.order:
            row = self.rows[place]
            if row.contrast_id not in left_out:
                why = Why.DUE if self.seen[place] else Why.UNSEEN
                yield Waiting(row.contrast_id, (row.wine_a, row.wine_b), why)

    def reason(self, contrast_id: int) -> str:
        """Why a contrast is worth its seconds, in a few words."""
        place = self._index.get(contrast_id)
        if place is None:
            return ""
        row = self.rows[place]
        nth = self.pairs[row.wine_a, row.wine_b]
        matters = f"pair {nth} of {len(self.pairs)} by what it may cost you"
        if not self.seen[place]:
            return matters
        recall = float(self.value.recall[place])
        gain = max(float(self.value.gain[place]), 0.0)
        return f"recall about {recall:.0%}, now to gain {gain:.0%}; {matters}"


def planned(
    desk: Desk,
    room: float,
    *,
    lost: frozenset[str] = frozenset(),
    style: str | None = None,
) -> Planned:
    """Value everything at a desk, or all pairs of two wines of one style.

    `room` is how many cards there is time for; `lost` are cues that the taster does not perceive.
    """
    repository, taster, day = desk.repository, desk.taster.id, desk.clock.today()
    rows = repository.plan_rows(taster)
    if style is not None:
        of_style = {key for key, one in desk.table.profiles.items() if one.style == style}
        rows = [row for row in rows if of_style >= {row.wine_a, row.wine_b}]
    model = model_of(desk.memory)
    curve = curve_of(model, repository.graded(taster))
    seen = np.array([row.last_day is not None for row in rows], bool)
    pairs: dict[Pair, int] = {}
    pair_of = [pairs.setdefault((row.wine_a, row.wine_b), len(pairs)) for row in rows]
    met = {pair for pair, has_memory in zip(pair_of, seen, strict=True) if has_memory}
    of_pairs = _of_pairs(desk, list(pairs), met)
    matters = np.array(shares(pair_of, of_pairs))
    if lost:
        hidden = [not lost.isdisjoint(row.cues.split("+")) for row in rows]
        matters = np.where(hidden, matters * _UNPERCEIVED, matters)
    exam_in = _exam_in(desk, day)
    value = worth(
        model,
        curve,
        stability=np.array([row.stability or 1.0 for row in rows]),
        difficulty=np.array([row.difficulty or 5.0 for row in rows]),
        last=np.array([row.last_day or 0 for row in rows], float),
        seen=seen,
        importance=matters,
        day=day,
        exam_in=exam_in,
    )
    place = places(value, seen, last_days=in_last_days(exam_in), room=room)
    order = np.argsort(place, kind="stable")[: int(np.isfinite(place).sum())]
    index = {row.contrast_id: number for number, row in enumerate(rows)}
    costly = sorted(pairs, key=lambda pair: -of_pairs[pairs[pair]])
    ranks = {pair: nth for nth, pair in enumerate(costly, 1)}
    return Planned(rows, value, seen, ranks, curve, order, index)


def _exam_in(desk: Desk, day: int) -> float | None:
    exam = desk.settings.exam
    return None if exam is None or exam.toordinal() < day else float(exam.toordinal() - day)


def _of_pairs(desk: Desk, pairs: list[Pair], met: set[int]) -> list[float]:
    known = desk.table.profiles
    counted = Counter(
        (row.was, row.called, row.tasted_on)
        for row in desk.repository.reveals(desk.taster.id)
        if row.was in known and row.called in known
    )
    calls = [CallCount(*call, times) for call, times in counted.items()]
    touched = {
        ordered_pair(was, called)
        for was, called, _ in counted
        if called is not None and called != was
    }
    near = [
        number
        for number, pair in enumerate(pairs)
        if known.keys() >= set(pair) and (number < _NEAREST or number in met or pair in touched)
    ]
    weights = desk.settings.exam_weights

    def weight(pair: Pair) -> float:
        return sum(weights.get(known[wine].style, 1.0) for wine in pair) / 2

    today = date.fromordinal(desk.clock.today())
    chosen = [pairs[number] for number in near]
    values = expected_confusions(chosen, calls, today, desk.cellar.separation, weight)
    # Further pairs stand behind all that were valued, in their order.
    last = min(values, default=1.0)
    found = [last / (2 + number) for number in range(len(pairs))]
    for number, value in zip(near, values, strict=True):
        found[number] = value
    return found
