"""The R-index against published ROC areas and scikit-learn."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from sklearn.metrics import roc_auc_score

from drills.statistics.rindex import estimate_r_index, r_index

# Hanley and McNeil, Radiology 143, 1982, 29: 109 images rated in five steps from surely abnormal to
# surely normal; the counts are recalled, the area they give is the published 0.893.
HANLEY = ((33, 11, 2, 2, 3), (2, 11, 6, 6, 33))
# `soup` in the R package ordinal: "is this the reference?" by sureness, "no, sure" first, of
# samples that were not the reference and that were. Its help says the data may be simulated.
SOUP = ((650, 156, 57, 50, 99, 96), (219, 121, 41, 65, 161, 132))


def as_ratings(rows: tuple[tuple[int, ...], tuple[int, ...]]) -> tuple[np.ndarray, np.ndarray]:
    """Truth and score of every pour: the higher the score, the surer of the signal."""
    signal, noise = rows
    scores = [np.repeat(np.arange(len(row), 0, -1), row) for row in (signal, noise)]
    truth = np.repeat([1, 0], [len(scores[0]), len(scores[1])])
    return truth, np.concatenate(scores)


def test_the_area_of_hanley_and_mcneil() -> None:
    assert round(r_index(*HANLEY), 3) == 0.893
    assert r_index(*HANLEY) == pytest.approx(0.8931711, abs=5e-8)


def test_the_standard_error_of_hanley_and_mcneil() -> None:
    # The paper's own standard error for this area is 0.032 (recalled).
    found = estimate_r_index(*HANLEY, error="hanley-mcneil")
    assert found.se is not None
    assert round(found.se, 3) == 0.032


def test_the_interval_of_delong_as_stata_prints_it() -> None:
    # Stata's manual, [R] roctab, the same 109 images (figures recalled): standard error .0307,
    # asymptotic normal interval .83295 to .95339.
    found = estimate_r_index(*HANLEY, scale="plain")
    assert found.se == pytest.approx(0.0307, abs=5e-5)
    assert (found.low, found.high) == pytest.approx((0.83295, 0.95339), abs=5e-6)


def test_the_soup() -> None:
    # Area and interval computed from the counts by DeLong's method.
    found = estimate_r_index(*SOUP, scale="plain")
    assert found.value == pytest.approx(0.6669174, abs=5e-8)
    assert (found.low, found.high) == pytest.approx((0.6429, 0.6910), abs=5e-5)
    assert (found.signals, found.noises) == (1108, 739)


@pytest.mark.parametrize("rows", [HANLEY, SOUP])
def test_the_r_index_is_the_area_of_scikit_learn_and_the_mann_whitney_statistic(
    rows: tuple[tuple[int, ...], tuple[int, ...]],
) -> None:
    truth, scores = as_ratings(rows)
    assert r_index(*rows) == pytest.approx(roc_auc_score(truth, scores), abs=1e-12)
    statistic = stats.mannwhitneyu(scores[truth == 1], scores[truth == 0]).statistic
    assert r_index(*rows) * sum(rows[0]) * sum(rows[1]) == pytest.approx(statistic)


@pytest.mark.parametrize("rows", [HANLEY, SOUP])
def test_delong_from_placements_pour_by_pour(
    rows: tuple[tuple[int, ...], tuple[int, ...]],
) -> None:
    # DeLong, DeLong and Clarke-Pearson 1988, equations 4 to 6, on single pours, not counts.
    truth, scores = as_ratings(rows)
    signal, noise = scores[truth == 1][:, None], scores[truth == 0][None, :]
    wins = (signal > noise) + 0.5 * (signal == noise)
    variance = (
        wins.mean(axis=1).var(ddof=1) / len(signal) + wins.mean(axis=0).var(ddof=1) / noise.shape[1]
    )
    assert estimate_r_index(*rows).se == pytest.approx(variance**0.5)
