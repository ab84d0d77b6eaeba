"""What a taster can rely on in a drill."""

from __future__ import annotations

import io
import random
from collections.abc import Callable
from datetime import UTC, timedelta
from itertools import combinations, pairwise

import pytest

from cards.cellar import Cellar
from cards.contrasts import ordered_pair
from drills.errors import DatabaseLocked
from drills.grading import Grade, Sureness
from drills.planner import Why
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.intake import read_lines, take_in
from drills.storage.repository import open_repository
from tests.desks import (
    TODAY,
    Watch,
    answer,
    answer_all,
    right_answer,
    wrong_answer,
)
from tests.drills.at_the_drill import FAR, NEAR, answers, drill, memories

# ---- answers


def test_an_answer_is_on_disk_before_the_next_card_is_handed_out(desk: Desk) -> None:
    session = drill(desk)
    for number in range(1, 6):
        showing = session.next()
        assert showing is not None
        session.answer(right_answer(showing), Sureness.LEANING, 4.5)
        # Another program reads the file: what it sees has been committed.
        with open_repository(desk.location, readonly=True) as other:
            kept = other.answers_of_drill(session.drill_id)
            assert len(kept) == number
            assert kept[-1].contrast_id == showing.question.contrast.id
            assert (kept[-1].correct, kept[-1].seconds) == (True, 4.5)
            assert other.memory(desk.taster.id, kept[-1].contrast_id) is not None


def test_an_answer_says_all_that_was_on_the_card(desk: Desk, watch: Watch) -> None:
    session = drill(desk)
    for number in range(8):
        showing = session.next()
        assert showing is not None
        question = showing.question
        right = number % 2 == 0
        said = right_answer(showing) if right else wrong_answer(showing)
        reveal = session.answer(said, Sureness(number % 3 + 1), 2.0 + number)
        kept = answers(desk, session)[-1]
        letters = {question.contrast.wine_a: "a", question.contrast.wine_b: "b"}
        assert kept.correct == reveal.correct == right
        assert kept.truth == letters[question.truth]
        assert kept.given == letters[str(said)]
        assert kept.swapped == (question.left == question.contrast.wine_b)
        assert (kept.sureness, kept.seconds) == (number % 3 + 1, 2.0 + number)
        assert kept.form == "which glass"
        assert kept.day == TODAY
        assert kept.answered_at.astimezone(UTC) <= watch.at
        assert kept.grade == int(reveal.grade)


@pytest.mark.parametrize(
    ("right", "sureness", "grade", "flagged"),
    [
        (True, Sureness.SURE, Grade.RECALLED, False),
        (True, Sureness.LEANING, Grade.WITH_EFFORT, False),
        (True, Sureness.GUESS, Grade.NOT_RECALLED, False),
        (False, Sureness.SURE, Grade.NOT_RECALLED, True),
        (False, Sureness.LEANING, Grade.NOT_RECALLED, False),
        (False, Sureness.GUESS, Grade.NOT_RECALLED, False),
    ],
)
def test_the_program_grades_by_which_and_how_sure(
    desk: Desk, right: bool, sureness: Sureness, grade: Grade, flagged: bool
) -> None:
    reveal = answer(drill(desk), right=right, sureness=sureness)
    assert (reveal.correct, reveal.grade, reveal.dangerous) == (right, grade, flagged)


def test_right_sure_and_much_faster_than_usual_is_known_at_ease(desk: Desk) -> None:
    session = drill(desk)
    for _ in range(20):
        assert answer(session, seconds=10.0).grade is Grade.RECALLED
    assert answer(session, seconds=4.9).grade is Grade.AT_EASE
    assert answer(session, seconds=5.1).grade is Grade.RECALLED


def test_the_usual_pace_is_remembered_from_one_drill_to_the_next(
    open_desk: Callable[[], Desk],
) -> None:
    session = drill(open_desk())
    for _ in range(20):
        answer(session, seconds=10.0)
    assert answer(drill(open_desk()), seconds=4.9).grade is Grade.AT_EASE


def test_the_reveal_says_when_the_contrast_comes_back(desk: Desk) -> None:
    session = drill(desk)
    for sureness in (Sureness.SURE, Sureness.LEANING, Sureness.GUESS):
        reveal = answer(session, sureness=sureness)
        memory = memories(desk)[reveal.showing.question.contrast.id]
        assert reveal.back_in == memory.due_day - TODAY
        assert reveal.back_in >= 1


def test_an_answer_without_a_card_is_refused(desk: Desk) -> None:
    session = drill(desk)
    with pytest.raises(ValueError, match="no card"):
        session.answer("anything", Sureness.SURE, 1.0)
    answer(session)
    with pytest.raises(ValueError, match="no card"):
        session.answer("anything", Sureness.SURE, 1.0)


def test_an_answer_that_could_not_be_kept_can_be_given_again(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = drill(desk)
    showing = session.next()
    assert showing is not None

    def refuse(*_: object, **__: object) -> int:
        raise DatabaseLocked("another program is writing")

    with monkeypatch.context() as patch:
        patch.setattr(desk.repository, "record_answer", refuse)
        with pytest.raises(DatabaseLocked):
            session.answer(right_answer(showing), Sureness.SURE, 3.0)
    assert session.answered == 0
    assert memories(desk) == {}
    reveal = session.answer(right_answer(showing), Sureness.SURE, 3.0)
    assert reveal.showing is showing
    assert session.answered == 1
    assert len(answers(desk, session)) == 1


# ---- time


def test_time_up_ends_the_drill_after_the_open_card(desk: Desk, watch: Watch) -> None:
    session = DrillSession(desk, 60)
    answer(session)
    showing = session.next()
    assert showing is not None
    watch.go_on(61)
    assert session.left == 0
    session.answer(right_answer(showing), Sureness.SURE, 61.0)
    session.prepare()
    assert session.next() is None
    assert session.end().answered == 2
    assert answers(desk, session)[-1].seconds == 61.0


def test_a_drill_shows_a_card_even_if_the_first_took_all_the_time(desk: Desk, watch: Watch) -> None:
    session = DrillSession(desk, 60)
    watch.go_on(3600)
    answer(session)
    assert session.next() is None


def test_a_card_made_ready_before_the_time_was_up_is_not_shown_and_not_lost(
    desk: Desk, watch: Watch
) -> None:
    session = DrillSession(desk, 60)
    answer(session)
    session.prepare()
    watch.go_on(61)
    assert session.next() is None
    assert session.end().unseen_left == desk.repository.counts(desk.taster.id, TODAY).unseen
    assert len(memories(desk)) == 1


def test_the_summary_counts_what_was_answered_and_says_what_comes_next(
    desk: Desk, watch: Watch
) -> None:
    session = drill(desk)
    before = desk.repository.counts(desk.taster.id, TODAY)
    answer_all(session, 4)
    slip = answer(session, right=False, sureness=Sureness.SURE).showing
    watch.go_on(90)
    summary = session.end()
    assert (summary.answered, summary.right, summary.seconds) == (5, 4, 90)
    assert summary.due_left == 0
    assert summary.unseen_left == before.unseen - 5
    (one,) = summary.slips
    assert one.truth == desk.short(slip.question.truth)
    assert one.dangerous
    assert one.cues == ", ".join(reading.words for reading in slip.question.readings)
    days = sorted(memory.due_day - TODAY for memory in memories(desk).values())
    assert summary.next_in == days[0]
    assert list(summary.forecast) == [days.count(n) for n in range(1, 8)]
    (kept,) = desk.repository.drills(desk.taster.id)
    assert kept.ended_at is not None
    assert session.end() == summary


# ---- days


def test_what_is_due_comes_back_when_the_study_day_has_turned_and_not_before(
    desk: Desk, watch: Watch
) -> None:
    reveal = answer(drill(desk), right=False)
    contrast = reveal.showing.question.contrast.id
    assert reveal.back_in is not None
    day = (watch.at.astimezone() + timedelta(days=reveal.back_in)).date()
    watch.set_local(day.year, day.month, day.day, 3, 59)
    evening = [one.showing for one in answer_all(drill(desk), 3)]
    assert contrast not in {one.question.contrast.id for one in evening}
    assert desk.repository.counts(desk.taster.id, desk.clock.today()).due == 0
    watch.set_local(day.year, day.month, day.day, 4, 0)
    assert desk.repository.counts(desk.taster.id, desk.clock.today()).due >= 1
    morning = answer_all(drill(desk), 3)
    assert contrast in {
        one.showing.question.contrast.id for one in morning if one.showing.why is Why.DUE
    }


def test_a_drill_after_midnight_still_belongs_to_the_day_before(desk: Desk, watch: Watch) -> None:
    watch.set_local(2026, 3, 3, 1, 30)
    session = drill(desk)
    answer(session)
    assert answers(desk, session)[0].day == TODAY


def test_after_a_long_break_the_overdue_wait_without_hiding_what_is_unseen(
    desk: Desk, watch: Watch
) -> None:
    for _ in range(4):
        answer_all(DrillSession(desk, 3600), 20)
        watch.next_morning()
    watch.next_morning(400)
    assert desk.repository.counts(desk.taster.id, desk.clock.today()).due == len(memories(desk))
    reasons = [one.showing.why for one in answer_all(drill(desk), 40)]
    # The less room the backlog leaves, the fewer are unseen, but never none; no card is a check.
    assert 1 <= reasons.count(Why.UNSEEN) <= 4
    assert reasons.count(Why.DUE) == 40 - reasons.count(Why.UNSEEN)


# ---- one pair


def test_a_drill_of_one_pair_asks_that_pair_only_and_ends_when_it_is_through(desk: Desk) -> None:
    session = drill(desk, pair=NEAR)
    wanted = {one.id for one in desk.repository.contrasts_of_pair(*NEAR)}
    reveals = answer_all(session, len(wanted))
    assert {one.showing.question.contrast.id for one in reveals} == wanted
    assert {one.showing.why for one in reveals} == {Why.ASKED}
    assert session.next() is None


def test_answers_of_a_pair_asked_for_are_remembered_like_any_other(desk: Desk) -> None:
    session = drill(desk, pair=tuple(reversed(NEAR)))
    reveal = answer(session)
    assert reveal.showing.question.contrast.id in memories(desk)


def test_any_two_wines_can_be_drilled_also_where_the_table_would_not_pair_them(
    desk: Desk, cellar: Cellar
) -> None:
    chosen = set(cellar.pairs())
    rng = random.Random(3)
    left_out = [p for p in combinations(sorted(desk.table.profiles), 2) if p not in chosen]
    for pair in rng.sample(left_out, 12):
        assert desk.repository.contrasts_of_pair(*pair) == []
        desk.ensure_pairs([pair])
        session = drill(desk, pair=pair)
        reveal = answer(session)
        assert reveal.showing.question.contrast.pair == pair
        session.end()
    # They stand behind everything the table would teach by itself.
    nobody = [one.showing.question.contrast.pair for one in answer_all(drill(desk), 20)]
    assert not set(nobody) & set(left_out)


def test_a_pair_asked_for_twice_is_kept_once(desk: Desk) -> None:
    for pair in (FAR, FAR):
        desk.ensure_pairs([pair])
    found = [one.id for one in desk.repository.contrasts_of_pair(*FAR)]
    assert len(found) == len(set(found)) == len(desk.cellar.contrasts(*ordered_pair(*FAR)))


# ---- what is on the card


def test_a_glass_says_the_wines_short_name_and_where_it_is_from(desk: Desk) -> None:
    showing = drill(desk).next()
    assert showing is not None
    for glass in (showing.left, showing.right):
        profile = desk.table.profiles[glass.wine]
        assert glass.name == profile.short
        assert glass.place == f"{profile.region}, {profile.country}"
    assert {showing.left.wine, showing.right.wine} == set(showing.question.contrast.pair)


def test_contrasts_of_one_pair_do_not_follow_each_other_in_the_daily_drill(desk: Desk) -> None:
    pairs = [one.showing.question.contrast.pair for one in answer_all(drill(desk), 40)]
    assert all(one != after for one, after in pairwise(pairs))


def test_a_drill_goes_on_where_the_log_holds_pours_called_right(desk: Desk) -> None:
    lines = f"{NEAR[0]} > {NEAR[0]}\n{NEAR[0]} > {NEAR[1]}\n"
    taken = take_in(desk, read_lines(desk, io.StringIO(lines)))
    assert (taken.pours, taken.confusions) == (2, 1)
    assert len(answer_all(drill(desk), 12)) == 12


def test_cards_weighed_in_a_thread_take_over_once_they_are_weighed(desk: Desk) -> None:
    session = DrillSession(desk, 36000, background=True)
    (first,) = answer_all(session, 1)
    session.prepare()
    assert session._choice.weighing is not None
    weighed = session._choice.weighing.result(timeout=60)
    later = answer_all(session, 3)
    assert session._choice.planned is weighed
    ids = [one.showing.question.contrast.id for one in (first, *later)]
    assert len(set(ids)) == 4
