"""The group's prior against the rat tumours of Tarone (Biometrics 38, 1982, 215).

The data and the values compared stand in Gelman et al., Bayesian Data Analysis, 3rd ed. 2013:
table 5.1, section 5.1 (a Beta by moments from the 70 earlier groups, and what it makes of the 71st)
and section 5.3 (means of the hyperparameters of the beta-binomial under a prior of
(a + b)^(-5/2)). The maximum of the likelihood for the 70 groups, a = 2.304768 and b = 14.079707,
stands in the vignette of the R package BayesGOF (CRAN). Here "tasters" are groups of rats, and the
confusion is a tumour.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.optimize import minimize

from drills.statistics.group_prior import (
    Confused,
    Credit,
    GroupCounts,
    Poured,
    beta_of_moments,
    credit,
    group_prior,
    log_likelihood,
)

_EARLIER = """
0/20 0/20 0/20 0/20 0/20 0/20 0/20 0/19 0/19 0/19 0/19 0/18 0/18 0/17 1/20 1/20 1/20 1/20 1/19 1/19
1/18 1/18 2/25 2/24 2/23 2/20 2/20 2/20 2/20 2/20 2/20 1/10 5/49 2/19 5/46 3/27 2/17 7/49 7/47 3/20
3/20 2/13 9/48 10/50 4/20 4/20 4/20 4/20 4/20 4/20 4/20 10/48 4/19 4/19 4/19 5/22 11/46 12/49 5/20
5/20 6/23 5/19 6/22 6/20 6/20 6/20 16/52 15/47 15/46 9/24
"""
EARLIER = [tuple(map(int, one.split("/"))) for one in _EARLIER.split()]
LAST = (4, 14)


def summed(groups: list[tuple[int, ...]]) -> GroupCounts:
    """The groups of rats as what a file of counts would hold of them."""
    return GroupCounts(
        {"was": Poured(len(groups), sum(n for _, n in groups), sum(n * n - n for _, n in groups))},
        {("called", "was"): Confused(sum(y for y, _ in groups), sum(y * y - y for y, _ in groups))},
    )


def mass(groups: list[tuple[int, ...]], mean: Any, whole: Any) -> Any:
    """The log-likelihood of a beta-binomial with that mean and a + b, over arrays of both."""
    return sum(log_likelihood(y, n, mean * whole, (1 - mean) * whole) for y, n in groups)


def test_the_groups_are_those_of_the_table() -> None:
    assert len(EARLIER) == 70
    shares = np.array([y / n for y, n in EARLIER])
    # "the observed sample mean and standard deviation of the 70 values y/n are 0.136 and 0.103"
    assert shares.mean() == pytest.approx(0.136, abs=0.0005)
    assert shares.std(ddof=1) == pytest.approx(0.103, abs=0.0005)


def test_a_beta_by_moments_is_that_of_the_book_and_so_is_what_it_makes_of_the_last_group() -> None:
    shares = np.array([y / n for y, n in EARLIER])
    a, b = beta_of_moments(shares.mean(), shares.var(ddof=1))
    assert (a, b) == (pytest.approx(1.4, abs=0.05), pytest.approx(8.6, abs=0.05))
    yes, no = a + LAST[0], b + LAST[1] - LAST[0]
    assert (yes, no) == (pytest.approx(5.4, abs=0.05), pytest.approx(18.6, abs=0.05))
    mean = yes / (yes + no)
    assert mean == pytest.approx(0.223, abs=0.0005)
    assert (mean * (1 - mean) / (yes + no + 1)) ** 0.5 == pytest.approx(0.083, abs=0.0005)


def test_the_likelihood_leads_to_the_means_of_a_and_b_in_the_book() -> None:
    # E(a | y) = 2.4 and E(b | y) = 14.3, on a grid of log(a / b) and log(a + b).
    log_odds, log_whole = np.meshgrid(np.linspace(-2.4, -1.2, 241), np.linspace(1, 5.5, 361))
    mean, whole = 1 / (1 + np.exp(-log_odds)), np.exp(log_whole)
    a, b = mean * whole, (1 - mean) * whole
    density = mass([*EARLIER, LAST], mean, whole) + np.log(a * b) - 2.5 * np.log(whole)
    weight = np.exp(density - density.max())
    assert (a * weight).sum() / weight.sum() == pytest.approx(2.4, abs=0.05)
    assert (b * weight).sum() / weight.sum() == pytest.approx(14.3, abs=0.15)


def test_the_likelihood_is_greatest_where_another_package_finds_it_greatest() -> None:
    def loss(logs: Any) -> float:
        a, b = np.exp(logs)
        return float(-mass(EARLIER, a / (a + b), a + b))

    found = minimize(loss, np.log([1.4, 8.6]), method="Nelder-Mead", options={"xatol": 1e-7})
    assert np.exp(found.x) == pytest.approx([2.304768, 14.079707], rel=1e-3)


def test_moments_from_sums_alone_lie_within_the_error_of_the_maximum() -> None:
    # The program has sums only. One pair tells nothing across pairs and the prior would win: so the
    # same sums stand for 200 pairs, and what is compared is the estimator and not its prior.
    one = summed(EARLIER)
    many = GroupCounts(
        {f"was {n}": one.poured["was"] for n in range(200)},
        {("called", f"was {n}"): one.confused["called", "was"] for n in range(200)},
    )
    found = credit(many, lambda *_: 0.14).likeness
    whole = np.exp(np.linspace(1, 5, 2001))
    likely = mass(EARLIER, 2.304768 / 16.384475, whole)
    # A 95% interval by the likelihood ratio: 1.92 is half of chi squared's quantile.
    within = whole[likely > likely.max() - 1.92]
    assert within[0] < found < within[-1]


def test_a_new_group_of_rats_gets_nearly_the_prior_of_the_likelihood() -> None:
    # Every a + b known, and a table that is believed little: the prior of group 71 is then that of
    # the 70 others, and its mean after 4 of 14 lies between the book's two answers: 0.223 by
    # moments, and about 0.21 by the means of a and b, (2.4 + 4) / (2.4 + 14.3 + 14).
    prior = group_prior(summed(EARLIER), Credit(1.0, 16.7), "called", "was", 0.14)
    assert prior is not None
    after = (prior.rate * prior.pours + LAST[0]) / (prior.pours + LAST[1])
    assert 0.205 < after < 0.225
