"""The R-index and the answers that it is made of."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats
from sklearn.metrics import roc_auc_score

from drills.statistics.rindex import estimate_r_index, r_index
from drills.statistics.tallies import AnswerCount, Ratings, tally, together

# Machines that do other work too may take long over one example.
patient = settings(deadline=None)

rows = st.lists(st.integers(0, 12), min_size=6, max_size=6)


@patient
@given(rows, rows)
def test_the_r_index_is_the_area_under_the_roc_curve(signal: list[int], noise: list[int]) -> None:
    assume(sum(signal) and sum(noise))
    scores = [np.repeat(np.arange(6, 0, -1), row) for row in (signal, noise)]
    truth = np.repeat([1, 0], [sum(signal), sum(noise)])
    area = roc_auc_score(truth, np.concatenate(scores))
    assert r_index(signal, noise) == pytest.approx(area, abs=1e-12)


@patient
@given(rows, rows)
def test_swapping_the_wines_turns_the_index_round(signal: list[int], noise: list[int]) -> None:
    assume(sum(signal) and sum(noise))
    found = estimate_r_index(signal, noise)
    other = estimate_r_index(noise, signal)
    assert other.value == pytest.approx(1 - found.value, abs=1e-12)
    assert (other.low, other.high) == pytest.approx((1 - found.high, 1 - found.low), abs=1e-9)
    assert 0 <= found.low <= found.value + 1e-12
    assert found.value - 1e-12 <= found.high <= 1
    # Read from the other end of the scale it is the same statement.
    assert r_index(noise[::-1], signal[::-1]) == pytest.approx(found.value, abs=1e-12)


def test_guessing_and_perfection() -> None:
    assert r_index([4, 0, 0], [0, 0, 9]) == 1
    assert r_index([0, 0, 4], [9, 0, 0]) == 0
    assert r_index([5, 5, 5], [2, 2, 2]) == 0.5
    assert r_index([5, 0, 0], [2, 0, 0]) == 0.5


def test_a_perfect_record_of_few_pours_claims_no_certainty() -> None:
    few = estimate_r_index([3, 0], [0, 3])
    many = estimate_r_index([60, 0], [0, 60])
    assert few.value == many.value == 1
    assert few.high == many.high == 1
    # Three independent pairs, all in order: the exact 95% lower limit of 3 of 3 is 0.025^(1/3).
    assert few.low == pytest.approx(0.025 ** (1 / 3))
    assert few.low < 0.3 < 0.9 < many.low
    one = estimate_r_index([1, 0], [0, 5])
    assert one.se is None
    assert one.low == pytest.approx(0.025)


@pytest.mark.parametrize(("pours", "apart"), [(10, 1.0), (10, 2.0), (25, 1.5)])
def test_the_interval_covers_the_true_index_as_often_as_it_says(pours: int, apart: float) -> None:
    # Normal perceptions cut into six categories; the true index follows from the cuts alone.
    cuts = np.array([1.5, 0.9, 0.5, 0.1, -0.5]) + apart / 2 - 0.5
    signal = np.diff([0, *stats.norm.sf(cuts - apart), 1])
    noise = np.diff([0, *stats.norm.sf(cuts), 1])
    true = float((signal * (1 - noise.cumsum() + noise / 2)).sum())
    rng = np.random.default_rng(11)
    held = {"logit": 0, "plain": 0}
    runs = 800
    for _ in range(runs):
        drawn = [rng.multinomial(pours, row).tolist() for row in (signal, noise)]
        for scale in held:
            found = estimate_r_index(*drawn, scale=scale)  # type: ignore[arg-type]
            held[scale] += found.low <= true <= found.high
    # Four standard errors of a share of 0.95 in 800 runs are 3%.
    assert held["logit"] / runs == pytest.approx(0.95, abs=0.03)
    # The reason why the plain interval is not the default.
    assert held["plain"] < held["logit"]


def test_weighted_counts_stay_inside_their_bounds() -> None:
    # 0.1 + 0.2 is not 0.3 in binary.
    found = estimate_r_index([0.1, 0.2, 0.7, 0.0], [0.0, 0.0, 0.0, 0.1 + 0.2 + 0.7])
    assert found.value == 1
    assert found.low < 0.5
    assert found.high == 1


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="same categories"):
        r_index([1, 2], [1, 2, 3])
    with pytest.raises(ValueError, match="negative"):
        r_index([1, -1], [1, 2])
    with pytest.raises(ValueError, match="both wines"):
        r_index([0, 0], [1, 2])
    with pytest.raises(ValueError, match="confidence"):
        estimate_r_index([1, 2], [2, 1], level=1)


# --- answers counted


def answers(*rows: tuple[str, str, int, int]) -> Ratings:
    counts = [AnswerCount("a", "b", *row) for row in rows]
    return tally(counts)["a", "b"]


def test_answers_become_ratings_from_sure_of_a_to_sure_of_b() -> None:
    found = answers(
        ("a", "a", 3, 5), ("a", "a", 1, 2), ("a", "b", 2, 1), ("b", "b", 3, 4), ("b", "a", 1, 3)
    )
    assert found.a == (5, 0, 2, 0, 1, 0)
    assert found.b == (0, 0, 3, 0, 0, 4)
    assert (found.answers, found.right) == (15, 11)
    index = found.r_index()
    assert index is not None
    assert index.value == r_index(found.a, found.b)


def test_one_wine_alone_has_no_r_index() -> None:
    assert answers(("a", "a", 3, 9), ("a", "b", 1, 2)).r_index() is None


def test_a_dangerous_taster_has_an_index_below_one_half() -> None:
    found = answers(("a", "b", 3, 9), ("b", "a", 3, 9), ("a", "a", 1, 1), ("b", "b", 1, 1))
    index = found.r_index()
    assert index is not None
    assert index.high < 0.5


cells = st.tuples(
    st.sampled_from("ab"), st.sampled_from("ab"), st.integers(1, 3), st.integers(0, 20)
)


@patient
@given(st.lists(st.tuples(st.sampled_from(["a", "b", "c"]), cells), max_size=40))
def test_nothing_is_lost_in_counting(drawn: list[tuple[str, tuple[str, str, int, int]]]) -> None:
    counts = [AnswerCount(wine, "z", *cell) for wine, cell in drawn]
    found = tally(counts)
    whole = together(found.values())
    assert whole.answers == sum(count.times for count in counts)
    assert whole.right == sum(count.times for count in counts if count.truth == count.given)
    assert tally(counts[::-1]) == found


def test_other_answers_than_a_and_b_are_refused() -> None:
    with pytest.raises(ValueError, match="a or b"):
        tally([AnswerCount("a", "b", "a", "petrol", 1, 1)])
    with pytest.raises(ValueError, match="4"):
        tally([AnswerCount("a", "b", "a", "a", 4, 1)])
