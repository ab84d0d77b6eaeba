"""How one taster reads: posteriors against scipy, hand calculation and simulated tasters."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from cards.evidence import AVERAGE_READER, Reader
from drills.statistics.readings import (
    ROTUNDONE_ANOSMIC,
    alcohol_reading,
    average_prior,
    chance_not_perceived,
    detection,
    detection_factor,
    noise_from_ranges,
    noise_matrix,
)
from drills.statistics.shares import beta_estimate

# Machines that do other work too may take long over one example.
patient = settings(deadline=None)

square = st.lists(st.lists(st.integers(0, 30), min_size=5, max_size=5), min_size=5, max_size=5)


@patient
@given(square)
def test_each_row_of_the_noise_is_a_distribution_inside_its_intervals(
    counts: list[list[int]],
) -> None:
    found = noise_matrix(counts, average_prior())
    for mean, low, high in zip(found.mean, found.low, found.high, strict=True):
        assert sum(mean) == pytest.approx(1)
        assert all(lo < m < hi for lo, m, hi in zip(low, mean, high, strict=True))


def test_without_readings_the_noise_is_the_average_tasters() -> None:
    found = noise_matrix([[0] * 5] * 5, average_prior())
    for mine, average in zip(found.mean, AVERAGE_READER.level_noise, strict=True):
        assert mine == pytest.approx(average)


def test_intervals_of_the_noise_are_beta_quantiles() -> None:
    found = noise_matrix([[6, 3, 1]], [[1.0, 2.0, 1.0]], level=0.9)
    # Dirichlet(7, 5, 2): the second share is Beta(5, 9).
    assert found.mean[0] == pytest.approx((7 / 14, 5 / 14, 2 / 14))
    assert (found.low[0][1], found.high[0][1]) == pytest.approx(stats.beta(5, 9).interval(0.9))


def test_noise_from_known_levels_is_the_noise_matrix() -> None:
    rng = np.random.default_rng(2)
    counts = rng.integers(0, 20, size=(5, 5))
    prior = average_prior()
    known = np.eye(5)
    readings = [(known[t], r, float(counts[t][r])) for t in range(5) for r in range(5)]
    found = noise_from_ranges(readings, prior)
    expected = noise_matrix(counts.tolist(), prior).mean
    for row, other in zip(found, expected, strict=True):
        assert row == pytest.approx(other)


def test_a_simulated_tasters_noise_comes_back_though_only_ranges_are_known() -> None:
    # A taster noisier than the average one, who reads one level too low half the time.
    true = np.array(Reader(level_sd=0.8).level_noise)
    shifted = 0.5 * true + 0.5 * np.vstack([true[0], true[:-1]])
    rng = np.random.default_rng(8)
    readings = []
    for _ in range(6000):
        low = int(rng.integers(0, 4))
        chances = np.zeros(5)
        chances[low : low + 2] = 0.5
        level = low + int(rng.integers(0, 2))
        readings.append((chances.tolist(), int(rng.choice(5, p=shifted[level])), 1.0))
    found = np.array(noise_from_ranges(readings, average_prior(), rounds=200))
    average = np.array(AVERAGE_READER.level_noise)
    assert np.abs(found - shifted).mean() < 0.04
    assert np.abs(found - shifted).mean() < np.abs(average - shifted).mean() / 3


def test_noise_refuses_what_cannot_be() -> None:
    with pytest.raises(ValueError, match="size"):
        noise_matrix([[1, 2]], [[1.0, 1.0, 1.0]])
    with pytest.raises(ValueError, match="negative"):
        noise_matrix([[1, -2]], [[1.0, 1.0]])
    with pytest.raises(ValueError, match="positive"):
        noise_matrix([[1, 2]], [[1.0, 0.0]])
    with pytest.raises(ValueError, match="round"):
        noise_from_ranges([], [[1.0]], rounds=0)
    with pytest.raises(ValueError, match="positive"):
        noise_from_ranges([], [[0.0]])


@patient
@given(st.integers(0, 50), st.integers(0, 50))
def test_detection_is_a_beta_posterior(hits: int, missed: int) -> None:
    found = detection(hits, hits + missed, (2.0, 1.5), level=0.9)
    posterior = stats.beta(2 + hits, 1.5 + missed)
    assert found.value == pytest.approx(posterior.mean())
    assert (found.low, found.high) == pytest.approx(posterior.interval(0.9), abs=1e-9)


@patient
@given(st.integers(0, 40), st.floats(0, 60))
def test_the_detection_factor_is_a_gamma_posterior(hits: int, expected: float) -> None:
    found = detection_factor(hits, expected)
    posterior = stats.gamma(3 + hits, scale=1 / (3 + expected))
    assert found.value == pytest.approx(posterior.mean())
    assert (found.low, found.high) == pytest.approx(posterior.interval(0.95), rel=1e-7)


def test_the_factor_of_an_unknown_descriptor_is_one() -> None:
    assert detection_factor(0, 0).value == 1
    assert detection_factor(0, 9).value == pytest.approx(0.25)
    assert detection_factor(12, 6).value > 1


def test_pepper_never_noted() -> None:
    # By hand: after n signature pours (noted at 0.75) without pepper, a perceiver has probability
    # 0.25^n, one who cannot smell rotundone 0.98^n.
    assert chance_not_perceived(0, [], ROTUNDONE_ANOSMIC) == pytest.approx(ROTUNDONE_ANOSMIC)
    for n in (1, 2, 3, 5):
        blind = ROTUNDONE_ANOSMIC * 0.98**n
        able = (1 - ROTUNDONE_ANOSMIC) * 0.25**n
        found = chance_not_perceived(0, [0.75] * n, ROTUNDONE_ANOSMIC)
        assert found == pytest.approx(blind / (blind + able))
    assert chance_not_perceived(0, [0.75] * 3, ROTUNDONE_ANOSMIC) > 0.9
    assert chance_not_perceived(2, [0.75] * 3, ROTUNDONE_ANOSMIC) < 0.01


@patient
@given(st.lists(st.floats(0.05, 0.95), max_size=8), st.floats(0.01, 0.6), st.data())
def test_pours_of_different_chances_are_summed_over_all_ways(
    chances: list[float], share: float, data: st.DataObject
) -> None:
    hits = data.draw(st.integers(0, len(chances)))
    able = 0.0
    for mask in range(2 ** len(chances)):
        noted = [bool(mask >> place & 1) for place in range(len(chances))]
        if sum(noted) == hits:
            able += math.prod(c if on else 1 - c for c, on in zip(chances, noted, strict=True))
    blind = stats.binom.pmf(hits, len(chances), 0.02)
    expected = share * blind / (share * blind + (1 - share) * able)
    assert chance_not_perceived(hits, chances, share) == pytest.approx(expected, rel=1e-9)


def test_impossible_detections_are_refused() -> None:
    with pytest.raises(ValueError, match="no count"):
        detection(4, 3)
    with pytest.raises(ValueError, match="no count"):
        chance_not_perceived(2, [0.5], 0.2)
    with pytest.raises(ValueError, match="between 0 and 1"):
        chance_not_perceived(0, [1.0], 0.2)
    with pytest.raises(ValueError, match="negative"):
        detection_factor(-1, 3)
    with pytest.raises(ValueError, match="positive"):
        beta_estimate(0, 1)


def test_alcohol_without_calls_is_the_average_tasters() -> None:
    found = alcohol_reading(0, 0, 0)
    assert found.bias.value == 0
    assert found.sd.value == pytest.approx(0.6)
    assert found.bias.low == pytest.approx(-found.bias.high)


def test_the_alcohol_posterior_by_numerical_integration() -> None:
    # The same prior written out: bias | sd ~ N(0, sd^2 / 4), sd^2 ~ scaled inverse chi-square(4,
    # 0.6^2); likelihood from the calls themselves.
    calls = np.array([0.4, 0.9, -0.2, 1.1, 0.5, 0.7])
    found = alcohol_reading(len(calls), calls.sum(), (calls**2).sum())
    bias = np.linspace(-3, 3, 1201)[:, None]
    variance = np.exp(np.linspace(np.log(0.01), np.log(30), 1500))[None, :]
    log = (
        stats.norm.logpdf(bias, 0, np.sqrt(variance / 4))
        + stats.invgamma.logpdf(variance, 2, scale=2 * 0.36)
        + sum(stats.norm.logpdf(call, bias, np.sqrt(variance)) for call in calls)
        + np.log(variance)  # the grid is even in the logarithm
    )
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    of_bias = weight.sum(axis=1)
    assert found.bias.value == pytest.approx((of_bias * bias[:, 0]).sum(), abs=1e-4)
    cumulative = of_bias.cumsum()
    assert found.bias.low == pytest.approx(bias[cumulative.searchsorted(0.025), 0], abs=0.01)
    assert found.bias.high == pytest.approx(bias[cumulative.searchsorted(0.975), 0], abs=0.01)
    of_sd = weight.sum(axis=0).cumsum()
    sd = np.sqrt(variance[0])
    assert found.sd.low == pytest.approx(sd[of_sd.searchsorted(0.025)], abs=0.01)
    assert found.sd.high == pytest.approx(sd[of_sd.searchsorted(0.975)], abs=0.01)


def test_many_alcohol_calls_outweigh_the_prior() -> None:
    rng = np.random.default_rng(6)
    off = rng.normal(0.4, 0.9, size=5000)
    found = alcohol_reading(len(off), off.sum(), (off**2).sum())
    assert found.bias.value == pytest.approx(0.4, abs=0.05)
    assert found.sd.value == pytest.approx(0.9, abs=0.05)
    with pytest.raises(ValueError, match="worth"):
        alcohol_reading(1, 0, 0, worth=0)
