"""The memory model's promises, whatever the history."""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.grading import Grade
from drills.memory import TARGET_RECALL, MemoryModel, Trace

MODEL = MemoryModel()
DAY = 738_000
NOT_RECALLED, WITH_EFFORT, RECALLED, AT_EASE = Grade

History = list[tuple[Grade, int]]
gaps = st.one_of(st.integers(0, 3), st.integers(0, 400))
histories = st.lists(st.tuples(st.sampled_from(Grade), gaps), min_size=1, max_size=12).map(
    lambda steps: [
        (grade, DAY + sum(gap for _, gap in steps[1 : place + 1]))
        for place, (grade, _) in enumerate(steps)
    ]
)
targets = st.sampled_from([0.7, 0.8, 0.85, 0.9, 0.95])


def left_by(history: History, model: MemoryModel = MODEL) -> Trace:
    trace = model.replay(history)
    assert trace is not None
    return trace


def test_the_usual_target_is_nine_in_ten() -> None:
    assert TARGET_RECALL == 0.9
    assert MODEL.target == 0.9


@given(histories, targets)
def test_recall_is_the_target_after_the_days_it_holds(history: History, target: float) -> None:
    """To the nearest day: a day less and it is above, a day more and it is below."""
    model = MemoryModel(target)
    trace = left_by(history, model)
    days = model.holds(trace)
    assert days >= 1
    assert model.recall(trace, trace.last_day + days + 1) < target
    if days > 1:
        assert model.recall(trace, trace.last_day + days - 1) > target
    if days > 30:
        assert model.recall(trace, trace.due_day) == pytest.approx(target, abs=0.005)


def test_recall_is_nine_in_ten_after_as_many_days_as_the_stability() -> None:
    trace = Trace(stability=100.0, difficulty=5.0, last_day=DAY, due_day=DAY + 100)
    assert MODEL.recall(trace, DAY + 100) == pytest.approx(0.9, abs=1e-12)


@given(histories)
def test_recall_starts_whole_and_falls_with_every_day(history: History) -> None:
    trace = left_by(history)
    days = [0, 1, 2, 7, 30, 365, 3650]
    recalls = [MODEL.recall(trace, trace.last_day + gap) for gap in days]
    assert recalls[0] == 1
    assert recalls == sorted(recalls, reverse=True)
    assert len(set(recalls)) == len(recalls)
    assert recalls[-1] > 0
    # A clock set back does not make it more than certain.
    assert MODEL.recall(trace, trace.last_day - 5) == 1


def test_what_was_never_seen_is_not_recalled() -> None:
    assert MODEL.recall(None, DAY) == 0
    assert MODEL.replay([]) is None


@given(histories, gaps)
def test_a_slip_shortens_what_it_holds(history: History, gap: int) -> None:
    before = left_by(history)
    after = MODEL.after(before, NOT_RECALLED, before.last_day + gap)
    assert after.stability < before.stability
    assert MODEL.holds(after) <= MODEL.holds(before)
    assert after.difficulty >= before.difficulty
    assert after.slips == before.slips + 1


@given(histories, gaps)
def test_a_better_answer_holds_at_least_as_long(history: History, gap: int) -> None:
    before = left_by(history)
    after = [MODEL.after(before, grade, before.last_day + gap) for grade in Grade]
    stabilities = [trace.stability for trace in after]
    assert stabilities == sorted(stabilities)
    difficulties = [trace.difficulty for trace in after]
    assert difficulties == sorted(difficulties, reverse=True)
    assert [MODEL.holds(trace) for trace in after] == sorted(map(MODEL.holds, after))
    # Recalled in any way, it holds no shorter than before.
    assert after[1].stability >= before.stability


def test_first_answers_hold_in_the_order_of_their_grades() -> None:
    first = [MODEL.after(None, grade, DAY) for grade in Grade]
    days = [MODEL.holds(trace) for trace in first]
    assert days == sorted(days)
    # No steps inside the day: whatever comes first, it is due another day.
    assert days[0] == 1
    assert days[-1] > days[0]
    assert all((trace.answers, trace.last_day) == (1, DAY) for trace in first)
    assert [trace.slips for trace in first] == [1, 0, 0, 0]


def test_waiting_longer_and_still_recalling_teaches_more() -> None:
    before = left_by([(RECALLED, DAY), (RECALLED, DAY + 2)])
    soon = MODEL.after(before, RECALLED, before.last_day + 1)
    late = MODEL.after(before, RECALLED, before.last_day + 30)
    assert late.stability > soon.stability


@given(histories, targets)
def test_a_replay_equals_the_steps(history: History, target: float) -> None:
    model, trace = MemoryModel(target), None
    for grade, day in history:
        trace = model.after(trace, grade, day)
    assert model.replay(iter(history)) == trace
    # Nor does it matter where the history was cut and kept.
    for cut in range(1, len(history)):
        kept = model.replay(history[:cut])
        for grade, day in history[cut:]:
            kept = model.after(kept, grade, day)
        assert kept == trace


@given(histories)
def test_a_trace_keeps_within_its_bounds(history: History) -> None:
    trace = left_by(history)
    assert 1 <= trace.difficulty <= 10
    assert trace.stability > 0
    assert trace.due_day > trace.last_day == history[-1][1]
    assert trace.answers == len(history)
    assert trace.slips == sum(grade is NOT_RECALLED for grade, _ in history)


@given(histories, st.sampled_from(Grade), st.integers(1, 1000))
def test_the_day_never_goes_backwards(history: History, grade: Grade, back: int) -> None:
    """A clock set back, or a taster who flew west: the answer counts on the last day."""
    before = left_by(history)
    after = MODEL.after(before, grade, before.last_day - back)
    assert after.last_day == before.last_day
    assert after == MODEL.after(before, grade, before.last_day)


@given(histories, st.integers(-100_000, 100_000))
def test_only_the_days_between_count(history: History, shift: int) -> None:
    here = left_by(history)
    there = left_by([(grade, day + shift) for grade, day in history])
    assert (here.stability, here.difficulty) == (there.stability, there.difficulty)
    assert there.due_day - here.due_day == shift


@given(histories, targets)
def test_the_target_moves_the_due_day_and_not_the_memory(history: History, target: float) -> None:
    usual, other = left_by(history), left_by(history, MemoryModel(target))
    assert (other.stability, other.difficulty) == (usual.stability, usual.difficulty)
    assert (other.due_day >= usual.due_day) if target < 0.9 else (other.due_day <= usual.due_day)


def test_no_answer_is_moved_by_chance(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without fuzz the days are those of the stability, for long intervals too; nothing waits."""

    def no_sleep(seconds: float) -> None:
        raise AssertionError(f"slept {seconds} s")

    monkeypatch.setattr(time, "sleep", no_sleep)
    history = [(AT_EASE, DAY), (AT_EASE, DAY + 8), (RECALLED, DAY + 60), (AT_EASE, DAY + 400)]
    traces = {left_by(history) for _ in range(50)}
    assert len(traces) == 1
    (trace,) = traces
    assert MODEL.holds(trace) == round(trace.stability) > 100


def test_own_parameters_of_the_wrong_number_are_refused() -> None:
    with pytest.raises(ValueError, match="21"):
        MemoryModel(parameters=(1.0, 2.0)).after(None, RECALLED, DAY)
