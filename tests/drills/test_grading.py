"""The grading rule, row by row: the taster says which and how sure, the program grades."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.grading import PACED_AFTER, Grade, Sureness, dangerous, grade_of

GUESS, LEANING, SURE = Sureness.GUESS, Sureness.LEANING, Sureness.SURE
# Twenty times with a median of 10 seconds: faster than 5 is at ease.
PACE = [6.0] * 9 + [10.0] * 2 + [14.0] * 9


@pytest.mark.parametrize(
    ("correct", "sureness", "seconds", "grade"),
    [
        # Wrong is not recalled, however sure and however fast.
        (False, GUESS, 3, Grade.NOT_RECALLED),
        (False, LEANING, 3, Grade.NOT_RECALLED),
        (False, SURE, 3, Grade.NOT_RECALLED),
        (False, SURE, 30, Grade.NOT_RECALLED),
        # Right by a guess is not recalled, fast or slow.
        (True, GUESS, 3, Grade.NOT_RECALLED),
        (True, GUESS, 30, Grade.NOT_RECALLED),
        # Right and leaning is recalled with effort, fast or slow.
        (True, LEANING, 3, Grade.WITH_EFFORT),
        (True, LEANING, 30, Grade.WITH_EFFORT),
        # Right and sure is recalled; faster than half one's own median, at ease.
        (True, SURE, 30, Grade.RECALLED),
        (True, SURE, 5, Grade.RECALLED),
        (True, SURE, 4.99, Grade.AT_EASE),
        (True, SURE, 0.4, Grade.AT_EASE),
    ],
)
def test_a_row_of_the_rule(correct: bool, sureness: Sureness, seconds: float, grade: Grade) -> None:
    assert grade_of(correct, sureness, seconds, PACE) is grade


@pytest.mark.parametrize("timed", [0, 1, PACED_AFTER - 1])
def test_times_do_not_count_before_a_pace_is_known(timed: int) -> None:
    assert grade_of(True, SURE, 0.1, [10.0] * timed) is Grade.RECALLED


def test_the_pace_is_known_after_twenty_times() -> None:
    assert PACED_AFTER == 20
    assert grade_of(True, SURE, 0.1, [10.0] * 20) is Grade.AT_EASE


def test_the_pace_is_a_median_so_that_a_coffee_break_does_not_count() -> None:
    assert grade_of(True, SURE, 6, [10.0] * 18 + [900.0, 1200.0]) is Grade.RECALLED
    # Between the two middle times of an even number.
    assert grade_of(True, SURE, 4.9, [8.0] * 10 + [12.0] * 10) is Grade.AT_EASE
    assert grade_of(True, SURE, 5.0, [8.0] * 10 + [12.0] * 10) is Grade.RECALLED


@pytest.mark.parametrize(
    ("sureness", "grade"),
    [(GUESS, Grade.NOT_RECALLED), (LEANING, Grade.WITH_EFFORT), (SURE, Grade.WITH_EFFORT)],
)
def test_one_level_off_is_recalled_with_effort_unless_guessed(
    sureness: Sureness, grade: Grade
) -> None:
    assert grade_of(False, sureness, 0.1, PACE, near=True) is grade


times = st.floats(0, 600)


@given(st.booleans(), st.sampled_from(Sureness), times, st.lists(times, max_size=40))
def test_a_right_answer_is_never_graded_below_a_wrong_one(
    correct: bool, sureness: Sureness, seconds: float, earlier: list[float]
) -> None:
    given_grade = grade_of(correct, sureness, seconds, earlier)
    assert grade_of(False, sureness, seconds, earlier) <= given_grade
    assert given_grade <= grade_of(True, SURE, 0.0, earlier)
    # The order in which earlier answers came makes no difference.
    assert grade_of(correct, sureness, seconds, earlier[::-1]) is given_grade


@given(st.booleans(), times, st.lists(times, max_size=40))
def test_more_sureness_is_never_a_lower_grade(
    correct: bool, seconds: float, earlier: list[float]
) -> None:
    grades = [grade_of(correct, sureness, seconds, earlier) for sureness in Sureness]
    assert grades == sorted(grades)


@pytest.mark.parametrize("correct", [False, True])
@pytest.mark.parametrize("sureness", Sureness)
def test_wrong_and_sure_is_dangerous(correct: bool, sureness: Sureness) -> None:
    assert dangerous(correct, sureness) == (not correct and sureness is SURE)


def test_the_words_of_sureness() -> None:
    assert [sureness.label for sureness in Sureness] == ["guess", "leaning", "sure"]
