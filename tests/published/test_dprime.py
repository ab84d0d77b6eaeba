"""d-prime against published examples, tables computed elsewhere, and the integrals themselves."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, stats

from drills.statistics.dprime import (
    DUO_TRIO,
    THREE_AFC,
    TRIANGLE,
    TWO_AFC,
    Method,
    chance,
    d_prime,
    estimate_d_prime,
    proportion_correct,
    yes_no,
)

METHODS: tuple[Method, ...] = (2, 3, 4, "triangle", "duo-trio")

# Computed with scipy from Hacker and Ratcliff 1979 (m alternatives) and the formulas of Ennis 1993,
# Bi 2006 and ASTM E2262: d', then 2-AFC, 3-AFC, 4-AFC, triangle, duo-trio.
TABLE = {
    0.5: (0.6382, 0.4826, 0.3933, 0.3558, 0.5223),
    1.0: (0.7602, 0.6337, 0.5520, 0.4180, 0.5825),
    1.5: (0.8556, 0.7658, 0.7019, 0.5065, 0.6635),
    2.0: (0.9214, 0.8658, 0.8228, 0.6048, 0.7468),
    2.5: (0.9615, 0.9314, 0.9065, 0.6993, 0.8196),
    3.0: (0.9831, 0.9688, 0.9564, 0.7814, 0.8765),
}
# The way back, computed with scipy: method, share right, d'.
BACK: list[tuple[Method, float, float]] = [
    (2, 0.6, 0.3583),
    (2, 0.75, 0.9539),
    (2, 0.9, 1.8124),
    (3, 0.7, 1.2380),
    (3, 0.9, 2.2302),
    (4, 0.5, 0.8368),
    (4, 0.8, 1.8932),
    ("triangle", 0.5, 1.46626),
    ("triangle", 0.7, 2.50370),
]


@pytest.mark.parametrize("d", TABLE)
def test_shares_of_right_answers(d: float) -> None:
    for method, expected in zip(METHODS, TABLE[d], strict=True):
        assert proportion_correct(d, method) == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize("d", TABLE)
def test_the_table_read_backwards(d: float) -> None:
    for method, share in zip(METHODS, TABLE[d], strict=True):
        # The share is printed to 5e-5; how much that is in d' depends on the slope there.
        slope = proportion_correct(d + 0.01, method) - proportion_correct(d - 0.01, method)
        assert d_prime(share, method) == pytest.approx(d, abs=6e-5 * 0.02 / slope)
        exact = proportion_correct(d, method)
        assert d_prime(exact, method) == pytest.approx(d, abs=1e-9)


@pytest.mark.parametrize(("method", "share", "d"), BACK)
def test_d_prime_from_shares(method: Method, share: float, d: float) -> None:
    assert d_prime(share, method) == pytest.approx(d, abs=1e-4)


@pytest.mark.parametrize("d", [0.0, 0.1, 0.7, 1.3, 2.2, 3.7, 5.5])
def test_the_shares_are_the_integrals_of_their_models(d: float) -> None:
    for m in (2, 3, 4, 7):
        found, _ = integrate.quad(
            lambda x, m=m: stats.norm.pdf(x - d) * stats.norm.cdf(x) ** (m - 1),
            -12,
            12 + d,
            epsabs=1e-13,
            limit=200,
        )
        assert proportion_correct(d, m) == pytest.approx(found, abs=1e-10)
    # The triangle is also the upper tail of a noncentral F beyond 3.
    tail = stats.ncf.sf(3, 1, 1, d * d * 2 / 3) if d else 1 / 3
    assert proportion_correct(d, TRIANGLE) == pytest.approx(tail, abs=1e-9)


def test_the_triangle_and_the_duo_trio_as_tasters_would_do_them() -> None:
    # Simulated from the decision rules, not the formulas: the odd glass is the one left when the
    # two nearest are taken as the same; the reference's match is the nearer glass.
    rng = np.random.default_rng(5)
    d, n = 1.8, 400_000
    same, again, odd = rng.normal(size=(3, n))
    odd += d
    apart = np.abs(same - again)
    triangle = ((apart < np.abs(same - odd)) & (apart < np.abs(again - odd))).mean()
    duo_trio = (apart < np.abs(same - odd)).mean()
    within = 4 * math.sqrt(0.25 / n)
    assert proportion_correct(d, TRIANGLE) == pytest.approx(triangle, abs=within)
    assert proportion_correct(d, DUO_TRIO) == pytest.approx(duo_trio, abs=within)


def test_ten_of_fifteen_right_as_the_package_sensr_prints_it() -> None:
    # R package sensR, help and tests of `discrim` (read, and run again): 10 of 15 right.
    two = estimate_d_prime(10, 15, TWO_AFC)
    assert two.value == pytest.approx(0.6091404, abs=1e-6)
    assert two.se == pytest.approx(0.4734123, abs=1e-6)
    assert (two.low, two.high) == pytest.approx((0, 1.6741819), abs=1e-6)
    assert two.p_value == pytest.approx(0.1508789, abs=1e-7)
    # Its other methods are solved to about 1e-5 there.
    assert estimate_d_prime(10, 15, THREE_AFC).value == pytest.approx(1.1159023, abs=2e-5)
    assert estimate_d_prime(10, 15, DUO_TRIO).value == pytest.approx(1.5188515, abs=2e-5)
    triangle = estimate_d_prime(10, 15, TRIANGLE)
    assert triangle.value == pytest.approx(2.3213620, abs=2e-5)
    assert triangle.p_value == pytest.approx(0.00850427, abs=5e-9)
    # Ours gives back the share to full precision.
    for method in METHODS:
        back = proportion_correct(estimate_d_prime(10, 15, method).value, method)
        assert back == pytest.approx(2 / 3, abs=1e-12)


@pytest.mark.parametrize("method", METHODS)
def test_standard_errors_by_a_slope_taken_numerically(method: Method) -> None:
    found = estimate_d_prime(24, 30, method)
    step = 1e-5
    slope = (
        proportion_correct(found.value + step, method)
        - proportion_correct(found.value - step, method)
    ) / (2 * step)
    assert found.se == pytest.approx(math.sqrt(0.8 * 0.2 / 30) / slope, rel=1e-6)


@pytest.mark.parametrize("method", METHODS)
def test_limits_are_those_of_the_exact_interval_floored_at_chance(method: Method) -> None:
    for right in (3, 9, 17, 20):
        found = estimate_d_prime(right, 20, method)
        exact = stats.binomtest(right, 20).proportion_ci(0.95, "exact")
        for limit, share in ((found.low, exact.low), (found.high, exact.high)):
            if share >= 1:
                assert limit == math.inf
            else:
                expected = max(share, chance(method))
                assert proportion_correct(limit, method) == pytest.approx(expected, abs=1e-9)


def test_yes_and_no() -> None:
    # R package sensR, its help: 8 hits of 25, 1 false alarm of 25.
    found = yes_no(8, 25, 1, 25)
    assert found.value == pytest.approx(1.2829873, abs=1e-6)
    hits, alarms = 8 / 25, 1 / 25
    by_hand = sum(
        share * (1 - share) / (25 * stats.norm.pdf(stats.norm.ppf(share)) ** 2)
        for share in (hits, alarms)
    )
    assert found.se == pytest.approx(math.sqrt(by_hand))


def test_the_usual_example_of_signal_detection() -> None:
    # z(0.8) - z(0.4) = 0.842 + 0.253 = 1.095, from any table of the normal distribution.
    assert yes_no(80, 100, 40, 100).value == pytest.approx(1.095, abs=5e-4)
