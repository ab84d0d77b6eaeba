"""Brier score, Murphy's parts, calibration and intervals against published examples."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from sklearn.calibration import calibration_curve
from sklearn.metrics import brier_score_loss, roc_auc_score

from drills.statistics.calibration import Brier, Forecast, brier, calibration, gathered
from drills.statistics.rindex import r_index
from drills.statistics.shares import clopper_pearson, wilson

# Mason and Graham, Quarterly Journal of the Royal Meteorological Society 128, 2002, 2145: fifteen
# seasons with and without the event, and the forecast probability (as in R package verification).
EVENT = (0, 0, 0, 1, 1, 1, 0, 1, 1, 0, 0, 0, 0, 1, 1)
FORECAST = (0.8, 0.8, 0, 1, 1, 0.6, 0.4, 0.8, 0, 0, 0.2, 0, 0, 1, 1)

# Wilks, Statistical Methods in the Atmospheric Sciences, 1995, table 7.3: forecast probability,
# observed share, weight.
WILKS = (
    (0.0, 0.006, 0.4112),
    (0.05, 0.019, 0.0671),
    (0.1, 0.059, 0.1833),
    (0.2, 0.15, 0.0986),
    (0.3, 0.277, 0.0616),
    (0.4, 0.377, 0.0366),
    (0.5, 0.511, 0.0303),
    (0.6, 0.587, 0.0275),
    (0.7, 0.723, 0.0245),
    (0.8, 0.779, 0.022),
    (0.9, 0.934, 0.017),
    (1.0, 0.933, 0.0203),
)


def seasons() -> Brier:
    return brier(Forecast(p, 1, y) for p, y in zip(FORECAST, EVENT, strict=True))


def test_mason_and_graham() -> None:
    found = seasons()
    # 0.1786667 = 0.0808889 - 0.1511111 + 0.2488889
    assert found.score == pytest.approx(0.1786667, abs=5e-8)
    assert found.reliability == pytest.approx(0.0808889, abs=5e-8)
    assert found.resolution == pytest.approx(0.1511111, abs=5e-8)
    assert found.uncertainty == pytest.approx(0.2488889, abs=5e-8)
    parts = found.reliability - found.resolution + found.uncertainty
    assert found.score == pytest.approx(parts, abs=1e-15)
    assert found.score == pytest.approx(brier_score_loss(EVENT, FORECAST), abs=1e-15)


def test_the_roc_area_of_mason_and_graham() -> None:
    groups = gathered(Forecast(p, 1, y) for p, y in zip(FORECAST, EVENT, strict=True))
    groups.reverse()  # the surest first
    area = r_index([g.right for g in groups], [g.n - g.right for g in groups])
    assert area == pytest.approx(0.8392857, abs=5e-8)
    assert area == pytest.approx(roc_auc_score(EVENT, FORECAST))


def test_wilks_table_7_3() -> None:
    found = brier(Forecast(p, weight, observed * weight) for p, observed, weight in WILKS)
    # The weights as printed add up to 1.
    assert found.n == pytest.approx(1, abs=1e-9)
    assert found.reliability == pytest.approx(0.00082762, abs=5e-9)
    assert found.resolution == pytest.approx(0.06278663, abs=5e-9)
    assert found.uncertainty == pytest.approx(0.13542005, abs=5e-9)
    assert found.score == pytest.approx(0.07346104, abs=5e-9)
    assert found.skill == pytest.approx(0.4575320, abs=5e-8)


def test_calibration_points_are_those_of_scikit_learn() -> None:
    rng = np.random.default_rng(3)
    stated = rng.choice([0.55, 0.75, 0.95], size=600)
    right = rng.random(600) < 0.5 + 0.6 * (stated - 0.5)
    points = calibration(Forecast(float(p), 1, int(y)) for p, y in zip(stated, right, strict=True))
    observed, forecast = calibration_curve(right, stated, n_bins=10)
    assert [point.probability for point in points] == pytest.approx(list(forecast))
    assert [point.observed.value for point in points] == pytest.approx(list(observed))
    for point in points:
        hits = round(point.observed.value * point.n)
        limits = stats.binomtest(hits, int(point.n)).proportion_ci(0.95, "wilson")
        assert (point.observed.low, point.observed.high) == pytest.approx((limits.low, limits.high))


# Newcombe, Statistics in Medicine 17, 1998, 857, table 1: four shares by the score method and by
# the exact one (figures recalled; scipy gives the same below).
NEWCOMBE = {
    (81, 263): ((0.2553, 0.3662), (0.2527, 0.3676)),
    (15, 148): ((0.0624, 0.1605), (0.0578, 0.1617)),
    (0, 20): ((0.0000, 0.1611), (0.0000, 0.1684)),
    (1, 29): ((0.0061, 0.1718), (0.0009, 0.1776)),
}


@pytest.mark.parametrize("counts", NEWCOMBE)
def test_the_intervals_of_newcombe(counts: tuple[int, int]) -> None:
    for interval, expected in zip((wilson, clopper_pearson), NEWCOMBE[counts], strict=True):
        found = interval(*counts)
        assert (found.low, found.high) == pytest.approx(expected, abs=5.1e-5)


def test_intervals_are_those_of_scipy() -> None:
    for n in (1, 2, 9, 40):
        for hits in range(n + 1):
            for level in (0.8, 0.95):
                test = stats.binomtest(hits, n)
                for name, interval in (("wilson", wilson), ("exact", clopper_pearson)):
                    limits = test.proportion_ci(level, name)
                    found = interval(hits, n, level)
                    assert found.low == pytest.approx(limits.low, abs=1e-10)
                    assert found.high == pytest.approx(limits.high, abs=1e-10)
