"""Sureness against outcome: Murphy's identity, skill, and a taster's own probabilities."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from drills.grading import Sureness
from drills.statistics.calibration import (
    Forecast,
    brier,
    calibration,
    claimed,
    gathered,
    own_probabilities,
    stated,
)

# Machines that do other work too may take long over one example.
patient = settings(deadline=None)

groups = st.lists(
    st.tuples(st.integers(0, 100), st.integers(0, 60), st.integers(0, 60)), min_size=1, max_size=12
)


@patient
@given(groups)
def test_murphys_parts_add_up_exactly(drawn: list[tuple[int, int, int]]) -> None:
    assume(any(n for _, _, n in drawn))
    forecasts = [
        Forecast(Fraction(p, 100), Fraction(n), Fraction(min(right, n)))  # type: ignore[arg-type]
        for p, right, n in drawn
    ]
    found = brier(forecasts)
    # In fractions nothing is rounded: equal, not nearly equal.
    assert isinstance(found.score, Fraction)
    assert found.score == found.reliability - found.resolution + found.uncertainty
    if found.skill is not None:
        gained = found.resolution - found.reliability
        assert found.skill == gained / found.uncertainty


@patient
@given(groups)
def test_the_score_is_the_mean_squared_miss_answer_by_answer(
    drawn: list[tuple[int, int, int]],
) -> None:
    assume(any(n for _, _, n in drawn))
    forecasts = [Forecast(p / 100, n, min(right, n)) for p, right, n in drawn]
    missed = [
        miss
        for one in forecasts
        for miss in (
            [(1 - one.probability) ** 2] * int(one.right)
            + [one.probability**2] * int(one.n - one.right)
        )
    ]
    found = brier(forecasts)
    assert found.score == pytest.approx(np.mean(missed), abs=1e-12)
    assert 0 <= found.score <= 1
    assert min(found.reliability, found.resolution, found.uncertainty) >= 0
    assert found.resolution <= found.uncertainty + 1e-12


def test_answers_at_one_probability_are_one_group() -> None:
    split = [Forecast(0.75, 3, 2), Forecast(0.5, 4, 1), Forecast(0.75, 5, 5), Forecast(0.9, 0, 0)]
    assert gathered(split) == [Forecast(0.5, 4, 1), Forecast(0.75, 8, 7)]
    assert [point.n for point in calibration(split)] == [4, 8]


def test_who_always_states_the_overall_share_has_no_skill() -> None:
    found = brier([Forecast(0.75, 8, 6)])
    assert found.skill == pytest.approx(0)
    assert found.bias == pytest.approx(0)
    assert brier([Forecast(1, 6, 6), Forecast(0, 4, 0)]).skill == 1
    assert brier([Forecast(0.9, 10, 5)]).skill == pytest.approx(-0.64)


def test_overconfidence_is_a_bias_above_zero() -> None:
    assert brier([Forecast(0.95, 20, 12)]).bias == pytest.approx(0.35)
    assert brier([Forecast(0.5, 20, 15)]).bias == pytest.approx(-0.25)


def test_all_right_leaves_skill_open() -> None:
    assert brier([Forecast(0.95, 20, 20)]).skill is None


def test_what_the_words_claim() -> None:
    assert [claimed(word) for word in Sureness] == pytest.approx([0.5, 0.75, 0.95])
    # Four options: guessing is right one time in four.
    assert [claimed(word, 0.25) for word in Sureness] == pytest.approx([0.25, 0.625, 0.925])
    with pytest.raises(ValueError, match="chance"):
        claimed(Sureness.SURE, 1.0)


RECORD = {Sureness.GUESS: (20, 11), Sureness.LEANING: (30, 18), Sureness.SURE: (50, 49)}


def test_sureness_as_forecasts() -> None:
    assert stated(RECORD) == [Forecast(claimed(word), *RECORD[word]) for word in RECORD]
    assert brier(stated(RECORD)).n == 100


def test_own_probabilities_move_from_the_claim_to_the_record() -> None:
    found = own_probabilities(RECORD)
    # Beta(4 x 0.75 + 18, 4 x 0.25 + 12): mean 21 / 34.
    assert found[Sureness.LEANING].value == pytest.approx(21 / 34)
    for word, (n, right) in RECORD.items():
        own = found[word]
        assert own.low < own.value < own.high
        between = sorted((claimed(word), right / n))
        assert between[0] <= own.value <= between[1]
    assert own_probabilities({Sureness.SURE: (0, 0)})[Sureness.SURE].value == claimed(Sureness.SURE)


def score_left_out(counts: dict[Sureness, tuple[int, int]]) -> float:
    """The Brier score of own probabilities, each answer forecast from all others.

    Probabilities estimated from the very answers they are scored on always look reliable.
    """
    missed = []
    for word, (n, right) in counts.items():
        outcomes = [1] * right + [0] * (n - right)
        for outcome in outcomes:
            guess = own_probabilities({word: (n - 1, right - outcome)})[word].value
            missed.append((outcome - guess) ** 2)
    return float(np.mean(missed))


def test_own_probabilities_help_a_taster_whose_words_mean_something_else() -> None:
    shy = {Sureness.GUESS: (200, 180), Sureness.LEANING: (100, 95)}
    assert score_left_out(shy) < brier(stated(shy)).score


def test_what_cannot_be_is_refused() -> None:
    for bad in ([], [Forecast(0.5, 0, 0)]):
        with pytest.raises(ValueError, match="without an answer"):
            brier(bad)
    with pytest.raises(ValueError, match="no count"):
        brier([Forecast(0.5, 3, 4)])
    with pytest.raises(ValueError, match="probability"):
        brier([Forecast(1.5, 3, 2)])
