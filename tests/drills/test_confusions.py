"""Confusion rates against scipy, values worked out by hand, and a simulation."""

from __future__ import annotations

import math
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from drills.confusions import (
    CREDIBLE,
    HALF_LIFE_DAYS,
    PRIOR_POURS,
    CallCount,
    prior_rate,
    recency,
    weak_pairs,
)

TODAY = date(2026, 3, 2)
# No separation at all: the prior rate is one half, worth PRIOR_POURS = 4 pours, so Beta(2, 2).
SAME = 0.0


def same(_a: str, _b: str) -> float:
    return SAME


def calls(called: str | None, was: str, times: int = 1, days_ago: int = 0) -> list[CallCount]:
    return [CallCount(was, called, TODAY - timedelta(days=days_ago), 1)] * times


def test_one_confusion_in_four_pours_worked_by_hand() -> None:
    log = calls("sancerre", "marlborough") + calls("marlborough", "marlborough", 3)
    (pair,) = weak_pairs(log, TODAY, same)
    # Beta(2 + 1, 2 + 3): mean 3/8, and its interval from scipy.
    assert (pair.called, pair.was, pair.times) == ("sancerre", "marlborough", 1)
    assert pair.rate == pytest.approx(3 / 8)
    low, high = stats.beta(3, 5).interval(0.9)
    assert (pair.low, pair.high) == pytest.approx((low, high))
    # Every pour of the log was this wine.
    assert pair.expected == pytest.approx(3 / 8)


def test_an_interval_with_a_closed_form() -> None:
    # A pair far apart has a prior rate near 0: PRIOR_POURS * prior is all of `yes` before any call.
    # With Beta(1, b) the distribution is 1 - (1 - x)^b, so its quantiles are known exactly.
    (pair,) = weak_pairs(calls("a", "b"), TODAY, lambda *_: 1e4)
    assert pair.rate == pytest.approx(1 / 5)
    assert pair.low == pytest.approx(1 - 0.95 ** (1 / 4))
    assert pair.high == pytest.approx(1 - 0.05 ** (1 / 4))


@given(
    confused=st.integers(min_value=1, max_value=30),
    right=st.integers(min_value=0, max_value=60),
    separation=st.floats(min_value=0, max_value=40),
    days_ago=st.integers(min_value=0, max_value=1500),
)
def test_rate_and_interval_are_those_of_the_beta_posterior(
    confused: int, right: int, separation: float, days_ago: int
) -> None:
    log = calls("a", "b", confused, days_ago) + calls("b", "b", right)
    (pair,) = weak_pairs(log, TODAY, lambda *_: separation)
    counted = confused * 0.5 ** (days_ago / 120)
    prior = stats.norm.sf(math.sqrt(2 * separation * math.log(10) / 10) / 2)
    posterior = stats.beta(4 * prior + counted, 4 * (1 - prior) + right)
    assert pair.times == confused
    assert pair.rate == pytest.approx(posterior.mean())
    assert pair.low == pytest.approx(posterior.ppf(0.05), abs=1e-9)
    assert pair.high == pytest.approx(posterior.ppf(0.95), abs=1e-9)
    assert 0 <= pair.low <= pair.high <= 1
    held = posterior.cdf(pair.high) - posterior.cdf(pair.low)
    assert held == pytest.approx(CREDIBLE, abs=1e-6)


def test_the_interval_covers_the_true_rate_as_often_as_it_says() -> None:
    # Rates drawn from the prior itself, ten pours each: 90% of the intervals should hold them.
    rng = np.random.default_rng(20260302)
    rates = rng.beta(2, 2, size=600)
    held = counted = 0
    for rate in rates:
        times = int(rng.binomial(10, rate))
        if not times:
            continue
        counted += 1
        (pair,) = weak_pairs(calls("a", "b", times) + calls("b", "b", 10 - times), TODAY, same)
        held += pair.low <= rate <= pair.high
    # Conditioning on at least one confusion costs a little; 2.5 standard errors are 3%.
    assert held / counted == pytest.approx(CREDIBLE, abs=0.04)


@pytest.mark.parametrize("separation", [0.5, 2.0, 5.0, 10.0, 20.0])
def test_the_prior_is_the_error_of_an_ideal_taster_between_two_normal_pictures(
    separation: float,
) -> None:
    # Two normals d' apart: the mean evidence is d'^2 / 2 nats. The simulation draws readings and
    # weighs them by their densities; it does not use the formula under test.
    apart = math.sqrt(2 * separation * math.log(10) / 10)
    rng = np.random.default_rng(7)
    readings = rng.normal(0.0, 1.0, size=200_000)
    here, there = stats.norm.logpdf(readings, 0.0), stats.norm.logpdf(readings, apart)
    decibans = (here - there) * 10 / math.log(10)
    assert decibans.mean() == pytest.approx(separation, rel=0.02, abs=0.02)
    errors = float((there > here).mean())
    within = 4 * math.sqrt(errors * (1 - errors) / len(readings))
    assert prior_rate(separation) == pytest.approx(errors, abs=within)


@given(st.floats(0, 60), st.floats(0, 60))
def test_the_further_two_wines_are_apart_the_less_confusion_is_expected(
    one: float, other: float
) -> None:
    nearer, further = sorted((one, other))
    assert 0 <= prior_rate(further) <= prior_rate(nearer) <= 0.5
    if further - nearer > 0.01:
        assert prior_rate(further) < prior_rate(nearer)


def test_two_wines_the_table_cannot_tell_apart_are_an_even_bet() -> None:
    assert prior_rate(0.0) == 0.5
    assert prior_rate(-1.0) == 0.5


def test_a_prior_by_hand() -> None:
    # d' = 2 is 2 nats = 8.686 decibans; beyond one standard deviation lies 15.87% of a normal.
    assert prior_rate(20 / math.log(10)) == pytest.approx(0.158655, abs=1e-6)


def test_a_call_counts_half_at_the_half_life_and_a_quarter_at_twice_that() -> None:
    assert recency(TODAY, TODAY) == 1
    assert recency(TODAY - timedelta(days=int(HALF_LIFE_DAYS)), TODAY) == 0.5
    assert recency(TODAY - timedelta(days=2 * int(HALF_LIFE_DAYS)), TODAY) == 0.25


def test_undated_calls_and_dates_still_to_come_count_whole() -> None:
    assert recency(None, TODAY) == 1
    assert recency(TODAY + timedelta(days=9), TODAY) == 1


def test_a_call_of_a_half_life_ago_moves_the_rate_half_as_much() -> None:
    (old,) = weak_pairs(calls("a", "b", 2, int(HALF_LIFE_DAYS)), TODAY, same)
    (new,) = weak_pairs(calls("a", "b", 1), TODAY, same)
    assert old.rate == pytest.approx(new.rate)
    assert (old.times, new.times) == (2, 1)


def test_old_confusions_fade_to_what_the_table_alone_would_expect() -> None:
    (pair,) = weak_pairs(calls("a", "b", 5, 120 * 40), TODAY, lambda *_: 5.0)
    assert pair.rate == pytest.approx(prior_rate(5.0), abs=1e-6)


def test_without_a_call_a_pour_counts_for_nothing() -> None:
    without = weak_pairs(calls("a", "b"), TODAY, same)
    assert weak_pairs(calls("a", "b") + calls(None, "b", 9), TODAY, same) == without
    assert weak_pairs(calls(None, "b", 9), TODAY, same) == []


def test_a_wine_always_called_rightly_is_no_weak_pair() -> None:
    assert weak_pairs(calls("b", "b", 9), TODAY, same) == []
    assert weak_pairs([], TODAY, same) == []


def test_the_pairs_that_cost_most_wines_come_first() -> None:
    log = [
        *calls("seldom", "rare", 1),
        *calls("often", "common", 3),
        *calls("common", "common", 3),
    ]
    ranked = weak_pairs(log, TODAY, same)
    # `rare` is mistaken at the higher rate with every pour; `common` is poured six times as often.
    assert [pair.was for pair in ranked] == ["common", "rare"]
    assert ranked[0].rate == pytest.approx(5 / 10)
    assert ranked[1].rate == pytest.approx(3 / 5)
    assert ranked[0].expected == pytest.approx(5 / 10 * 6 / 7)
    assert ranked[1].expected == pytest.approx(3 / 5 * 1 / 7)


def test_either_direction_of_a_pair_is_counted_for_itself() -> None:
    ranked = weak_pairs(calls("a", "b", 2) + calls("b", "a", 1), TODAY, same)
    assert [(pair.called, pair.was, pair.times) for pair in ranked] == [
        ("a", "b", 2),
        ("b", "a", 1),
    ]


wines = st.sampled_from(["barolo", "brunello", "rioja", "chinon"])


@given(
    st.lists(
        st.builds(
            CallCount,
            was=wines,
            called=st.none() | wines,
            tasted_on=st.none() | st.dates(date(2024, 1, 1), date(2026, 12, 31)),
            times=st.just(1),
        ),
        max_size=40,
    ),
    st.randoms(use_true_random=False),
)
def test_the_order_of_the_log_does_not_matter_and_every_confused_pair_is_listed_once(
    log: list[CallCount], chance: object
) -> None:
    ranked = weak_pairs(log, TODAY, same)
    confused = {(call.called, call.was) for call in log if call.called not in (None, call.was)}
    assert {(pair.called, pair.was) for pair in ranked} == confused
    assert len(ranked) == len(confused)
    assert sum(pair.times for pair in ranked) == sum(
        call.called not in (None, call.was) for call in log
    )
    for one, after in pairwise(ranked):
        assert one.expected >= after.expected
    mixed = list(log)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    again = {(pair.called, pair.was): pair for pair in weak_pairs(mixed, TODAY, same)}
    for pair in ranked:
        other = again[pair.called, pair.was]
        assert other.times == pair.times
        assert other.rate == pytest.approx(pair.rate)


def test_the_prior_is_worth_four_pours() -> None:
    assert PRIOR_POURS == 4
    (pair,) = weak_pairs(calls("a", "b", 4), TODAY, same)
    assert pair.rate == pytest.approx((2 + 4) / 8)
