"""Confusions at the next flight, from counts that were grouped before."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.confusions import (
    CallCount,
    recency,
    weak_pairs,
)

# Machines that do other work too may take long over one example.
patient = settings(deadline=None)

TODAY = date(2026, 3, 2)
wines = st.sampled_from(["barolo", "brunello", "rioja"])
logs = st.lists(
    st.builds(
        CallCount,
        was=wines,
        called=st.none() | wines,
        tasted_on=st.none() | st.dates(date(2025, 12, 1), TODAY),
        times=st.just(1),
    ),
    max_size=40,
)


def apart(_a: str, _b: str) -> float:
    return 4.0


@patient
@given(logs)
def test_grouped_calls_say_what_single_ones_say(log: list[CallCount]) -> None:
    grouped = [
        CallCount(*key, times)
        for key, times in Counter((c.was, c.called, c.tasted_on) for c in log).items()
    ]
    one = {(p.called, p.was): p for p in weak_pairs(log, TODAY, apart)}
    other = {(p.called, p.was): p for p in weak_pairs(grouped, TODAY, apart)}
    assert one.keys() == other.keys()
    for key, pair in one.items():
        assert other[key].times == pair.times
        assert (other[key].rate, other[key].low, other[key].high, other[key].expected) == (
            pytest.approx((pair.rate, pair.low, pair.high, pair.expected))
        )


@patient
@given(logs, st.integers(1, 12))
def test_a_flight_of_more_pours_costs_as_many_times_more(log: list[CallCount], pours: int) -> None:
    for one, many in zip(
        weak_pairs(log, TODAY, apart), weak_pairs(log, TODAY, apart, pours=pours), strict=True
    ):
        assert many.expected == pytest.approx(pours * one.expected)
        assert many.rate == one.rate


def test_a_shorter_half_life_forgets_faster() -> None:
    old = TODAY - timedelta(60)
    log = [CallCount("b", "a", old, 1)] * 3 + [CallCount("b", "b", TODAY, 1)] * 3
    slow, fast = (weak_pairs(log, TODAY, apart, half_life=days)[0] for days in (120, 30))
    assert fast.rate < slow.rate
    assert recency(old, TODAY, 30) == 0.25
    # As a log ages its interval widens towards that of the prior.
    later = weak_pairs(log, TODAY + timedelta(720), apart)[0]
    assert later.high - later.low > slow.high - slow.low


def test_expected_confusions_come_true_on_average() -> None:
    # Rates drawn from the prior, a log of twelve pours, then one flight of six.
    rng = np.random.default_rng(21)
    expected = came = 0.0
    for rate in rng.beta(2, 2, size=1500):
        confused = int(rng.binomial(12, rate))
        if not confused:
            continue
        log = [CallCount("b", "a", TODAY, 1)] * confused + [CallCount("b", "b", TODAY, 1)] * (
            12 - confused
        )
        (pair,) = weak_pairs(log, TODAY, lambda *_: 0.0, pours=6)
        expected, came = expected + pair.expected, came + int(rng.binomial(6, rate))
    assert came == pytest.approx(expected, rel=0.04)
