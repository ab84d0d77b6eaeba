"""Minimum numbers of correct answers against the tables of the standards.

Triangle: ISO 4120 (current edition 2021); paired comparison: ISO 5495:2005; duo-trio: ISO
10399:2017. The standards' own pages were not at hand. The triangle rows are those of FAO document
V7180E, Appendix A, which was read; the paired and duo-trio rows were computed with scipy from the
rule that the standards state, and are checked with scipy once more below.
"""

from __future__ import annotations

import pytest
from scipy import stats

from drills.statistics.difference import (
    DifferenceTest,
    fewest,
    minimum_correct,
    p_value,
    told_apart,
)

LEVELS = (0.10, 0.05, 0.01, 0.001)

# FAO V7180E, Appendix A: n, then the minimum at 10, 5, 1 and 0.1%; None where the table has a dash.
TRIANGLE = {
    3: (3, 3, None, None),
    5: (4, 4, 5, None),
    7: (5, 5, 6, 7),
    9: (6, 6, 7, 8),
    27: (13, 14, 16, 18),
    33: (15, 17, 18, 21),
    42: (19, 20, 22, 25),
    54: (23, 25, 27, 30),
    72: (30, 32, 34, 38),
    90: (37, 38, 42, 45),
}
# n, then triangle at 5, 1, 0.1% (FAO V7180E where it has the row), paired and duo-trio at the same.
ROWS = {
    6: (5, 6, None, 6, None, None),
    8: (6, 7, 8, 7, 8, None),
    10: (7, 8, 9, 9, 10, 10),
    12: (8, 9, 10, 10, 11, 12),
    15: (9, 10, 12, 12, 13, 14),
    18: (10, 12, 13, 13, 15, 16),
    20: (11, 13, 14, 15, 16, 18),
    24: (13, 15, 16, 17, 19, 20),
    30: (15, 17, 19, 20, 22, 24),
    36: (18, 20, 22, 24, 26, 28),
    48: (22, 25, 27, 31, 33, 36),
    60: (27, 30, 33, 37, 40, 43),
}
# Paired comparison, two-sided, 5%: computed as twice the upper tail.
TWO_SIDED = {10: 9, 20: 15, 24: 18, 30: 21, 40: 27, 60: 39}


@pytest.mark.parametrize("n", TRIANGLE)
def test_the_triangle_table(n: int) -> None:
    found = tuple(minimum_correct(n, level, DifferenceTest.TRIANGLE) for level in LEVELS)
    assert found == TRIANGLE[n]


@pytest.mark.parametrize("n", ROWS)
def test_the_rows_of_triangle_paired_and_duo_trio(n: int) -> None:
    for test, expected in (
        (DifferenceTest.TRIANGLE, ROWS[n][:3]),
        (DifferenceTest.PAIRED, ROWS[n][3:]),
        (DifferenceTest.DUO_TRIO, ROWS[n][3:]),
    ):
        assert tuple(minimum_correct(n, level, test) for level in LEVELS[1:]) == expected


@pytest.mark.parametrize("n", TWO_SIDED)
def test_the_two_sided_paired_comparison(n: int) -> None:
    assert minimum_correct(n, 0.05, DifferenceTest.PAIRED_TWO_SIDED) == TWO_SIDED[n]


@pytest.mark.parametrize("test", DifferenceTest)
@pytest.mark.parametrize("alpha", [0.2, *LEVELS])
def test_every_minimum_up_to_120_is_the_binomial_rule_of_scipy(
    test: DifferenceTest, alpha: float
) -> None:
    chance = 1 / 3 if test is DifferenceTest.TRIANGLE else 1 / 2
    sides = 2 if test is DifferenceTest.PAIRED_TWO_SIDED else 1
    for n in range(1, 121):
        reached = [x for x in range(n + 1) if sides * stats.binom.sf(x - 1, n, chance) <= alpha]
        assert minimum_correct(n, alpha, test) == (reached[0] if reached else None), n


def test_p_values_are_those_of_scipy() -> None:
    for n in (1, 5, 17, 60, 400):
        for right in {0, 1, n // 3, n // 2, n - n // 5, n}:
            for test, chance in (
                (DifferenceTest.TRIANGLE, 1 / 3),
                (DifferenceTest.DUO_TRIO, 1 / 2),
            ):
                expected = stats.binomtest(right, n, chance, alternative="greater").pvalue
                assert p_value(right, n, test) == pytest.approx(expected, rel=1e-10)
            two = stats.binomtest(right, n, 0.5).pvalue
            found = p_value(right, n, DifferenceTest.PAIRED_TWO_SIDED)
            assert found == pytest.approx(two, rel=1e-10)


def test_p_values_of_the_package_sensr() -> None:
    # Its help page for 10 of 15 right: exact one-sided p of triangle and of the choice of two.
    assert p_value(10, 15, DifferenceTest.TRIANGLE) == pytest.approx(0.00850427, abs=5e-9)
    assert p_value(10, 15, DifferenceTest.PAIRED) == pytest.approx(0.1508789, abs=5e-8)


def test_five_of_five_is_the_least_that_can_tell_two_wines_apart() -> None:
    # (1/2)^5 = 3.1% is below 5%, (1/2)^4 = 6.3% is not; three triangles: (1/3)^3 = 3.7%.
    assert fewest() == 5
    assert told_apart(5, 5)
    assert not told_apart(4, 4)
    assert fewest(test=DifferenceTest.TRIANGLE) == 3
