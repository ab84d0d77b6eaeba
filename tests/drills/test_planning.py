"""What the planner promises: the memory model's own numbers, a learnt curve, a sensible order."""

from __future__ import annotations

import random
from datetime import date
from itertools import pairwise

import numpy as np
import pytest

from drills.confusions import CallCount
from drills.grading import Grade
from drills.memory import MemoryModel
from drills.planning.arrays import ArrayModel, model_of
from drills.planning.curve import CurveBelief, OwnCurve, curve_of
from drills.planning.importance import Confusions, shares
from drills.planning.order import UNSEEN_EVERY, UNSEEN_LEAST, places
from drills.planning.value import Worth, in_last_days, worth

MODEL = model_of(MemoryModel())
FIRST_DAY = 739_000


def own_numbers() -> tuple[float, ...]:
    usual = list(MemoryModel().numbers)
    for place, factor in {0: 1.3, 2: 0.8, 5: 1.1, 8: 1.05, 11: 0.9, 14: 0.95, 20: 1.2}.items():
        usual[place] *= factor
    return tuple(usual)


# ---- the memory model as arrays


@pytest.mark.parametrize("memory", [MemoryModel(), MemoryModel(0.8, own_numbers())])
def test_arrays_follow_the_library_to_the_last_digits(memory: MemoryModel) -> None:
    rng, model = random.Random(5), model_of(memory)
    for _ in range(300):
        day, grade = FIRST_DAY, Grade(rng.randint(1, 4))
        trace = memory.after(None, grade, day)
        stability, difficulty = model.first(grade)
        for _ in range(12):
            assert stability == pytest.approx(trace.stability, rel=1e-9)
            assert difficulty == pytest.approx(trace.difficulty, rel=1e-9)
            assert trace.due_day - day == max(
                round(float(model.holds(stability, memory.target))), 1
            )
            gap = rng.randint(1, 90)
            recall = model.recall(gap, stability)
            assert recall == pytest.approx(memory.recall(trace, day + gap), abs=1e-9)
            day, grade = day + gap, Grade(rng.randint(1, 4))
            trace = memory.after(trace, grade, day)
            stability, difficulty = model.after(stability, difficulty, recall, grade)


# ---- the taster's own curve


@pytest.mark.parametrize(
    ("factor", "power"), [(0.4, 0.1542), (1.0, 0.3), (3.0, 0.1542), (0.5, 1.2)]
)
def test_answers_speak_for_the_curve_that_made_them(factor: float, power: float) -> None:
    """From 3,000 answers of a known forgetting, recall on its later course is found to 0.05."""
    rng, true = np.random.default_rng(8), OwnCurve(factor, power)
    stability, days = rng.uniform(0.3, 60, 3000), rng.integers(1, 60, 3000)
    recalled = rng.random(3000) < true.recall(days, stability)
    known = recalled | (rng.random(3000) < 0.1)
    belief = CurveBelief()
    belief.learn(np.zeros(3000, int), days, stability, known)
    learnt = belief.curve()
    for gap in (3, 10, 30, 90):
        found = float(learnt.recall(gap, 10.0)[0, 0])
        assert found == pytest.approx(float(true.recall(gap, 10.0)), abs=0.05)


def test_without_answers_the_curve_is_near_the_memory_models() -> None:
    curve = curve_of(MODEL, [])
    assert curve.recall(10, 10.0) == pytest.approx(0.9, abs=0.01)
    assert curve.recall(60, 10.0) == pytest.approx(MODEL.recall(60, 10.0), abs=0.08)


def test_stored_answers_are_replayed_as_the_memory_model_took_them() -> None:
    """The belief from a stored log equals the one from answers fed one by one."""
    rng, memory = random.Random(4), MemoryModel()
    log, belief = [], CurveBelief()
    one = np.zeros(1, int)
    for contrast in range(60):
        trace, day = None, FIRST_DAY
        for _ in range(rng.randint(1, 7)):
            grade = Grade(rng.randint(1, 4))
            known = np.array([grade > Grade.NOT_RECALLED])
            if trace is None:
                belief.learn_first(one, known)
            elif day > trace.last_day:
                gap = day - trace.last_day
                belief.learn(one, np.array([gap]), np.array([trace.stability]), known)
            log.append((contrast, int(grade), day))
            # On one day twice happens only in one's own log; the model knows such answers too.
            trace = memory.after(trace, grade, day)
            day += rng.randint(1, 20)
    rng.shuffle(log)
    log.sort(key=lambda entry: entry[2])
    found, wanted = curve_of(MODEL, log), belief.curve()
    assert found.factor == pytest.approx(float(wanted.factor[0, 0]), rel=1e-9)
    assert found.power == pytest.approx(float(wanted.power[0, 0]), rel=1e-9)
    assert found.at_first == pytest.approx(float(wanted.at_first[0, 0]))


# ---- worth


def valued(number: int, seed: int = 1, **changes: object) -> tuple[Worth, np.ndarray]:
    rng = np.random.default_rng(seed)
    seen = rng.random(number) < 0.4
    given = {
        "stability": rng.lognormal(2, 1.5, number),
        "difficulty": rng.uniform(1, 10, number),
        "last": float(FIRST_DAY) - rng.integers(0, 60, number),
        "seen": seen,
        "importance": rng.lognormal(0, 1, number),
        "day": FIRST_DAY,
    }
    return worth(MODEL, OwnCurve(), **{**given, **changes}), seen  # type: ignore[arg-type]


def test_gain_is_the_difference_that_a_showing_makes_to_recall_ahead() -> None:
    memory = MemoryModel()
    trace = memory.after(
        memory.after(None, Grade.RECALLED, FIRST_DAY), Grade.RECALLED, FIRST_DAY + 5
    )
    day = trace.last_day + 9
    told = worth(
        MODEL,
        OwnCurve(),
        stability=np.array([trace.stability]),
        difficulty=np.array([trace.difficulty]),
        last=np.array([float(trace.last_day)]),
        seen=np.array([True]),
        importance=np.array([2.0]),
        day=day,
        exam_in=12,
    )
    known = memory.recall(trace, day)
    then = [
        memory.recall(memory.after(trace, grade, day), day + 12)
        for grade in (Grade.RECALLED, Grade.NOT_RECALLED)
    ]
    gain = known * then[0] + (1 - known) * then[1] - memory.recall(trace, day + 12)
    assert told.gain[0] == pytest.approx(gain, abs=1e-9)
    assert told.worth[0] == pytest.approx(2 * gain / (known + 1.5 * (1 - known)), abs=1e-9)


def test_what_was_answered_today_is_not_planned_again() -> None:
    told, seen = valued(500, last=np.full(500, float(FIRST_DAY)))
    assert not np.isfinite(told.worth[seen]).any()
    assert np.isfinite(told.worth[~seen]).all()


def test_twice_as_important_is_twice_as_worthy_and_twice_as_slow_half() -> None:
    usual, _ = valued(200)
    more, _ = valued(200, importance=np.ones(200) * 2)
    one, _ = valued(200, importance=np.ones(200))
    slow, _ = valued(200, importance=np.ones(200), seconds=np.full(200, 2.0))
    there = np.isfinite(usual.worth)
    np.testing.assert_allclose(more.worth[there], 2 * one.worth[there])
    np.testing.assert_allclose(slow.worth[there], one.worth[there] / 2)


@pytest.mark.parametrize(
    ("exam_in", "trusted", "last"),
    [
        (None, True, False),
        (12, True, True),
        (13, True, False),
        (5, False, False),
        (4, False, True),
        (0, False, True),
        (-1, True, False),
    ],
)
def test_the_last_days_before_an_exam_are_more_where_the_memory_model_is_trusted(
    exam_in: float | None, trusted: bool, last: bool
) -> None:
    curve = OwnCurve() if trusted else OwnCurve(0.2, 0.6)
    assert bool(in_last_days(curve, exam_in)) is last


def test_trust_in_the_memory_model_is_lost_where_recall_falls_faster_or_without_a_tail() -> None:
    assert OwnCurve().trust == 1
    assert OwnCurve(factor=3.0).trust == 1
    assert 0 < OwnCurve(factor=0.6).trust < 1
    assert OwnCurve(factor=0.2).trust == 0
    assert OwnCurve(power=0.6).trust == 0
    many = OwnCurve(np.array([[1.0], [0.2]]), np.array([[0.1542], [0.1542]]))
    np.testing.assert_allclose(many.trust, [[1.0], [0.0]])


def test_what_fades_is_held_earlier_without_trust_in_the_memory_model() -> None:
    def fading(curve: OwnCurve) -> float:
        again = worth(
            MODEL,
            curve,
            stability=np.full(2000, 10.0),
            difficulty=np.full(2000, 5.0),
            last=FIRST_DAY - np.arange(2000) / 20,
            seen=np.ones(2000, bool),
            importance=np.ones(2000),
            day=FIRST_DAY,
        )
        return float(again.recall[again.fading].max())

    assert fading(OwnCurve()) == pytest.approx(0.7, abs=0.01)
    assert fading(OwnCurve(0.2, 0.6)) == pytest.approx(0.82, abs=0.01)


# ---- order


@pytest.mark.parametrize("room", [20, 50, 200, 5000])
def test_what_fades_comes_first_with_a_share_of_unseen_by_the_backlog(room: int) -> None:
    told, seen = valued(2000)
    order = np.argsort(places(told, seen, last_days=False, room=room), kind="stable")
    fading = int(told.fading.sum())
    assert fading > 200
    every = min(max(UNSEEN_EVERY * fading // room, UNSEEN_EVERY), UNSEEN_LEAST)
    head = order[: every * 4]
    assert [place for place, one in enumerate(head) if not seen[one]] == [
        every * n - 1 for n in range(1, 5)
    ]
    kept = [one for one in order if told.fading[one]]
    assert all(told.worth[a] >= told.worth[b] for a, b in pairwise(kept))
    fresh = [one for one in order if not seen[one]]
    assert all(told.worth[a] >= told.worth[b] for a, b in pairwise(fresh))


def test_in_the_last_days_worth_alone_decides() -> None:
    told, seen = valued(2000)
    found = places(told, seen, last_days=True)
    order = np.argsort(found, kind="stable")[: int(np.isfinite(found).sum())]
    assert all(told.worth[a] >= told.worth[b] for a, b in pairwise(order))


def test_every_contrast_that_may_come_has_a_place_of_its_own() -> None:
    told, seen = valued(700)
    found = places(told, seen, last_days=False)
    there = np.isfinite(told.worth)
    assert len(set(found[there])) == there.sum()
    assert np.isinf(found[~there]).all()


# ---- importance


def test_a_pair_that_was_mixed_up_is_expected_to_be_again_and_one_told_apart_less() -> None:
    mixed, other = ("barolo", "chianti"), ("chablis", "sancerre")
    today = date(2026, 3, 2)

    def expected(*calls: CallCount) -> list[float]:
        logged = Confusions(calls, today)
        return [logged.expected(pair, 30.0) for pair in (mixed, other)]

    before = expected()
    assert before[0] == before[1]
    after = expected(CallCount("barolo", "chianti", today, 3))
    assert after[0] > 5 * before[0]
    assert after[1] == before[1]
    assert expected(CallCount("barolo", "barolo", today, 9))[0] < before[0]


def test_a_pairs_importance_is_divided_among_its_contrasts_the_first_most() -> None:
    found = shares(np.array([0, 1, 0, 0]))
    assert found[1] == 1.0
    assert found[0] + found[2] + found[3] == pytest.approx(1.0)
    assert found[0] > found[2] > found[3] > 0


def test_array_models_of_several_tasters_at_once() -> None:
    many = ArrayModel([np.array([[value], [value]]) for value in MemoryModel().numbers])
    stability = np.array([[3.0, 5.0], [3.0, 5.0]])
    np.testing.assert_allclose(many.recall(4, stability), MODEL.recall(4, stability), rtol=1e-12)
