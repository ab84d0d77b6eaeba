"""d-prime: what holds for any share, and its edges."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.statistics.dprime import (
    Method,
    chance,
    d_prime,
    estimate_d_prime,
    proportion_correct,
    yes_no,
)

# Machines that do other work too may take long over one example.
patient = settings(deadline=None)

methods = st.sampled_from([2, 3, 4, 6, "triangle", "duo-trio"])


@patient
@given(methods, st.floats(0, 6), st.floats(0, 6))
def test_further_apart_is_more_often_right(method: Method, one: float, other: float) -> None:
    nearer, further = sorted((one, other))
    low, high = proportion_correct(nearer, method), proportion_correct(further, method)
    assert chance(method) <= low <= high <= 1
    if further - nearer > 0.01:
        assert low < high


@patient
@given(methods, st.floats(0, 0.999))
def test_back_and_forth(method: Method, share: float) -> None:
    found = d_prime(share, method)
    if share <= chance(method):
        assert found == 0
    else:
        assert proportion_correct(found, method) == pytest.approx(share, abs=1e-9)


@patient
@given(methods, st.integers(1, 80), st.data())
def test_the_estimate_lies_in_its_interval_which_more_answers_narrow(
    method: Method, n: int, data: st.DataObject
) -> None:
    right = data.draw(st.integers(0, n))
    found = estimate_d_prime(right, n, method)
    assert found.low <= found.value <= found.high
    assert found.p_value is not None
    assert 0 <= found.p_value <= 1
    more = estimate_d_prime(4 * right, 4 * n, method)
    assert more.value == found.value
    assert more.low >= found.low
    assert more.high <= found.high


@pytest.mark.parametrize("method", [2, 3, 4, "triangle", "duo-trio"])
def test_at_chance_below_it_and_all_right(method: Method) -> None:
    assert proportion_correct(0, method) == pytest.approx(chance(method), abs=1e-12)
    none = estimate_d_prime(0, 12, method)
    assert (none.value, none.se, none.low) == (0, None, 0)
    every = estimate_d_prime(12, 12, method)
    assert (every.value, every.se, every.high) == (math.inf, None, math.inf)
    assert 0 < every.low < math.inf
    # The p-value falls as the exact test's does.
    assert every.p_value == pytest.approx(chance(method) ** 12)
    assert proportion_correct(30, method) == pytest.approx(1)


def test_a_triangle_is_harder_than_a_choice_of_two_for_the_same_wines() -> None:
    # Gridgeman's paradox: two thirds right mean wines far apart in triangles, near in a choice of
    # three.
    assert d_prime(2 / 3, "triangle") > d_prime(2 / 3, 3) > d_prime(2 / 3, 2)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="no method"):
        proportion_correct(1, 1)
    with pytest.raises(ValueError, match="no method"):
        chance("tetrad")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="not negative"):
        proportion_correct(-0.1, 2)
    with pytest.raises(ValueError, match="share"):
        d_prime(1.1, 2)
    with pytest.raises(ValueError, match="without an answer"):
        estimate_d_prime(0, 0, 2)
    with pytest.raises(ValueError, match="no count"):
        estimate_d_prime(6, 5, 2)


@patient
@given(st.integers(1, 60), st.integers(1, 60), st.data())
def test_yes_and_no_swap_their_sign(signals: int, noises: int, data: st.DataObject) -> None:
    hits = data.draw(st.integers(0, signals))
    alarms = data.draw(st.integers(0, noises))
    found = yes_no(hits, signals, alarms, noises, corrected=True)
    assert math.isfinite(found.value)
    assert found.low < found.value < found.high
    other = yes_no(alarms, noises, hits, signals, corrected=True)
    assert other.value == pytest.approx(-found.value, abs=1e-12)
    assert other.se == pytest.approx(found.se)


def test_yes_and_no_at_the_ends() -> None:
    assert yes_no(10, 10, 3, 10).value == math.inf
    assert yes_no(0, 10, 3, 10).value == -math.inf
    assert yes_no(10, 10, 10, 10).value == 0
    assert yes_no(10, 10, 0, 10).se is None
    with pytest.raises(ValueError, match="both kinds"):
        yes_no(0, 0, 1, 4)
