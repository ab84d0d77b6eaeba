"""A newcomer's prior from a group's counts: limits, sums, and what estimates it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.confusions import PRIOR_POURS
from drills.statistics.group_prior import (
    LEAST_EXPECTED,
    USUAL,
    Confused,
    Credit,
    GroupCounts,
    Poured,
    Prior,
    beta_of_moments,
    counts_of_taster,
    credit,
    group_prior,
    of_both,
    trust,
)

CALLED, WAS = "chablis", "sancerre"
USUALLY = Credit()
RATES = st.floats(0.001, 0.6)
WORTHS = st.floats(1.0, 60.0)


def counts(confused: int, poured: int, tasters: int = 1) -> GroupCounts:
    """So many tasters with equal counts each."""
    one = counts_of_taster([(WAS, CALLED, confused), (WAS, WAS, poured - confused)])
    whole = GroupCounts()
    for _ in range(tasters):
        whole += one
    return whole


def prior(found: GroupCounts, expected: float, believed: Credit = USUALLY) -> Prior:
    made = group_prior(found, believed, CALLED, WAS, expected)
    assert made is not None
    return made


def test_the_usual_credit_makes_the_tables_own_prior_where_nothing_was_poured() -> None:
    # N = A and K = A leave A K / (A + K + 1) pours.
    worth = USUAL * USUAL / (2 * USUAL + 1)
    assert worth == pytest.approx(PRIOR_POURS)
    assert group_prior(GroupCounts(), Credit(), CALLED, WAS, 0.1) is None
    assert group_prior(counts(1, 4), Credit(), WAS, CALLED, 0.1) is None


def test_counts_of_a_taster_leave_out_pours_without_a_call() -> None:
    found = counts_of_taster([(WAS, CALLED, 2), (WAS, None, 5), (WAS, WAS, 1), (CALLED, WAS, 1)])
    assert found.poured == {WAS: Poured(1, 3, 6), CALLED: Poured(1, 1, 0)}
    assert found.confused == {(CALLED, WAS): Confused(2, 2), (WAS, CALLED): Confused(1, 0)}


def test_wines_that_too_few_were_poured_are_left_out_with_their_confusions() -> None:
    found = counts(1, 4, tasters=3) + counts_of_taster([(CALLED, WAS, 1)])
    kept = found.of_at_least(3)
    assert kept.poured == {WAS: Poured(3, 12, 36)}
    assert kept.confused == {(CALLED, WAS): Confused(3, 0)}
    assert found.of_at_least(1) == found


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), min_size=1, max_size=6))
def test_counts_add_up_in_any_order(tasters: list[tuple[int, int]]) -> None:
    parts = [counts_of_taster([(WAS, CALLED, y), (WAS, WAS, more)]) for y, more in tasters]
    there, back = GroupCounts(), GroupCounts()
    for one in parts:
        there += one
    for one in reversed(parts):
        back += one
    assert there == back
    poured = there.poured[WAS]
    assert poured.pours == sum(y + more for y, more in tasters)
    assert poured.twice <= poured.pours * (poured.pours - 1)


@given(st.integers(0, 12), st.integers(0, 12), st.integers(1, 40), RATES, WORTHS, WORTHS)
def test_the_prior_lies_between_table_and_group_and_is_never_worth_more_than_a_taster(
    confused: int, more: int, tasters: int, expected: float, table: float, likeness: float
) -> None:
    poured = confused + more
    if not poured:
        return
    made = prior(counts(confused, poured, tasters), expected, Credit(table, likeness))
    low, high = sorted((expected, confused / poured))
    assert low - 1e-12 <= made.rate <= high + 1e-12
    alone = table * likeness / (table + likeness + 1)
    assert alone < made.pours < likeness


def test_more_tasters_tell_more_than_more_pours_of_one() -> None:
    table, group = 0.05, 0.5
    one, many = prior(counts(20, 40), table), prior(counts(1, 2, tasters=20), table)
    assert table < one.rate < many.rate < group
    assert one.pours < many.pours


def test_tasters_who_differ_much_tell_a_newcomer_less() -> None:
    found = counts(5, 10, tasters=5)
    alike, unlike = (prior(found, 0.05, Credit(USUAL, k)) for k in (40.0, 3.0))
    assert unlike.pours < alike.pours
    assert abs(unlike.rate - 0.05) < abs(alike.rate - 0.05)


def test_no_confusion_is_impossible() -> None:
    made = prior(counts(0, 10, tasters=10), 0.0)
    assert 0 < made.rate < LEAST_EXPECTED


def test_the_variance_is_that_of_a_newcomer_drawn_from_the_model() -> None:
    """Drawn by chance, not by the formula: the group's rate given its counts, then a taster's."""
    rng = np.random.default_rng(5)
    expected, believed = 0.2, Credit(6.0, 9.0)
    # One pour a taster: then the group's counts are binomial about its rate, and N = A + n.
    made = prior(counts(1, 1, tasters=3) + counts(0, 1, tasters=9), expected, believed)
    shared = rng.beta(6.0 * 0.2 + 3, 6.0 * 0.8 + 9, 400_000)
    rate = rng.beta(9.0 * shared, 9.0 * (1 - shared))
    assert made.rate == pytest.approx(rate.mean(), abs=0.001)
    assert made.rate * (1 - made.rate) / (made.pours + 1) == pytest.approx(rate.var(), rel=0.01)


@pytest.mark.parametrize(("table", "likeness"), [(3.0, 8.0), (20.0, 25.0)])
def test_credit_finds_what_the_counts_were_drawn_with(table: float, likeness: float) -> None:
    rng = np.random.default_rng(11)
    wines = [f"wine {n}" for n in range(300)]
    expected = dict(zip(wines, rng.uniform(0.05, 0.4, len(wines)), strict=True))
    found = GroupCounts()
    shared = {w: rng.beta(table * t, table * (1 - t)) for w, t in expected.items()}
    for _ in range(25):
        calls: list[tuple[str, str | None, int]] = []
        for wine, m in shared.items():
            n = int(rng.poisson(4))
            y = int(rng.binomial(n, rng.beta(likeness * m + 1e-9, likeness * (1 - m) + 1e-9)))
            calls += [(wine, "x", y), (wine, wine, n - y)]
        found += counts_of_taster(call for call in calls if call[2])
    told = credit(found, lambda called, was: expected[was] if called == "x" else 0.0)
    assert told.table == pytest.approx(table, rel=0.25)
    assert told.likeness == pytest.approx(likeness, rel=0.25)


def test_where_there_is_nothing_to_learn_the_usual_credit_stands() -> None:
    assert credit(GroupCounts(), lambda *_: 0.1) == Credit()
    alone = credit(counts(2, 5), lambda *_: 0.2)
    assert alone.likeness == pytest.approx(USUAL)


@given(RATES, WORTHS, RATES, WORTHS, st.floats(0, 1))
def test_a_mixture_keeps_mean_and_variance(
    one: float, worth: float, other: float, less: float, share: float
) -> None:
    made = of_both(Prior(one, worth), Prior(other, less), share)
    assert made.rate == pytest.approx(share * one + (1 - share) * other)
    assert 0 < made.pours <= max(worth, less) + 1e-6
    if share == 1:
        assert made.pours == pytest.approx(worth)


def test_trust_follows_a_tasters_own_calls() -> None:
    group, table = Prior(0.4, 10), Prior(0.05, 4)
    assert trust([]) == pytest.approx(0.8)
    assert trust([(4, 8, group, table)]) > 0.9
    assert trust([(0, 12, group, table)]) < 0.3
    assert trust([(0, 5000, group, table)] * 100) == pytest.approx(0, abs=1e-9)
    assert trust([(50, 100, group, table)] * 100) == pytest.approx(1)


def test_a_beta_has_the_moments_it_was_made_of() -> None:
    a, b = beta_of_moments(0.2, 0.01)
    assert a / (a + b) == pytest.approx(0.2)
    assert a * b / (a + b) ** 2 / (a + b + 1) == pytest.approx(0.01)
