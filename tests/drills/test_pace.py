"""What is expected of a card's seconds: the population's pace at first, one's own in the end."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards.questions import Form
from drills.grading import Sureness
from drills.planning.pace import (
    ANSWER_SPREAD,
    FORM_SPREAD,
    LONGEST,
    POPULATION,
    SHORTEST,
    TASTER_SPREAD,
    pace_of,
)
from drills.service.choosing import FIRST_FORM, FORMS
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.pacing import own_times
from tests.desks import Watch, answer, right_answer

TIMES = st.lists(st.tuples(st.sampled_from(Form), st.floats(0.1, 200)), max_size=30)


def test_before_any_answer_the_pace_is_the_populations() -> None:
    pace = pace_of([])
    assert pace.seconds == pytest.approx(dict(POPULATION))
    assert set(pace.answers.values()) == {0}


@given(TIMES)
def test_the_pace_is_the_posterior_mean_of_the_two_stage_normal_model(
    times: Sequence[tuple[Form, float]],
) -> None:
    """Against conditioning one big normal distribution on all answers at once, by linear algebra.

    The joint covariance is that of Gelman and others, Bayesian Data Analysis, section 5.4: answers
    of one taster share a variance, answers of one form of that taster another one.
    """
    forms = list(Form)
    of = np.array([forms.index(form) for form, _ in times], int)
    seconds = np.clip([one for _, one in times], SHORTEST, LONGEST)
    usual = np.log([POPULATION[form] for form in forms]) - ANSWER_SPREAD**2 / 2
    prior = TASTER_SPREAD**2 + FORM_SPREAD**2 * np.eye(len(forms))
    found = np.zeros(len(forms))
    if len(of):
        told = prior[np.ix_(of, of)] + ANSWER_SPREAD**2 * np.eye(len(of))
        found = prior[:, of] @ np.linalg.solve(told, np.log(seconds) - usual[of])
    pace = pace_of(times)
    for form, moved in zip(forms, found, strict=True):
        assert pace.seconds[form] == pytest.approx(POPULATION[form] * math.exp(moved), rel=1e-9)
        assert pace.answers[form] == sum(one is form for one, _ in times)


def test_many_answers_leave_the_mean_of_ones_own() -> None:
    rng = np.random.default_rng(4)
    seconds = np.exp(rng.normal(np.log(7) - ANSWER_SPREAD**2 / 2, ANSWER_SPREAD, 400))
    pace = pace_of([(Form.WHICH_GLASS, float(one)) for one in seconds])
    assert pace.seconds[Form.WHICH_GLASS] == pytest.approx(float(seconds.mean()), rel=0.05)


def test_a_form_never_asked_is_slower_for_a_slower_taster() -> None:
    pace = pace_of([(Form.WHICH_GLASS, 30.0)] * 50)
    assert POPULATION[Form.NAME_IT] * 1.3 < pace.seconds[Form.NAME_IT]
    # It borrows from the others, but not as if it were they.
    slower = pace.seconds[Form.WHICH_GLASS] / POPULATION[Form.WHICH_GLASS]
    assert pace.seconds[Form.NAME_IT] < POPULATION[Form.NAME_IT] * slower


def test_one_answer_left_open_over_lunch_moves_the_pace_little() -> None:
    usual = pace_of([(Form.WHICH_GLASS, 9.0)] * 30).seconds[Form.WHICH_GLASS]
    lunch = pace_of([(Form.WHICH_GLASS, 9.0)] * 30 + [(Form.WHICH_GLASS, 3600.0)])
    assert lunch.seconds[Form.WHICH_GLASS] < usual * 1.1


def test_forms_are_weighed_by_how_often_they_are_asked() -> None:
    pace = pace_of([])
    assert pace.over(FIRST_FORM) == POPULATION[Form.WHICH_GLASS]
    whole = sum(POPULATION[form] * share for form, share in FORMS.items())
    assert pace.over(FORMS) == pytest.approx(whole)


# ---- at the desk


def test_the_reveal_that_is_read_counts_with_the_card(desk: Desk, watch: Watch) -> None:
    session = DrillSession(desk, 600)
    for seconds in (4.0, 6.0):
        showing = session.next()
        assert showing is not None
        watch.go_on(seconds)
        session.answer(right_answer(showing), Sureness.SURE, seconds)
        watch.go_on(5.0)
    first, second = own_times(desk)
    assert first[0] is second[0] is Form.WHICH_GLASS
    assert first[1] == pytest.approx(4, abs=0.1)
    assert second[1] == pytest.approx(5 + 6, abs=0.1)


def test_each_drill_begins_anew_and_an_answer_taken_back_is_not_timed(
    desk: Desk, watch: Watch
) -> None:
    for _ in range(2):
        session = DrillSession(desk, 600)
        for _ in range(2):
            watch.go_on(8)
            answer(session, seconds=3.0)
        watch.go_on(8)
        answer(session, seconds=3.0)
        session.undo()
        session.end()
        watch.next_morning()
    assert [round(seconds) for _, seconds in own_times(desk)] == [8, 8, 8, 8]


def test_the_pace_within_a_drill_is_the_one_that_the_database_tells(
    desk: Desk, watch: Watch
) -> None:
    session = DrillSession(desk, 3600)
    for number in range(25):
        watch.go_on(3 + number % 7)
        answer(session, right=number % 4 > 0, seconds=2.0)
        if number % 9 == 8:
            session.undo()
            answer(session, seconds=2.0)
    assert session._choice.pace == pace_of(own_times(desk))


def test_a_quick_taster_has_more_cards_lined_up_than_a_slow_one(desk: Desk, watch: Watch) -> None:
    def lined_up(seconds: float) -> int:
        session = DrillSession(desk, 3600)
        for _ in range(12):
            watch.go_on(seconds)
            answer(session, seconds=seconds)
        session.seconds = session.spent + 300
        session.prepare()
        return len(session._choice._queue)

    assert lined_up(5.0) > 1.5 * lined_up(40.0)
