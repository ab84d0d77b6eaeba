"""Difference tests: what holds for any counts, and pours that were not balanced."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from drills.statistics.difference import (
    DifferenceTest,
    fewest,
    minimum_correct,
    p_value,
    p_value_any_habit,
    told_apart,
)

# Machines that do other work too may take long over one example.
patient = settings(deadline=None)

tests = st.sampled_from(list(DifferenceTest))
alphas = st.sampled_from([0.001, 0.01, 0.05, 0.1, 0.2])


@patient
@given(st.integers(0, 300), alphas, tests)
def test_the_minimum_is_the_first_count_that_is_told_apart(
    n: int, alpha: float, test: DifferenceTest
) -> None:
    least = minimum_correct(n, alpha, test)
    if least is None:
        assert not told_apart(n, n, alpha, test)
        return
    assert told_apart(least, n, alpha, test)
    # The two-sided count is symmetric, so below one half the larger count is meant.
    assert not told_apart(least - 1, n, alpha, test)


@patient
@given(st.integers(1, 200), tests)
def test_more_right_answers_are_never_more_probable_by_luck(n: int, test: DifferenceTest) -> None:
    start = (n + 1) // 2 if test.sides == 2 else 0
    values = [p_value(x, n, test) for x in range(start, n + 1)]
    assert all(one >= after for one, after in pairwise(values))
    assert all(0 < value <= 1 for value in values)
    if test.sides == 1:
        assert values[0] == 1


def test_no_answers_prove_nothing() -> None:
    assert minimum_correct(0) is None
    assert p_value(0, 0) == 1
    assert not told_apart(0, 0)


def test_many_answers_are_counted_without_overflow() -> None:
    assert p_value(5000, 10_000) == pytest.approx(stats.binom.sf(4999, 10_000, 0.5), rel=1e-9)
    assert p_value(10_000, 10_000) == 0.0  # 2^-10000 is below the smallest double
    assert minimum_correct(2000) == int(stats.binom.isf(0.05, 2000, 0.5)) + 1


def test_a_level_met_exactly_counts() -> None:
    # (1/2)^5 = 0.03125 is a binary fraction, so nothing is rounded.
    assert minimum_correct(5, 0.03125) == 5
    assert minimum_correct(5, 0.031249) is None


def test_impossible_counts_and_levels_are_refused() -> None:
    for right, n in ((-1, 5), (6, 5), (0, -1)):
        with pytest.raises(ValueError, match="no count"):
            p_value(right, n)
    for alpha in (0.0, 1.0, -0.1):
        with pytest.raises(ValueError, match="level"):
            told_apart(1, 1, alpha)
        with pytest.raises(ValueError, match="level"):
            fewest(alpha)
    with pytest.raises(ValueError, match="no count"):
        p_value_any_habit(4, 5, -1)


def luck(right: int, a: int, b: int, habits: np.ndarray) -> np.ndarray:
    """P(at least so many right) for each habit, by adding two binomials up, as scipy has them."""
    right_a, right_b = np.arange(a + 1), np.arange(b + 1)
    of_a = stats.binom.pmf(right_a, a, habits[:, None])
    of_b = stats.binom.pmf(right_b, b, 1 - habits[:, None])
    enough = right_a[:, None] + right_b >= right
    found: np.ndarray = np.einsum("hi,hj,ij->h", of_a, of_b, enough.astype(float))
    return found


@patient
@given(st.integers(0, 12), st.integers(0, 12), st.data())
def test_no_habit_makes_luck_likelier_than_the_p_value_says(
    a: int, b: int, data: st.DataObject
) -> None:
    right = data.draw(st.integers(0, a + b))
    found = p_value_any_habit(right, a, b)
    by_habit = luck(right, a, b, np.linspace(0, 1, 1001))
    # The search is finer than these thousand habits, so it may stand a little above them.
    assert by_habit.max() - 1e-12 <= found <= by_habit.max() + 1e-5
    assert found >= by_habit[500] - 1e-12
    assert found == pytest.approx(p_value_any_habit(right, b, a), abs=1e-9)


@pytest.mark.parametrize(("a", "b"), [(3, 2), (4, 1), (8, 2), (7, 0), (10, 10)])
def test_all_right_in_closed_form(a: int, b: int) -> None:
    # h^a (1 - h)^b is largest at h = a / (a + b).
    h = a / (a + b)
    assert p_value_any_habit(a + b, a, b) == pytest.approx(h**a * (1 - h) ** b, abs=1e-12)


def test_one_wine_alone_never_tells_two_apart() -> None:
    # Who always says Chablis is always right when only Chablis is poured.
    assert p_value_any_habit(20, 20, 0) == 1
    assert p_value(20, 20) < 1e-5


def test_balanced_pours_are_the_paired_comparison() -> None:
    for right, each in ((5, 3), (9, 5), (15, 10), (20, 14)):
        found = p_value_any_habit(right, each, each)
        assert found == pytest.approx(p_value(right, 2 * each), abs=1e-9)


@pytest.mark.parametrize(("a", "b"), [(10, 10), (14, 6), (18, 2), (5, 3), (3, 9)])
def test_guessing_passes_at_most_as_often_as_the_level_says(a: int, b: int) -> None:
    passed = [x for x in range(a + b + 1) if p_value_any_habit(x, a, b) <= 0.05]
    assert passed, "some count is beyond luck for all of these"
    assert luck(min(passed), a, b, np.linspace(0, 1, 777)).max() <= 0.05 + 1e-9
