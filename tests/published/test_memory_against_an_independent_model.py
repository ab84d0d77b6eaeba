"""The memory model against an independent implementation of the same published algorithm.

`fsrs-rs-python` wraps a Rust implementation with the same default parameters; it counts in single
precision (24 bits, 6e-8 relative for each operation), which a dozen answers stretch to about 1e-5.

Two differences are systematic and are checked as such below, not excluded:
- the oracle's intervals are fractional days; ours are whole study days, at least one;
- the oracle ends stability at 36,500 days, a hundred years, where ours goes on; only the days until
  an answer end there.
"""

from __future__ import annotations

import random
from itertools import pairwise

import fsrs_rs_python
import pytest
from fsrs_rs_python import FSRS, FSRSItem, FSRSReview, MemoryState

from drills.grading import Grade
from drills.memory import MemoryModel, Trace

HISTORIES = 3000
FIRST_DAY = 738_000
ORACLE = FSRS(list(fsrs_rs_python.DEFAULT_PARAMETERS))
HUNDRED_YEARS = 36_500

History = list[tuple[Grade, int]]


def random_history(rng: random.Random) -> History:
    """Up to twelve answers of all grades, with and without several on one day.

    The days between lean on what the model would propose, with early and very late ones.
    """
    model, trace, day = MemoryModel(), None, FIRST_DAY
    history: History = []
    for _ in range(rng.randint(1, 12)):
        if trace is not None:
            proposed = model.holds(trace)
            day += rng.choice(
                [0, 1, 2, 3, rng.randint(1, 60), proposed, proposed, proposed // 2, 3 * proposed]
            )
        grade = Grade(rng.randint(1, 4))
        history.append((grade, day))
        trace = model.after(trace, grade, day)
        # Beyond a hundred years the two part, see the test of that below.
        if trace.stability > HUNDRED_YEARS / 10:
            break
    return history


@pytest.fixture(scope="module")
def histories() -> list[History]:
    rng = random.Random(20)
    return [random_history(rng) for _ in range(HISTORIES)]


def stepwise(history: History) -> list[tuple[Trace, MemoryState, float]]:
    """After each answer: our trace, the oracle's state, the oracle's days until the target."""
    model = MemoryModel()
    trace, state, last = None, None, FIRST_DAY
    found = []
    for grade, day in history:
        trace = model.after(trace, grade, day)
        after = ORACLE.next_states(state, 0.9, day - last)
        chosen = (after.again, after.hard, after.good, after.easy)[grade - 1]
        state, last = chosen.memory, day
        found.append((trace, state, chosen.interval))
    return found


def test_the_histories_are_varied(histories: list[History]) -> None:
    """What the comparison rests on: every grade, as first and later answer, on and off one day."""
    met = {
        (grade, place == 0, place > 0 and day == history[place - 1][1])
        for history in histories
        for place, (grade, day) in enumerate(history)
    }
    kinds = ((True, False), (False, False), (False, True))
    assert met == {(grade, first, same) for grade in Grade for first, same in kinds}
    assert sum(map(len, histories)) > 5 * HISTORIES


def test_stability_and_difficulty_after_every_answer(histories: list[History]) -> None:
    worst_stability = worst_difficulty = 0.0
    for history in histories:
        for trace, state, _ in stepwise(history):
            worst_stability = max(worst_stability, abs(state.stability / trace.stability - 1))
            worst_difficulty = max(worst_difficulty, abs(state.difficulty / trace.difficulty - 1))
    assert worst_stability < 1e-4
    assert worst_difficulty < 1e-5


def test_days_until_the_target_after_every_answer(histories: list[History]) -> None:
    model = MemoryModel()
    for history in histories:
        for trace, _, interval in stepwise(history):
            # A recall of 0.9 is where stability is defined, so days and stability are one number.
            assert interval == pytest.approx(trace.stability, rel=1e-4)
            days = model.holds(trace)
            assert abs(days - interval) <= 1
            # Whole days: rounded to the nearest, but never back on the same study day.
            if interval >= 1:
                assert abs(days - interval) <= 0.5 + 1e-4 * interval
            else:
                assert days == 1


@pytest.mark.parametrize("target", [0.7, 0.8, 0.85, 0.95, 0.97])
def test_days_until_another_target(histories: list[History], target: float) -> None:
    model = MemoryModel(target)
    for history in histories[:300]:
        trace = model.replay(history)
        assert trace is not None
        days = ORACLE.next_interval(trace.stability, target, int(history[-1][0]))
        assert abs(model.holds(trace) - min(max(days, 1), HUNDRED_YEARS)) <= 0.5 + 2e-4 * days


def test_whole_histories_at_once(histories: list[History]) -> None:
    """The oracle's own replay of a history, a second path through it, against ours."""
    items, traces = [], []
    for history in histories:
        days = [day for _, day in history]
        gaps = [0, *(after - before for before, after in pairwise(days))]
        items.append(
            FSRSItem(
                [FSRSReview(int(grade), gap) for (grade, _), gap in zip(history, gaps, strict=True)]
            )
        )
        trace = MemoryModel().replay(history)
        assert trace is not None
        traces.append(trace)
    for trace, state in zip(traces, ORACLE.memory_state_batch(items), strict=True):
        assert state.stability == pytest.approx(trace.stability, rel=1e-4)
        assert state.difficulty == pytest.approx(trace.difficulty, rel=1e-5)


def test_recall_on_any_later_day(histories: list[History]) -> None:
    model, rng = MemoryModel(), random.Random(21)
    for history in histories:
        trace = model.replay(history)
        assert trace is not None
        card = fsrs_rs_python.Card()
        card.stability, card.difficulty = trace.stability, trace.difficulty
        card.parameters = list(fsrs_rs_python.DEFAULT_PARAMETERS)
        card.last_date = 0.0
        for gap in (0, 1, model.holds(trace), rng.randint(2, 400)):
            expected = card.retention_on(float(gap))
            assert model.recall(trace, trace.last_day + gap) == pytest.approx(expected, rel=1e-5)


def test_own_parameters_are_used() -> None:
    """A taster's own parameters reach the model: the same history under other numbers."""
    rng = random.Random(22)
    own = [round(value, 6) for value in fsrs_rs_python.DEFAULT_PARAMETERS]
    # Moved a little, each within the bounds that both implementations set.
    for place, factor in {0: 1.3, 2: 0.8, 4: 0.9, 6: 0.9, 8: 1.05, 10: 0.9, 14: 0.95}.items():
        own[place] *= factor
    for place, factor in {5: 1.1, 9: 1.2, 13: 1.1, 16: 0.9, 18: 1.2, 19: 0.9, 20: 1.2}.items():
        own[place] *= factor
    model, oracle = MemoryModel(parameters=tuple(own)), FSRS(own)
    for _ in range(200):
        history = random_history(rng)
        trace, state, last = None, None, FIRST_DAY
        for grade, day in history:
            trace = model.after(trace, grade, day)
            after = oracle.next_states(state, 0.9, day - last)
            state = (after.again, after.hard, after.good, after.easy)[grade - 1].memory
            last = day
            assert state.stability == pytest.approx(trace.stability, rel=1e-4)
            assert state.difficulty == pytest.approx(trace.difficulty, rel=1e-5)


def test_beyond_a_hundred_years_the_oracle_stops_and_ours_goes_on() -> None:
    model = MemoryModel()
    trace, state, last = None, None, FIRST_DAY
    for day in (FIRST_DAY, FIRST_DAY + 3_000, FIRST_DAY + 60_000, FIRST_DAY + 300_000):
        trace = model.after(trace, Grade.AT_EASE, day)
        state = ORACLE.next_states(state, 0.9, day - last).easy.memory
        last = day
    assert trace is not None
    assert state is not None
    assert state.stability == HUNDRED_YEARS
    assert trace.stability > HUNDRED_YEARS
    assert model.holds(trace) == HUNDRED_YEARS
