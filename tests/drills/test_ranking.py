"""A ranking kept in step with answers is the one that would be made anew."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.memory import MemoryModel
from drills.planning.arrays import model_of
from drills.planning.curve import OwnCurve
from drills.planning.order import first_places, places
from drills.planning.ranking import Memory, Ranking
from drills.planning.value import worth

MODEL, DAY = model_of(MemoryModel()), 739_000


@dataclass
class State:
    """What a ranking is made of, as a test keeps it."""

    pairs: list[int]
    memories: list[Memory | None]
    importance: list[float]
    exam_in: float | None = None
    pace: tuple[float, float] = (12.0, 12.0)
    shown: list[int] = field(default_factory=list)

    def ranking(self) -> Ranking:
        """Made anew."""
        made = Ranking(
            MODEL,
            OwnCurve(0.7, 0.3),
            pairs=self.pairs,
            stability=[one and one[0] for one in self.memories],
            difficulty=[one and one[1] for one in self.memories],
            last=[one and one[2] for one in self.memories],
            importance=self.importance,
            day=DAY,
            exam_in=self.exam_in,
        )
        made.paced(*self.pace)
        return made


def state(seed: int, contrasts: int = 160, exam_in: float | None = None) -> State:
    rng = np.random.default_rng(seed)
    memories: list[Memory | None] = [
        (float(rng.lognormal(2, 1.5)), float(rng.uniform(1, 10)), DAY - int(rng.integers(0, 60)))
        if rng.random() < 0.5
        else None
        for _ in range(contrasts)
    ]
    pairs = [number // 8 for number in range(contrasts)]
    importance = [float(one) for one in rng.lognormal(0, 1, pairs[-1] + 1)]
    return State(pairs, memories, importance, exam_in)


MEMORY = st.one_of(
    st.none(), st.tuples(st.floats(0.01, 400), st.floats(1, 10), st.integers(DAY - 90, DAY))
)
CHANGE = st.tuples(st.integers(0, 159), MEMORY, st.floats(0.01, 50), st.floats(2, 60))


@settings(deadline=None)
@given(
    seed=st.integers(0, 5),
    exam_in=st.sampled_from([None, 3.0, 20.0]),
    changes=st.lists(CHANGE, max_size=12),
    number=st.integers(1, 40),
    since=st.integers(0, 50),
)
def test_after_any_answers_it_is_as_if_made_anew(
    seed: int, exam_in: float | None, changes: list[Any], number: int, since: int
) -> None:
    kept = state(seed, exam_in=exam_in)
    ranking = kept.ranking()
    for place, memory, importance, seconds in changes:
        pair = kept.pairs[place]
        kept.memories[place], kept.importance[pair] = memory, importance
        kept.pace = (seconds, 12.0)
        ranking.remember(place, memory)
        ranking.weigh(pair, importance)
        ranking.paced(*kept.pace)
    anew, out = kept.ranking(), {place for place, *_ in changes[:2]}
    assert ranking.ahead(number, since=since, left_out=out) == anew.ahead(
        number, since=since, left_out=out
    )
    for place in range(0, 160, 13):
        assert ranking.recall(place) == pytest.approx(anew.recall(place), rel=1e-12)
        assert ranking.gain(place) == pytest.approx(anew.gain(place), rel=1e-9, abs=1e-12)
        pair = kept.pairs[place]
        assert (ranking.nth(pair), ranking.met(pair)) == (anew.nth(pair), anew.met(pair))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("last_days", "room"), [(True, 50), (False, 5), (False, 50), (False, 500)])
def test_the_first_places_are_those_of_the_whole_order(
    seed: int, last_days: bool, room: float
) -> None:
    rng = np.random.default_rng(seed)
    seen = rng.random(400) < (0.2, 0.5, 0.9, 1.0)[seed]
    value = worth(
        MODEL,
        OwnCurve(),
        stability=rng.lognormal(2, 1.5, 400),
        difficulty=rng.uniform(1, 10, 400),
        last=float(DAY) - rng.integers(0, 60, 400),
        seen=seen,
        # Many are equal, so that ties are met.
        importance=rng.integers(1, 4, 400).astype(float),
        day=DAY,
    )
    whole = places(value, seen, last_days=last_days, room=room)
    order = [int(one) for one in np.argsort(whole, kind="stable") if np.isfinite(whole[one])]
    for number in (1, 7, 60, 400):
        found = first_places(value, seen, number, last_days=last_days, room=room)
        assert found == order[:number]


@pytest.mark.parametrize("seed", range(4))
def test_planning_anew_at_every_card_keeps_the_share_of_unseen(seed: int) -> None:
    ranking = state(seed, 800).ranking()
    at_once = ranking.ahead(60, room=5000)
    out: list[int] = []
    since = 0
    for _ in range(60):
        (place,) = ranking.ahead(1, room=5000, since=since, left_out=out)
        since = since + 1 if ranking.seen[place] else 0
        out.append(place)
    assert out == at_once


def test_a_pair_that_matters_more_comes_sooner() -> None:
    kept = state(1)
    ranking = kept.ranking()
    before = ranking.ahead(160)
    place = next(one for one in reversed(before) if ranking.seen[one])
    pair = kept.pairs[place]
    ranking.weigh(pair, kept.importance[pair] * 20)
    assert ranking.ahead(160).index(place) < before.index(place)
    assert ranking.nth(pair) == 1


def test_in_the_last_days_what_is_quick_comes_sooner() -> None:
    kept = state(2, exam_in=3)
    ranking = kept.ranking()
    ranking.paced(12, 12)
    even = ranking.ahead(40)
    ranking.paced(40, 8)
    unseen = [sum(not ranking.seen[one] for one in order) for order in (even, ranking.ahead(40))]
    assert unseen[0] < unseen[1]
