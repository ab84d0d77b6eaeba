"""What an answer changes in the rest of its drill, and how a stopped drill goes on."""

from __future__ import annotations

import random
import subprocess
import sys
from collections.abc import Callable
from itertools import pairwise

import pytest

from drills.errors import NotPossibleError, UsageError
from drills.grading import Sureness
from drills.planner import Why
from drills.service.beginning import begin, begin_chosen
from drills.service.checks import CHECK_AFTER
from drills.service.choosing import FIRST_FORM, FORMS
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.planned import Planned
from drills.service.resuming import Kind, kind_of, left_over, unchecked
from drills.service.showing import Showing
from drills.service.slips import slipped_pairs
from tests.desks import Watch, answer, answer_all, mix_up, right_answer, wrong_answer

NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")


def practised(desk: Desk, watch: Watch, drills: int = 3) -> None:
    """Some days of drills, most answers right."""
    for _ in range(drills):
        answer_all(DrillSession(desk, 1200), 30, right=lambda one: one.question.contrast.id % 4 > 0)
        watch.next_morning(4)


def planned_of(session: DrillSession) -> Planned:
    planned = session._choice.planned
    assert planned is not None
    return planned


# ---- planning anew


@pytest.mark.parametrize("seed", range(3))
def test_a_plan_kept_in_step_is_the_plan_made_anew(desk: Desk, watch: Watch, seed: int) -> None:
    practised(desk, watch)
    chance = random.Random(seed)
    session = DrillSession(desk, 1200)
    answer(session)
    for number in range(25):
        watch.go_on(chance.uniform(3, 20))
        answer(session, right=chance.random() < 0.6, sureness=chance.choice(list(Sureness)))
        if chance.random() < 0.2:
            session.undo()
            answer(session, right=chance.random() < 0.5)
        if number == 12:
            mix_up(desk, *NEAR)
        session.prepare()
        anew, kept = Planned(desk), planned_of(session)
        pace = session._choice.pace
        for one in (anew, kept):
            one.paced(pace.over(FORMS), pace.over(FIRST_FORM))
        first, second = (one.waiting(set(), 80, room=50) for one in (anew, kept))
        assert first == second
        assert [anew.reason(one.contrast_id) for one in first] == [
            kept.reason(one.contrast_id) for one in second
        ]


def test_the_same_answers_lead_through_the_same_cards(desk: Desk, watch: Watch) -> None:
    practised(desk, watch)

    def shown() -> list[int]:
        session, chance = DrillSession(desk, 1200), random.Random(2)
        session._posing.rng = random.Random(2)
        cards = []
        for _ in range(30):
            showing = session.next()
            assert showing is not None
            cards.append(showing.question.contrast.id)
            wrong = chance.random() < 0.3
            said = wrong_answer(showing) if wrong else right_answer(showing)
            session.answer(said, Sureness.SURE, 5.0)
            session.prepare()
        for _ in range(30):
            session.undo()
        return cards

    assert shown() == shown()


def test_a_slip_raises_what_its_pair_is_worth_for_the_rest_of_the_day(
    desk: Desk, watch: Watch
) -> None:
    session = DrillSession(desk, 1200)
    answer_all(session, 2)
    session.prepare()
    planned = planned_of(session)
    planned.paced(12.0, 12.0)
    order = [one.pair for one in planned.waiting(set(), 400, room=50)]
    showing = session.next()
    assert showing is not None
    pair = showing.question.contrast.pair
    session.answer(wrong_answer(showing), Sureness.LEANING, 5.0)
    session._choice.catch_up()
    after = [one.pair for one in planned.waiting(set(), 400, room=50)]
    # Its other contrasts come sooner than they stood, though one place is gone.
    places = [[n for n, one in enumerate(found) if one == pair] for found in (order, after)]
    assert sum(places[1]) < sum(places[0][1:])
    assert set(slipped_pairs(desk).elements()) == {(showing.question.other, showing.question.truth)}
    (sibling, *_) = [one for one in planned.waiting(set(), 400, room=50) if one.pair == pair]
    assert planned.reason(sibling.contrast_id).endswith("after a slip today")
    session.undo()
    session._choice.catch_up()
    assert [one.pair for one in planned.waiting(set(), 400, room=50)] == order
    session.answer(wrong_answer(showing), Sureness.LEANING, 5.0)
    watch.next_morning()
    assert not slipped_pairs(desk)


def test_a_confusion_logged_meanwhile_comes_with_the_next_card(
    open_desk: Callable[[], Desk], watch: Watch
) -> None:
    running = DrillSession(open_desk(), 1200)
    answer_all(running, 4)
    watch.go_on(5)
    mix_up(open_desk(), *NEAR)
    watch.go_on(5)
    # The card that is open stays; the one after it is of the confusion.
    answer(running)
    reveals = answer_all(running, 3)
    assert {one.showing.question.contrast.pair for one in reveals} == {NEAR}
    assert {one.showing.why for one in reveals} == {Why.CONFUSED}


def test_within_a_drill_one_card_in_ten_stays_unseen_where_what_fades_would_fill_it(
    desk: Desk, watch: Watch
) -> None:
    for _ in range(4):
        answer_all(DrillSession(desk, 3600), 20)
        watch.next_morning()
    watch.next_morning(60)
    reveals = answer_all(DrillSession(desk, 1100), 41)
    whys = [one.showing.why for one in reveals[1:]]
    assert whys.count(Why.UNSEEN) in (3, 4)


# ---- one style


def test_the_first_card_of_one_style_needs_no_numpy() -> None:
    code = (
        "import sys\n"
        "from drills.service.beginning import begin_chosen\n"
        "from drills.service.desk import Desk\n"
        "session = begin_chosen(Desk('sqlite://'), style='red')\n"
        "assert session.next() is not None\n"
        "print('numpy' in sys.modules)\n"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "False"


def test_confusions_of_the_style_come_first_and_no_others(desk: Desk) -> None:
    mix_up(desk, *NEAR)
    mix_up(desk, "nebbiolo-barolo", "sangiovese-chianti-classico", flight="Wednesday")
    session = DrillSession(desk, 600, style="white")
    shown = [answer(session).showing for _ in range(12)]
    confused = [one for one in shown if one.why is Why.CONFUSED]
    assert {one.question.contrast.pair for one in confused} == {NEAR}
    assert shown[: len(confused)] == confused
    styles = {
        desk.table.profiles[wine].style for one in shown for wine in one.question.contrast.pair
    }
    assert styles == {"white"}


# ---- going on with a stopped drill


def stop_after(desk: Desk, answers: int, wrong: set[int]) -> list[Showing]:
    session = begin(desk, 5)
    shown = [answer(session, right=n not in wrong, seconds=10.0).showing for n in range(answers)]
    session.end()
    return shown


def test_no_pair_follows_itself_where_others_wait_not_even_as_a_check(
    desk: Desk, watch: Watch
) -> None:
    chance, checked = random.Random(1), 0
    for _ in range(6):
        session = DrillSession(desk, 600)
        reveals = []
        while (showing := session.next()) is not None:
            watch.go_on(12)
            right = chance.random() < 0.7
            said = right_answer(showing) if right else wrong_answer(showing)
            reveals.append(session.answer(said, Sureness.SURE, 12.0))
            session.prepare()
        pairs = [one.showing.question.contrast.pair for one in reveals]
        assert len(pairs) == 50
        assert all(one != following for one, following in pairwise(pairs))
        checked += sum(one.showing.why is Why.CHECK for one in reveals)
        watch.next_morning(9)
    assert checked > 30


def test_a_drill_gone_on_with_has_the_time_that_was_left_and_its_pending_checks(
    open_desk: Callable[[], Desk],
) -> None:
    shown = stop_after(open_desk(), 5, wrong={1, 3})
    desk = open_desk()
    session = begin_chosen(desk, resume=True)
    assert session.seconds == pytest.approx(300 - 50)
    reveals = answer_all(session, CHECK_AFTER + 3)
    checks = [one.showing for one in reveals if one.showing.why is Why.CHECK]
    assert [one.question.contrast.id for one in checks] == [
        shown[n].question.contrast.id for n in (1, 3)
    ]
    assert [one.showing.why for one in reveals].index(Why.CHECK) == CHECK_AFTER
    # Each came back once: going on again brings neither.
    session.end()
    assert unchecked(open_desk()) == ()


def test_what_was_checked_before_the_stop_does_not_come_back(
    open_desk: Callable[[], Desk],
) -> None:
    desk = open_desk()
    session = begin(desk, 5)
    answer(session, right=False, seconds=10.0)
    for _ in range(CHECK_AFTER + 1):
        last = answer(session, seconds=10.0)
    assert last.showing.why is Why.CHECK
    session.end()
    assert unchecked(desk) == ()
    assert left_over(desk) == pytest.approx(300 - 80)


def test_a_drill_stopped_twice_keeps_what_is_pending(open_desk: Callable[[], Desk]) -> None:
    shown = stop_after(open_desk(), 3, wrong={0})
    again = begin_chosen(open_desk(), resume=True)
    answer(again, seconds=10.0)
    again.end()
    desk = open_desk()
    assert unchecked(desk) == (shown[0].question.contrast.id,)
    assert left_over(desk) == pytest.approx(300 - 40)


def test_a_drill_of_one_style_goes_on_with_that_style(open_desk: Callable[[], Desk]) -> None:
    session = begin_chosen(open_desk(), 5, style="sparkling")
    answer_all(session, 2)
    session.end()
    desk = open_desk()
    again = answer_all(begin_chosen(desk, resume=True), 6)
    wines = {wine for one in again for wine in one.showing.question.contrast.pair}
    assert {desk.table.profiles[wine].style for wine in wines} == {"sparkling"}


def test_a_drill_of_a_pair_goes_on_with_what_was_not_shown(open_desk: Callable[[], Desk]) -> None:
    desk = open_desk()
    session = begin(desk, 5, NEAR)
    shown = {one.showing.question.contrast.id for one in answer_all(session, 2)}
    session.end()
    again = begin_chosen(open_desk(), resume=True)
    showing = again.next()
    assert showing is not None
    assert showing.question.contrast.pair == NEAR
    assert showing.question.contrast.id not in shown


@pytest.mark.parametrize("note", ["", "of my own", "[1]", '{"pairs": 3}', '{"pairs": [["a"]]}'])
def test_a_note_that_tells_no_kind_is_of_the_daily_drill(note: str) -> None:
    assert kind_of(note) == Kind()


@pytest.mark.parametrize("kind", [Kind(), Kind((NEAR,)), Kind(style="red"), Kind(sure_slips=True)])
def test_what_a_drill_is_of_is_read_as_it_was_kept(kind: Kind) -> None:
    assert kind_of(kind.note) == kind


def test_two_minutes_more_are_there_to_be_gone_on_with(desk: Desk) -> None:
    session = begin(desk, 2)
    answer(session, seconds=30.0)
    session.extend()
    answer(session, seconds=30.0)
    session.end()
    assert left_over(desk) == pytest.approx(240 - 60)


def test_nothing_is_left_of_a_drill_with_less_time_than_a_card(desk: Desk) -> None:
    session = begin(desk, 1)
    answer(session, seconds=50.0)
    session.end()
    assert left_over(desk) == 0
    with pytest.raises(NotPossibleError, match="no drill was stopped"):
        begin_chosen(desk, resume=True)


def test_minutes_given_to_a_drill_gone_on_with_are_refused(desk: Desk) -> None:
    stop_after(desk, 2, wrong=set())
    with pytest.raises(UsageError, match="leave out --minutes"):
        begin_chosen(desk, 5, resume=True)


def test_a_pause_at_a_card_takes_no_more_than_a_minute_of_what_is_left(
    desk: Desk, watch: Watch
) -> None:
    session = begin(desk, 10)
    answer(session, seconds=10.0)
    watch.go_on(300)
    answer(session, seconds=300.0)
    session.end()
    assert left_over(desk) == pytest.approx(600 - 10 - 60)
