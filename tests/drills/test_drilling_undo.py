"""What is undone, checked, or answered in two windows costs and doubles no memory."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest

from drills.errors import DatabaseLocked
from drills.grading import Grade, Sureness
from drills.planner import Why
from drills.service.checks import CHECK_AFTER
from drills.service.desk import Desk
from tests.desks import (
    Watch,
    answer,
    answer_all,
    right_answer,
    wrong_answer,
)
from tests.drills.at_the_drill import NEAR, answers, drill, memories

# ---- undo


@pytest.mark.parametrize("seed", range(4))
def test_undo_puts_every_memory_back_exactly_as_it_was(desk: Desk, watch: Watch, seed: int) -> None:
    chance = random.Random(seed)
    for _ in range(4):
        session = drill(desk)
        for _ in range(12):
            showing = session.next()
            assert showing is not None
            before = memories(desk)
            undo = chance.random() < 0.5
            for again in range(2 if undo else 1):
                right = chance.random() < 0.7
                said = right_answer(showing) if right else wrong_answer(showing)
                session.answer(said, chance.choice(list(Sureness)), chance.uniform(1, 20))
                if chance.random() < 0.5:
                    session.prepare()
                if undo and not again:
                    assert session.undo() is showing
                    assert memories(desk) == before
            watch.go_on(8)
        session.end()
        watch.next_morning(chance.choice([1, 1, 3, 9]))


def test_undo_of_several_answers_goes_back_one_at_a_time(desk: Desk) -> None:
    session = drill(desk)
    states = []
    for number in range(6):
        states.append(memories(desk))
        answer(session, right=number % 3 != 0)
    shown = [reveal.showing for reveal in session.reveals]
    for state in reversed(states):
        assert session.undo() is shown.pop()
        assert memories(desk) == state
    assert session.answered == 0
    assert session.undo() is None
    assert all(one.undone_at is not None for one in answers(desk, session))
    assert len(answers(desk, session)) == 6


def test_undo_asks_the_same_card_again_and_then_goes_on_as_before(desk: Desk) -> None:
    session = drill(desk)
    answer(session)
    waiting = session.next()
    assert waiting is not None
    first = session.undo()
    assert first is not None
    session.answer(wrong_answer(first), Sureness.SURE, 3.0)
    assert [reveal.correct for reveal in session.reveals] == [False]
    after = session.next()
    assert after is not None
    assert after.question.contrast == waiting.question.contrast


def test_undo_of_an_answer_of_today_brings_back_what_is_left_of_earlier_days(
    desk: Desk, watch: Watch
) -> None:
    session = drill(desk, pair=NEAR)
    answer_all(session, 3, right=lambda _: False)
    watch.next_morning()
    before = memories(desk)
    assert len(before) == 3
    later = drill(desk, pair=NEAR)
    answer_all(later, 3)
    assert all(one.answers == 2 for one in memories(desk).values())
    for _ in range(3):
        later.undo()
    assert memories(desk) == before


def test_an_undone_slip_is_not_checked(desk: Desk) -> None:
    session = drill(desk)
    slipped = answer(session, right=False).showing
    session.undo()
    session.answer(right_answer(slipped), Sureness.SURE, 3.0)
    later = answer_all(session, 12)
    assert all(one.showing.why is not Why.CHECK for one in later)


def test_an_undone_slip_is_not_checked_even_where_its_check_was_ready(desk: Desk) -> None:
    # A pair with few contrasts: the check of the last slip is made ready at once.
    session = drill(desk, pair=NEAR)
    number = len(desk.repository.contrasts_of_pair(*NEAR))
    answer_all(session, number - 1)
    last = answer(session, right=False).showing
    session.prepare()
    assert session.undo() is last
    session.answer(right_answer(last), Sureness.SURE, 3.0)
    assert session.next() is None


def test_a_slip_undone_and_made_again_is_checked_once(desk: Desk) -> None:
    session = drill(desk, pair=NEAR)
    number = len(desk.repository.contrasts_of_pair(*NEAR))
    answer_all(session, number - 1)
    last = answer(session, right=False).showing
    for _ in range(2):
        session.prepare()
        session.undo()
        session.answer(wrong_answer(last), Sureness.SURE, 3.0)
    assert answer(session).showing.why is Why.CHECK
    assert session.next() is None


def test_an_undone_check_is_asked_again_as_a_check(desk: Desk) -> None:
    session = drill(desk)
    slipped = answer(session, right=False).showing
    answer_all(session, CHECK_AFTER)
    before = memories(desk)
    check = answer(session, right=False)
    assert check.showing.why is Why.CHECK
    assert session.undo() is check.showing
    assert memories(desk) == before
    again = session.answer(right_answer(check.showing), Sureness.SURE, 3.0)
    assert again.back_in is None
    assert memories(desk) == before
    assert again.showing.question.contrast == slipped.question.contrast


def test_an_undo_that_could_not_be_kept_can_be_tried_again(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = drill(desk)
    answer(session)
    before = memories(desk)
    last = answer(session).showing

    def refuse(*_: object) -> bool:
        raise DatabaseLocked("another program is writing")

    with monkeypatch.context() as patch:
        patch.setattr(desk.repository, "undo_answer", refuse)
        with pytest.raises(DatabaseLocked):
            session.undo()
    assert session.answered == 2
    assert session.undo() is last
    assert memories(desk) == before


# ---- checks


def test_a_slipped_card_comes_back_once_after_six_others_and_does_not_count(desk: Desk) -> None:
    session = drill(desk)
    slipped = answer(session, right=False).showing.question.contrast.id
    remembered = memories(desk)[slipped]
    between = answer_all(session, CHECK_AFTER)
    assert slipped not in {one.showing.question.contrast.id for one in between}
    check = answer(session, right=False)
    assert check.showing.why is Why.CHECK
    assert check.showing.question.contrast.id == slipped
    assert check.back_in is None
    assert memories(desk)[slipped] == remembered
    assert [one.counts for one in answers(desk, session)] == [True] * 7 + [False]
    # Once: a check answered wrong is not checked again.
    later = answer_all(session, 15)
    assert slipped not in {one.showing.question.contrast.id for one in later}
    assert [slip.truth for slip in session.end().slips] == [
        desk.short(session.reveals[0].showing.question.truth)
    ]


def test_every_slip_is_checked_in_its_turn(desk: Desk) -> None:
    session = drill(desk)
    wrong = [answer(session, right=False).showing.question.contrast.id for _ in range(3)]
    rest = answer_all(session, 8)
    checks = [one.showing for one in rest if one.showing.why is Why.CHECK]
    places = [place for place, one in enumerate(rest) if one.showing.why is Why.CHECK]
    assert [one.question.contrast.id for one in checks] == wrong
    assert places == [4, 5, 6]


def test_where_too_few_cards_are_left_the_check_comes_at_the_end(desk: Desk) -> None:
    session = drill(desk, pair=NEAR)
    number = len(desk.repository.contrasts_of_pair(*NEAR))
    assert all(one.correct for one in answer_all(session, number))
    assert session.next() is None
    later = drill(desk, pair=NEAR)
    answer_all(later, number - 1)
    slipped = answer(later, right=False)
    check = answer(later)
    assert check.showing.why is Why.CHECK
    assert check.showing.question.contrast == slipped.showing.question.contrast
    assert later.next() is None


# ---- two at once


def test_two_drills_at_once_on_one_file_keep_every_answer(open_desk: Callable[[], Desk]) -> None:
    one, other = open_desk(), open_desk()
    drills = [drill(one), drill(other)]
    for _ in range(10):
        for session in drills:
            answer(session)
    assert drills[0].drill_id != drills[1].drill_id
    kept = [answers(one, session) for session in drills]
    assert [len(found) for found in kept] == [10, 10]


def test_a_contrast_answered_in_two_drills_at_once_is_remembered_by_both_answers(
    open_desk: Callable[[], Desk],
) -> None:
    one, other = open_desk(), open_desk()
    first, second = drill(one, pair=NEAR), drill(other, pair=NEAR)
    # Both have planned the same card before either is answered.
    mine, theirs = first.next(), second.next()
    assert mine is not None
    assert theirs is not None
    contrast = mine.question.contrast
    assert theirs.question.contrast == contrast
    first.answer(right_answer(mine), Sureness.SURE, 5.0)
    second.answer(wrong_answer(theirs), Sureness.SURE, 5.0)
    memory = memories(one)[contrast.id]
    assert (memory.answers, memory.slips) == (2, 1)
    history = [(Grade(row.grade), row.day) for row in one.repository.answers_of(1, contrast.id)]
    trace = one.memory.replay(history)
    assert trace is not None
    assert (memory.stability, memory.difficulty) == (trace.stability, trace.difficulty)
    # Undo in one of them takes back that answer alone.
    first.undo()
    memory = memories(one)[contrast.id]
    assert (memory.answers, memory.slips) == (1, 1)
