"""Kappa, change of mind, bias and spread: what holds for any counts."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats
from sklearn.metrics import cohen_kappa_score

from drills.statistics.agreement import disagreement, kappa, table_of
from drills.statistics.change import change_of_mind
from drills.statistics.structure import (
    alcohol_calls,
    spread_of_moments,
)

# Machines that do other work too may take long over one example.
patient = settings(deadline=None)

counted = st.dictionaries(
    st.tuples(st.integers(0, 4), st.integers(0, 4)), st.integers(0, 15), min_size=1
)
weights = st.sampled_from([None, "linear", "quadratic"])


@patient
@given(counted, weights)
def test_kappa_lies_between_its_bounds_and_is_that_of_scikit_learn(
    counts: dict[tuple[int, int], int], weight: str | None
) -> None:
    assume(any(counts.values()))
    found = kappa(table_of(counts, 5), weight)  # type: ignore[arg-type]
    rows = [i for (i, _), times in counts.items() for _ in range(times)]
    columns = [j for (_, j), times in counts.items() for _ in range(times)]
    if found is None:
        assert len({*rows, *columns}) == 1
        return
    assert -1 - 1e-12 <= found.value <= 1 + 1e-12
    assert found.low <= found.value + 1e-12
    assert found.value - 1e-12 <= found.high
    assert found.n == len(rows)
    expected = cohen_kappa_score(rows, columns, labels=list(range(5)), weights=weight)
    assert found.value == pytest.approx(expected, abs=1e-9)


@patient
@given(counted, weights)
def test_it_does_not_matter_who_stands_in_the_rows(
    counts: dict[tuple[int, int], int], weight: str | None
) -> None:
    turned = {(j, i): times for (i, j), times in counts.items()}
    one, other = (kappa(table_of(c, 5), weight) for c in (counts, turned))  # type: ignore[arg-type]
    assert (one is None) == (other is None)
    if one is not None and other is not None:
        assert one.value == pytest.approx(other.value, abs=1e-12)
        # Compared as variances: the root of a rounding error is large.
        assert one.se**2 == pytest.approx(other.se**2, abs=1e-12)


def test_full_agreement_and_none() -> None:
    found = kappa([[4, 0], [0, 3]])
    assert found is not None
    assert (found.value, found.se) == pytest.approx((1, 0), abs=1e-7)
    against = kappa([[0, 5], [5, 0]])
    assert against is not None
    assert against.value == -1
    # Everything in one category: chance agrees as well, so nothing can be said.
    assert kappa([[9, 0], [0, 0]]) is None
    assert kappa([[0, 0], [0, 0]]) is None


def test_one_level_off_weighs_less_than_two() -> None:
    near = table_of({(0, 1): 5, (1, 1): 5, (2, 2): 5}, 3)
    far = table_of({(0, 2): 5, (1, 1): 5, (2, 2): 5}, 3)
    for weight in ("linear", "quadratic"):
        one, other = kappa(near, weight), kappa(far, weight)  # type: ignore[arg-type]
        assert one is not None
        assert other is not None
        assert one.value > other.value


def test_weights_of_ones_own() -> None:
    assert disagreement(3, [[0, 1, 3], [1, 0, 6], [3, 6, 0]])[1] == [1 / 6, 0, 1]
    linear = [[abs(i - j) for j in range(4)] for i in range(4)]
    table = [[7, 7, 2, 3], [2, 8, 3, 7], [1, 5, 4, 9], [2, 8, 9, 14]]
    own, named = kappa(table, linear), kappa(table, "linear")
    assert own is not None
    assert named is not None
    assert (own.value, own.se) == pytest.approx((named.value, named.se))


@pytest.mark.parametrize(
    ("table", "weight", "words"),
    [
        ([[1, 2]], None, "same categories"),
        ([[1]], None, "same categories"),
        ([[1, -1], [0, 1]], None, "negative"),
        ([[1, 1], [0, 1]], [[0, 1, 2]] * 3, "size"),
        ([[1, 1], [0, 1]], [[0, 0], [0, 0]], "zero"),
        ([[1, 1], [0, 1]], [[1, 1], [1, 0]], "full agreement"),
    ],
)
def test_tables_and_weights_that_cannot_be_are_refused(
    table: list[list[int]], weight: list[list[int]] | None, words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        kappa(table, weight)


def test_levels_outside_the_scale_are_refused() -> None:
    with pytest.raises(ValueError, match="level"):
        table_of({(0, 5): 1}, 5)


# --- first call against final call

some = st.integers(0, 60)


@patient
@given(some, some, some, some)
def test_only_calls_that_differ_decide(both: int, lost: int, gained: int, neither: int) -> None:
    found = change_of_mind(both, lost, gained, neither)
    if lost + gained:
        assert found.p_exact == pytest.approx(stats.binomtest(lost, lost + gained).pvalue, rel=1e-9)
    else:
        assert found.p_exact == 1
    assert found.p_exact == change_of_mind(0, lost, gained, 0).p_exact
    assert found.p_corrected >= found.p_chi_square
    assert found.gain.low <= found.gain.value <= found.gain.high
    turned = change_of_mind(both, gained, lost, neither)
    assert turned.gain.value == -found.gain.value
    names = {"first": "final", "final": "first", None: None}
    assert turned.better() == names[found.better()]


def test_who_loses_by_changing_is_told_so() -> None:
    assert change_of_mind(30, 12, 2, 10).better() == "first"
    assert change_of_mind(30, 2, 12, 10).better() == "final"
    assert change_of_mind(30, 5, 4, 10).better() is None
    with pytest.raises(ValueError, match="negative"):
        change_of_mind(1, -1, 0, 0)


def test_the_gain_covers_the_true_one_as_often_as_it_says() -> None:
    rng = np.random.default_rng(4)
    cells = [0.5, 0.08, 0.17, 0.25]
    held = 0
    for drawn in rng.multinomial(120, cells, size=1500):
        gain = change_of_mind(*drawn.tolist()).gain
        held += gain.low <= cells[2] - cells[1] <= gain.high
    assert held / 1500 == pytest.approx(0.95, abs=0.025)


# --- bias and spread

levels_off = st.dictionaries(st.integers(-4, 4), st.integers(1, 30), min_size=1)


@patient
@given(levels_off)
def test_bias_and_spread_are_those_of_scipy(off: dict[int, int]) -> None:
    values = np.repeat(list(off), list(off.values()))
    found = spread_of_moments(len(values), values.sum(), (values**2).sum())
    assert found.n == len(values)
    assert found.bias.value == pytest.approx(values.mean(), abs=1e-12)
    if found.sd is None:
        assert found.n == 1
        assert (found.bias.low, found.bias.high) == (-math.inf, math.inf)
        return
    assert found.sd.value == pytest.approx(values.std(ddof=1), abs=1e-9)
    if found.sd.value > 1e-6:
        limits = stats.t.interval(0.95, len(values) - 1, values.mean(), stats.sem(values))
        assert (found.bias.low, found.bias.high) == pytest.approx(limits)
        middle = (len(values) - 1) * values.var(ddof=1)
        quantiles = stats.chi2.ppf([0.975, 0.025], len(values) - 1)
        assert (found.sd.low, found.sd.high) == pytest.approx(tuple(np.sqrt(middle / quantiles)))


def test_alcohol_calls_against_labels() -> None:
    pairs = [(13.5, 13.0), (14.0, 14.5), (13.0, 13.0), (12.0, 13.5), (14.6, 14.0)]
    off = np.array([called - label for called, label in pairs])
    found = alcohol_calls(5, off.sum(), (off**2).sum(), 3)
    assert found.within.value == pytest.approx(0.6)
    assert found.spread.bias.value == pytest.approx(off.mean())
    assert found.spread.sd is not None
    assert found.spread.sd.value == pytest.approx(off.std(ddof=1))


def test_without_a_call_there_is_no_bias() -> None:
    with pytest.raises(ValueError, match="without a call"):
        spread_of_moments(0, 0, 0)
    with pytest.raises(ValueError, match="no count"):
        alcohol_calls(3, 0.1, 0.2, 4)
