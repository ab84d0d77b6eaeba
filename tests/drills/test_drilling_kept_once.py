"""However a drill is stopped, an answer is kept once, and for the card that it was given to."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from drills.errors import DatabaseLocked
from drills.grading import Sureness
from drills.service.choosing import Choice
from drills.service.desk import Desk
from tests.desks import right_answer, wrong_answer
from tests.drills.at_the_drill import NEAR, answers, drill, memories


@pytest.fixture
def stopped_once(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> Callable[[BaseException], None]:
    """Let an error come once, right after the database has taken the answer."""

    def stop(error: BaseException) -> None:
        record, waits = desk.repository.record_answer, [error]

        def then_stop(*given: object, **named: object) -> int:
            number = record(*given, **named)  # type: ignore[arg-type]
            if waits:
                raise waits.pop()
            return number

        monkeypatch.setattr(desk.repository, "record_answer", then_stop)

    return stop


@pytest.mark.parametrize("error", [KeyboardInterrupt(), DatabaseLocked("the word of it is lost")])
def test_an_answer_that_was_kept_without_the_word_of_it_is_not_kept_again(
    desk: Desk, stopped_once: Callable[[BaseException], None], error: BaseException
) -> None:
    session = drill(desk)
    showing = session.next()
    assert showing is not None
    session.judge(right_answer(showing), Sureness.SURE, 3.0)
    stopped_once(error)
    with pytest.raises(type(error)):
        session.keep()
    assert session.end().answered == 1
    (kept,) = answers(desk, session)
    assert kept.contrast_id == showing.question.contrast.id
    assert memories(desk)[kept.contrast_id].answers == 1
    session.undo()
    assert memories(desk) == {}


def test_an_answer_in_lines_that_is_interrupted_as_it_is_kept_is_kept_once(
    desk: Desk, stopped_once: Callable[[BaseException], None]
) -> None:
    session = drill(desk)
    showing = session.next()
    assert showing is not None
    stopped_once(KeyboardInterrupt())
    with pytest.raises(KeyboardInterrupt):
        session.answer(right_answer(showing), Sureness.SURE, 3.0)
    assert session.end().answered == 1
    assert len(answers(desk, session)) == 1


def test_an_error_after_the_answer_was_kept_does_not_keep_it_again(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = drill(desk)
    showing = session.next()
    assert showing is not None

    def fail(*_: object) -> None:
        raise RuntimeError("out of order")

    session.judge(wrong_answer(showing), Sureness.SURE, 3.0)
    with monkeypatch.context() as patch:
        patch.setattr(Choice, "timed", fail)
        with pytest.raises(RuntimeError):
            session.keep()
    assert session.kept
    following = session.next()
    assert following is not None
    assert following is not showing
    assert session.end().answered == 1
    assert len(answers(desk, session)) == 1


def test_no_card_is_made_ready_behind_one_that_is_open(desk: Desk) -> None:
    session = drill(desk)
    opened = session.next()
    assert opened is not None
    # As where the next card was asked for before the last one was ready.
    session.prepare()
    assert session.upcoming is None
    session.judge(right_answer(opened), Sureness.SURE, 3.0)
    session.prepare()
    assert session.upcoming is not None
    assert session.upcoming.question.contrast.pair != opened.question.contrast.pair


def test_nothing_is_made_ready_in_a_drill_that_is_over(desk: Desk) -> None:
    session = drill(desk)
    showing = session.next()
    assert showing is not None
    session.judge(right_answer(showing), Sureness.SURE, 3.0)
    session.end()
    session.prepare()
    assert session.upcoming is None


def test_where_one_goes_on_fast_and_takes_back_every_card_still_comes_once(desk: Desk) -> None:
    session = drill(desk, pair=NEAR)
    first = session.next()
    assert first is not None
    session.judge(right_answer(first), Sureness.SURE, 3.0)
    assert session.next() is not None
    session.prepare()
    showing = session.undo()
    assert showing is first
    asked = []
    while showing is not None:
        asked.append(showing.question.contrast.id)
        session.answer(right_answer(showing), Sureness.SURE, 3.0)
        showing = session.next()
    ids = [one.id for one in desk.repository.contrasts_of_pair(*NEAR)]
    assert sorted(asked) == sorted(ids)
