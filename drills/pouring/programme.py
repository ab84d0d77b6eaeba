"""The choice as a small integer programme, solved by HiGHS through scipy.

Variables, all 0 or 1: x for a wine that is poured as one of a pair, d for one poured as a decoy,
y for a stake that is covered. A stake is covered where both its wines are poured as pairs
(y <= x of either), an x is part of a covered stake, and a decoy shares no stake with another pour.
That at most k wines are in pairs also bounds the stakes of one wine by (k - 1) x, which no flight
violates and which makes the relaxation tighter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from drills.pouring.field import PENCE, Field

# HiGHS stops at an absolute gap of 1e-6, so values are scaled until that is one part in 1e9.
_SCALE = 1000.0
# How far the second and third round may fall behind the best value: rounding only.
_SAME = 1e-9
# Branches searched before the best flight so far is taken, without proof. No time limit: the same
# flight has to come out on every machine.
NODES = 200_000


@dataclass(frozen=True, slots=True)
class Solution:
    """Places poured as pairs and as decoys; `proven` where nothing makes the aim larger."""

    pairs: frozenset[int]
    decoys: frozenset[int]
    proven: bool


class Programme:
    """The constraints of one field, to be solved for one aim after another."""

    def __init__(
        self, field: Field, *, budget: bool = True, decoys: int | None = None, whole: bool = True
    ) -> None:
        """All constraints; without some of them one learns which of them nothing fits.

        `decoys` stands for the field's number; where not `whole`, fewer wines will do.
        """
        self.field = field
        self.wines = len(field.bottles)
        self.rows: list[tuple[dict[int, float], float, float]] = []
        self.lower = np.zeros(2 * self.wines + len(field.stakes))
        self.upper = np.ones_like(self.lower)
        wanted = field.decoys if decoys is None else decoys
        self._side_by_side()
        self._stakes(field.wines - wanted)
        self._at_least({self.decoy(place): 1.0 for place in range(self.wines)}, wanted)
        everything = self.poured(*range(self.wines))
        self.rows.append((everything, field.wines if whole else 0, field.wines))
        if budget and field.budget < np.inf:
            self._at_most(
                {
                    column: cost
                    for place, cost in enumerate(field.costs)
                    for column in (self.pair(place), self.decoy(place))
                },
                field.budget + PENCE,
            )

    def pair(self, place: int) -> int:
        """The column of a wine poured as one of a pair."""
        return place

    def decoy(self, place: int) -> int:
        """The column of a wine poured as a decoy."""
        return self.wines + place

    def stake(self, number: int) -> int:
        """The column of a stake."""
        return 2 * self.wines + number

    def poured(self, *places: int) -> dict[int, float]:
        """How many of these places are poured."""
        return {column: 1.0 for p in places for column in (self.pair(p), self.decoy(p))}

    def value(self) -> dict[int, float]:
        """What the covered stakes are worth."""
        return {self.stake(n): stake.value for n, (_, _, stake) in enumerate(self.field.stakes)}

    def one_pair(self) -> None:
        """From now on at least one stake is covered."""
        self._at_least(dict.fromkeys(self.value(), 1.0), 1)

    def keep_value(self, least: float) -> None:
        """From now on the covered stakes are worth at least so much."""
        value = self.value()
        scale = _SCALE / max(value.values())
        self._at_least(
            {column: scale * worth for column, worth in value.items()}, scale * least * (1 - _SAME)
        )

    def keep_pairs(self, places: frozenset[int]) -> None:
        """From now on exactly these are poured as pairs."""
        for place in range(self.wines):
            kept = 1.0 if place in places else 0.0
            self.lower[self.pair(place)] = self.upper[self.pair(place)] = kept

    def maximise(self, aim: dict[int, float]) -> Solution | None:
        """The places that make the aim largest; None where nothing fits the constraints."""
        found, _ = self._solve(aim, integral=True)
        if found.x is None:
            return None
        picked = np.flatnonzero(found.x[: 2 * self.wines] > 0.5)
        return Solution(
            frozenset(int(column) for column in picked if column < self.wines),
            frozenset(int(column) - self.wines for column in picked if column >= self.wines),
            found.status == 0,
        )

    def bound(self, aim: dict[int, float]) -> float:
        """What the aim cannot exceed: the same constraints with parts of wines allowed."""
        found, scale = self._solve(aim, integral=False)
        return 0.0 if found.x is None else float(-found.fun) / scale

    def _side_by_side(self) -> None:
        for place in range(self.wines):
            self._at_most(self.poured(place), 1)
        for one, other in sorted(self.field.clashes):
            self._at_most(self.poured(one, other), 1)

    def _stakes(self, pairing: int) -> None:
        of_wine: list[list[int]] = [[] for _ in range(self.wines)]
        for number, (one, other, _) in enumerate(self.field.stakes):
            of_wine[one].append(number)
            of_wine[other].append(number)
            for place, partner in ((one, other), (other, one)):
                self._at_most({self.stake(number): 1, self.pair(place): -1}, 0)
                self._at_most({self.decoy(place): 1, **self.poured(partner)}, 1)
        for place, numbers in enumerate(of_wine):
            covered = {self.stake(number): 1.0 for number in numbers}
            self._at_least({self.pair(place): -1.0, **covered}, 0)
            self._at_most({self.pair(place): 1.0 - pairing, **covered}, 0)

    def _at_most(self, terms: dict[int, float], limit: float) -> None:
        self.rows.append((terms, -np.inf, limit))

    def _at_least(self, terms: dict[int, float], limit: float) -> None:
        self.rows.append((terms, limit, np.inf))

    def _solve(self, aim: dict[int, float], *, integral: bool) -> tuple[Any, float]:
        scale = _SCALE / max(max(map(abs, aim.values()), default=0.0) or 1.0, 1e-300)
        objective = np.zeros_like(self.lower)
        for column, worth in aim.items():
            objective[column] = -worth * scale
        return milp(
            objective,
            integrality=np.full(objective.shape, int(integral)),
            bounds=Bounds(self.lower, self.upper),
            constraints=self._constraints(),
            options={"mip_rel_gap": 0.0, "node_limit": NODES},
        ), scale

    def _constraints(self) -> Any:
        entries: Sequence[tuple[int, int, float]] = [
            (row, column, factor)
            for row, (terms, _, _) in enumerate(self.rows)
            for column, factor in terms.items()
        ]
        rows, columns, factors = zip(*entries, strict=True)
        matrix = coo_array(
            (factors, (rows, columns)), shape=(len(self.rows), len(self.lower))
        ).tocsr()
        return LinearConstraint(
            matrix, [low for _, low, _ in self.rows], [high for _, _, high in self.rows]
        )
