"""Kappa, McNemar's test, limits of agreement, Beta and Dirichlet against published examples."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from sklearn.metrics import cohen_kappa_score

from drills.statistics.agreement import Table, kappa
from drills.statistics.change import change_of_mind
from drills.statistics.readings import detection, noise_matrix
from drills.statistics.structure import spread_of_moments

# Cohen, Psychological Bulletin 70, 1968, 213, table 1: 200 diagnoses by two judges.
COHEN = [[88, 14, 18], [10, 40, 10], [2, 6, 12]]
COHEN_WEIGHTS = [[0, 1, 3], [1, 0, 6], [3, 6, 0]]
# Answers of 91 couples (Agresti; recalled as such); the kappas were computed from the counts.
COUPLES = [[7, 7, 2, 3], [2, 8, 3, 7], [1, 5, 4, 9], [2, 8, 9, 14]]
# SAS/STAT User's Guide, the FREQ procedure, "Agreement Study": two dermatologists.
SKIN = [[10, 4, 1, 0], [5, 10, 12, 2], [2, 4, 12, 5], [0, 2, 6, 13]]
# Two film critics (Agresti, Categorical Data Analysis; counts recalled, ASE .0598 read elsewhere).
CRITICS = [[24, 8, 13], [8, 13, 11], [10, 9, 64]]


def value(table: Table, weights: object = None) -> float:
    found = kappa(table, weights)  # type: ignore[arg-type]
    assert found is not None
    return found.value


def test_cohen_1968() -> None:
    assert value(COHEN) == pytest.approx(0.4915254, abs=5e-8)
    assert value(COHEN, "linear") == pytest.approx(0.4736842, abs=5e-8)
    assert value(COHEN, "quadratic") == pytest.approx(0.4545455, abs=5e-8)
    assert value(COHEN, COHEN_WEIGHTS) == pytest.approx(0.3478261, abs=5e-8)


def test_couples_and_a_two_by_two_table() -> None:
    assert value(COUPLES) == pytest.approx(0.1293303, abs=5e-8)
    assert value(COUPLES, "linear") == pytest.approx(0.2373806, abs=5e-8)
    assert value(COUPLES, "quadratic") == pytest.approx(0.3320456, abs=5e-8)
    assert value([[20, 5], [10, 15]]) == pytest.approx(0.4)


def test_the_dermatologists_of_sas_with_their_interval() -> None:
    found = kappa(SKIN)
    assert found is not None
    # Printed there: kappa 0.3449, 95% limits 0.2030 and 0.4868.
    assert (found.value, found.low, found.high) == pytest.approx((0.3449, 0.2030, 0.4868), abs=5e-5)


def test_the_standard_error_of_the_film_critics() -> None:
    found = kappa(CRITICS)
    assert found is not None
    assert (found.value, found.se) == pytest.approx((0.389, 0.0598), abs=5e-4)
    assert found.se == pytest.approx(0.0598, abs=5e-5)


@pytest.mark.parametrize("table", [COHEN, COUPLES, SKIN, CRITICS])
@pytest.mark.parametrize("weights", [None, "linear", "quadratic"])
def test_kappa_is_that_of_scikit_learn(table: list[list[int]], weights: str | None) -> None:
    rows = [i for i, row in enumerate(table) for count in row for _ in range(count)]
    columns = [j for row in table for j, count in enumerate(row) for _ in range(count)]
    expected = cohen_kappa_score(rows, columns, weights=weights)
    assert value(table, weights) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("table", [COHEN, COUPLES, SKIN])
@pytest.mark.parametrize("weights", [None, "linear", "quadratic"])
def test_the_standard_error_by_the_delta_method_taken_numerically(
    table: list[list[int]], weights: str | None
) -> None:
    # The variance of a function of multinomial shares from its numerical gradient: independent of
    # the formula of Fleiss, Cohen and Everitt.
    n = sum(map(sum, table))
    shares = np.array(table, dtype=float) / n
    gradient = np.zeros_like(shares)
    for cell in np.ndindex(shares.shape):
        step = 1e-6
        up, down = shares.copy(), shares.copy()
        up[cell] += step
        down[cell] = max(down[cell] - step, 0.0)
        width = up[cell] - down[cell]
        gradient[cell] = (value(up.tolist(), weights) - value(down.tolist(), weights)) / width
    mean = (shares * gradient).sum()
    variance = ((shares * gradient**2).sum() - mean**2) / n
    found = kappa(table, weights)  # type: ignore[arg-type]
    assert found is not None
    assert found.se == pytest.approx(variance**0.5, rel=1e-4)


def test_mcnemar_on_the_approval_ratings() -> None:
    # Agresti, Categorical Data Analysis, 1990, p. 350, also the example of R's mcnemar.test.
    found = change_of_mind(794, 150, 86, 570)
    assert found.n == 1600
    assert found.chi_square == pytest.approx(17.3559322, abs=5e-8)
    assert found.chi_square_corrected == pytest.approx(16.8177966, abs=5e-8)
    assert found.p_exact == pytest.approx(3.71594e-5, rel=1e-5)
    assert found.p_chi_square == pytest.approx(stats.chi2.sf(17.3559322, 1), rel=1e-6)
    assert found.p_corrected == pytest.approx(stats.chi2.sf(16.8177966, 1), rel=1e-6)
    assert found.better() == "first"
    assert found.gain.value == pytest.approx(-0.04)


def test_eleven_against_three() -> None:
    found = change_of_mind(0, 3, 11, 0)
    assert found.p_exact == 0.057373046875
    assert found.better() is None


def test_mcnemar_with_few_differences() -> None:
    # 35 against 28 (a published exercise worked in R): chi-square 0.7778, corrected 0.5714, exact
    # p 0.45.
    found = change_of_mind(48, 28, 35, 53)
    assert found.chi_square == pytest.approx(0.7778, abs=5e-5)
    assert found.p_chi_square == pytest.approx(0.3778, abs=5e-5)
    assert found.chi_square_corrected == pytest.approx(0.5714, abs=5e-5)
    assert found.p_corrected == pytest.approx(0.4497, abs=5e-5)
    assert found.p_exact == pytest.approx(0.45, abs=5e-4)


def test_the_limits_of_agreement_of_bland_and_altman() -> None:
    # Bland and Altman, Lancet 327, 1986, 307: peak flow of 17 people by two meters (readings
    # recalled). Printed: mean difference -2.1, sd 38.8, 95% interval of the bias -22.0 to 17.8; a
    # tutorial that uses 1.96 has the limits 73.9 and -78.1 (signs turned).
    large = (494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427)
    mini = (512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451)
    off = [a - b for a, b in zip(large, mini, strict=True)]
    found = spread_of_moments(len(off), sum(off), sum(one * one for one in off))
    assert found.n == 17
    assert found.sd is not None
    assert (round(found.bias.value, 1), round(found.sd.value, 1)) == (-2.1, 38.8)
    assert (round(found.bias.low, 1), round(found.bias.high, 1)) == (-22.0, 17.8)
    assert found.limits == pytest.approx((-78.1, 73.9), abs=0.05)


def test_placenta_previa() -> None:
    # Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.4: 437 girls of 980 births, uniform
    # prior.
    found = detection(437, 980)
    assert found.value == pytest.approx(0.4460285, abs=5e-8)
    assert (found.low, found.high) == pytest.approx((0.4150655, 0.4771998), abs=5e-8)


def test_the_poll() -> None:
    # The same, section 3.4: 727, 583 and 137 of 1447, uniform Dirichlet (counts seen elsewhere,
    # means computed).
    counts = [[727.0, 583.0, 137.0]]
    found = noise_matrix(counts, [[1.0, 1.0, 1.0]])
    assert found.mean[0] == pytest.approx((0.5020690, 0.4027586, 0.0951724), abs=5e-8)
    draws = np.random.default_rng(9).dirichlet([728, 584, 138], size=200_000)
    low, high = np.quantile(draws, [0.025, 0.975], axis=0)
    assert found.low[0] == pytest.approx(tuple(low), abs=5e-4)
    assert found.high[0] == pytest.approx(tuple(high), abs=5e-4)
