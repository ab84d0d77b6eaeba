"""What a taster can rely on in a drill."""

from __future__ import annotations

import io
import random
from collections import Counter
from collections.abc import Callable
from datetime import UTC, timedelta
from itertools import combinations, pairwise

import pytest
from scipy import stats

from cards.cellar import Cellar
from cards.contrasts import ordered_pair
from cards.cues import BOTH_SIDES, SIDE_A
from cards.questions import Form
from drills.errors import DatabaseLocked
from drills.grading import Grade, Sureness
from drills.planner import Why
from drills.service.choosing import FORMS
from drills.service.desk import Desk
from drills.service.drilling import CHECK_AFTER, DrillSession, Reveal, Showing
from drills.service.intake import read_lines, take_in
from drills.storage.records import AnswerRecord, MemoryRecord, SideCounts
from drills.storage.repository import open_repository
from tests.desks import (
    TODAY,
    Watch,
    answer,
    answer_all,
    mix_up,
    right_answer,
    versatile,
    wrong_answer,
)

TEN_MINUTES = 600.0
# Two wines that the trade confuses, and two that nobody teaches as a pair.
NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")
FAR = ("aglianico-taurasi", "cabernet-napa")


def drill(desk: Desk, **changes: object) -> DrillSession:
    return DrillSession(desk, TEN_MINUTES, **changes)  # type: ignore[arg-type]


def memories(desk: Desk) -> dict[int, MemoryRecord]:
    return {
        row.contrast.id: row.memory
        for row in desk.repository.memories(desk.taster.id)
        if row.memory is not None
    }


def answers(desk: Desk, session: DrillSession) -> list[AnswerRecord]:
    return desk.repository.answers_of_drill(session.drill_id)


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

    def refuse(*_: object) -> int:
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


# ---- sides and polarity


def within(successes: int, number: int) -> bool:
    """Whether a fair coin gives such a count, but for one case in ten thousand."""
    return bool(stats.binomtest(successes, number, 0.5).pvalue > 1e-4)


def test_over_four_hundred_answers_no_glass_and_no_wine_is_favoured(
    desk: Desk, watch: Watch
) -> None:
    chance = random.Random(20260302)
    left: list[bool] = []
    wine_a: list[bool] = []
    a_stands_left: list[bool] = []
    told_sides: dict[str, list[bool]] = {"left": [], "right": []}
    while len(left) < 400:
        session = DrillSession(desk, 3600)
        for _ in range(40):
            showing = session.next()
            assert showing is not None
            question = showing.question
            left.append(question.truth == question.left)
            a_stands_left.append(question.left == question.contrast.wine_a)
            if question.contrast.sides == BOTH_SIDES:
                wine_a.append(question.side == SIDE_A)
            told_sides["left" if left[-1] else "right"].append(question.side == SIDE_A)
            right = chance.random() < 0.75
            said = right_answer(showing) if right else wrong_answer(showing)
            session.answer(said, chance.choice(list(Sureness)), 7.0)
        session.end()
        watch.next_morning()
    for counted in (left, a_stands_left, wine_a):
        assert within(sum(counted), len(counted)), Counter(counted)
    # Knowing where the truth stands tells nothing of which wine it is.
    table = [[sum(found), len(found) - sum(found)] for found in told_sides.values()]
    assert stats.fisher_exact(table).pvalue > 1e-4
    # No rhythm to learn: the side is as often the other one as the same one.
    turns = [one != after for one, after in pairwise(left)]
    assert within(sum(turns), len(turns)) or sum(turns) > len(turns) / 2
    kept = [
        one for row in desk.repository.drills(desk.taster.id) for one in answers_of(desk, row.id)
    ]
    assert len(kept) == 400
    stood_left = sum((one.truth == "a") != one.swapped for one in kept)
    assert stood_left == sum(left)


def test_after_a_run_on_one_side_the_other_comes_more_often(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    lately = SideCounts(a=50, b=0, left=50, right=0)
    monkeypatch.setattr(desk.repository, "last_side_counts", lambda *_: lately)
    asked = [one.showing.question for one in answer_all(drill(desk), 30)]
    # Each side is drawn in proportion to how often the other one was.
    assert sum(question.truth == question.right for question in asked) > 22
    both = [question for question in asked if question.contrast.sides == BOTH_SIDES]
    assert sum(question.side == SIDE_A for question in both) < len(both) / 2


def answers_of(desk: Desk, drill_id: int) -> list[AnswerRecord]:
    return desk.repository.answers_of_drill(drill_id)


def test_a_contrast_is_asked_only_for_the_wines_it_can_be_asked_for(desk: Desk) -> None:
    session = DrillSession(desk, 36000)
    one_sided = 0
    for reveal in answer_all(session, 120):
        question = reveal.showing.question
        assert question.contrast.sides & question.side
        one_sided += question.contrast.sides != BOTH_SIDES
        assert reveal.explanation.probable >= 0.85
    assert one_sided > 0


def test_the_same_drill_of_the_same_taster_asks_the_same_cards(
    open_desk: Callable[[], Desk], watch: Watch
) -> None:
    # Two homes that differ in nothing: the first drill of each draws alike.
    first = [one.showing for one in answer_all(drill(open_desk()), 10)]
    other = Desk("sqlite://", clock=watch.clock)
    other.table, other.cellar = open_desk().table, open_desk().cellar
    second = [one.showing for one in answer_all(drill(other), 10)]
    assert [one.question for one in first] == [one.question for one in second]
    other.close()


# ---- which cue


def met(desk: Desk, watch: Watch, number: int) -> list[Reveal]:
    """Answers to so many showings of contrasts that were met before."""
    pair = versatile(desk.cellar)
    answer_all(DrillSession(desk, 36000, pair=pair), len(desk.cellar.contrasts(*pair)))
    reveals: list[Reveal] = []
    while len(reveals) < number:
        watch.next_morning(7)
        session = DrillSession(desk, 36000, pair=pair)
        reveals += answer_all(session, len(desk.cellar.contrasts(*pair)))
        session.end()
    return reveals


def test_a_contrast_met_before_is_asked_in_other_forms_too(desk: Desk, watch: Watch) -> None:
    reveals = met(desk, watch, 240)
    forms = Counter(one.showing.question.form for one in reveals)
    assert set(forms) == set(Form)
    # A form that the contrast cannot fill falls back to two glasses: no other comes too often.
    for form, share in FORMS.items():
        if form is not Form.WHICH_GLASS:
            limit = stats.binomtest(forms[form], len(reveals), share, "greater").pvalue
            assert limit > 1e-4, forms
    assert forms[Form.WHICH_GLASS] > len(reveals) / 2.2


def test_every_form_has_one_memory_and_is_kept_as_it_was_asked(desk: Desk, watch: Watch) -> None:
    reveals = met(desk, watch, 120)
    kept = {
        one.id: one
        for row in desk.repository.drills(desk.taster.id)
        for one in answers_of(desk, row.id)
    }
    given = Counter(one.form for one in kept.values())
    assert set(given) == {form.value for form in Form}
    for one in kept.values():
        assert one.correct
        assert one.given in ("a", "b") or one.form != "which glass"
    # Whatever the form, the answers of a contrast add up in its one memory.
    for contrast, memory in memories(desk).items():
        history = desk.repository.answers_of(desk.taster.id, contrast)
        assert memory.answers == len(history)
    assert {one.showing.question.contrast.pair for one in reveals} == {versatile(desk.cellar)}


def of_form(desk: Desk, watch: Watch, form: Form) -> tuple[DrillSession, Showing]:
    """A drill whose open card has the form."""
    pair = versatile(desk.cellar)
    if not memories(desk):
        answer_all(DrillSession(desk, 36000, pair=pair), len(desk.cellar.contrasts(*pair)))
    for _ in range(60):
        watch.next_morning(7)
        session = DrillSession(desk, 36000, pair=pair)
        while (showing := session.next()) is not None:
            if showing.question.form is form:
                return session, showing
            session.answer(right_answer(showing), Sureness.SURE, 6.0)
    raise AssertionError(f"{form} is never asked")


def test_where_the_cue_is_asked_one_of_four_settles_it(desk: Desk, watch: Watch) -> None:
    session, showing = of_form(desk, watch, Form.WHICH_CUE)
    options = showing.question.options
    assert len(options) == 4
    assert sum(option.distance == 0 for option in options) == 1
    given = right_answer(showing)
    assert isinstance(given, int)
    reveal = session.answer(given, Sureness.SURE, 6.0)
    assert reveal.correct
    assert reveal.grade is Grade.RECALLED
    assert answers(desk, session)[-1].given == options[given].words


def test_one_level_off_is_near_neither_a_slip_nor_known_at_once(desk: Desk, watch: Watch) -> None:
    for _ in range(40):
        session, showing = of_form(desk, watch, Form.WHICH_LEVEL)
        options = showing.question.options
        assert len(options) == 5
        off = [n for n, option in enumerate(options) if option.distance == 1]
        if off:
            break
        session.answer(right_answer(showing), Sureness.SURE, 6.0)
    reveal = session.answer(off[0], Sureness.SURE, 6.0)
    assert (reveal.correct, reveal.near, reveal.dangerous) == (False, True, False)
    assert reveal.grade is Grade.WITH_EFFORT
    assert session.end().slips == ()
    rest = []
    while (showing := session.next()) is not None:  # type: ignore[assignment]
        rest.append(showing.why)
        session.answer(right_answer(showing), Sureness.SURE, 6.0)
    assert Why.CHECK not in rest


def test_a_level_far_off_is_a_slip_and_checked_with_two_glasses(desk: Desk, watch: Watch) -> None:
    for _ in range(40):
        session, showing = of_form(desk, watch, Form.WHICH_LEVEL)
        far = wrong_answer(showing)
        assert isinstance(far, int)
        if showing.question.options[far].distance > 1:
            break
        session.answer(right_answer(showing), Sureness.SURE, 6.0)
    reveal = session.answer(far, Sureness.SURE, 6.0)
    assert (reveal.correct, reveal.near, reveal.dangerous) == (False, False, True)
    last = reveal
    while (again := session.next()) is not None:
        last = session.answer(right_answer(again), Sureness.SURE, 6.0)
    assert last.showing.why is Why.CHECK
    assert last.showing.question.form is Form.WHICH_GLASS
    assert last.showing.question.contrast == showing.question.contrast


def test_a_wine_is_named_from_a_full_note_among_four(desk: Desk, watch: Watch) -> None:
    session, showing = of_form(desk, watch, Form.NAME_IT)
    question = showing.question
    names = [option.words for option in question.options]
    assert len(set(names)) == 4
    assert len(question.readings) >= 7
    for wine in question.contrast.pair:
        assert desk.table.profiles[wine].name in names
    given = right_answer(showing)
    assert isinstance(given, int)
    assert names[given] == desk.table.profiles[question.truth].name
    assert session.answer(given, Sureness.LEANING, 20.0).grade is Grade.WITH_EFFORT


def test_a_contrast_is_met_first_with_two_glasses_and_checked_with_two_glasses(
    desk: Desk,
) -> None:
    session = DrillSession(desk, 36000)
    reveals = answer_all(session, 60, right=lambda one: one.why is Why.CHECK)
    assert {one.showing.question.form for one in reveals} == {Form.WHICH_GLASS}
    assert any(one.showing.why is Why.CHECK for one in reveals)


# ---- confusions


def test_a_pair_mixed_up_in_a_tasting_stands_at_the_head_of_the_next_drill(
    desk: Desk, watch: Watch
) -> None:
    answer_all(drill(desk), 5)
    watch.next_morning(9)
    mix_up(desk, *FAR)
    number = len(desk.repository.contrasts_of_pair(*FAR))
    reveals = answer_all(drill(desk), number + 5)
    head, rest = reveals[:number], reveals[number:]
    assert {one.showing.question.contrast.pair for one in head} == {FAR}
    assert {one.showing.why for one in head} == {Why.CONFUSED}
    assert all(one.showing.why is not Why.CONFUSED for one in rest)
    assert Why.DUE in {one.showing.why for one in rest}


def test_once_they_are_answered_the_normal_order_returns(desk: Desk, watch: Watch) -> None:
    normal = [one.showing.question.contrast.id for one in answer_all(drill(desk), 6)]
    mix_up(desk, *NEAR)
    waiting = desk.repository.counts(desk.taster.id, TODAY).urgent
    assert waiting == len(desk.repository.contrasts_of_pair(*NEAR))
    answer_all(drill(desk), waiting)
    assert desk.repository.counts(desk.taster.id, TODAY).urgent == 0
    watch.go_on(60)
    later = answer_all(drill(desk), 6)
    assert {one.showing.why for one in later} == {Why.UNSEEN}
    assert not {one.showing.question.contrast.id for one in later} & set(normal)


def test_a_new_confusion_of_the_same_pair_asks_its_cards_again(desk: Desk, watch: Watch) -> None:
    mix_up(desk, *NEAR)
    number = len(desk.repository.contrasts_of_pair(*NEAR))
    answer_all(drill(desk), number)
    watch.go_on(60)
    mix_up(desk, *reversed(NEAR), flight="Wednesday")
    again = answer_all(drill(desk), number)
    assert {one.showing.why for one in again} == {Why.CONFUSED}
    assert {one.showing.question.contrast.pair for one in again} == {NEAR}


def test_the_newest_confusion_comes_before_older_ones_but_pairs_are_mixed(
    desk: Desk, watch: Watch
) -> None:
    mix_up(desk, *FAR)
    watch.go_on(3600)
    mix_up(desk, *NEAR, flight="Wednesday")
    first = answer_all(drill(desk), 8)
    pairs = [one.showing.question.contrast.pair for one in first]
    assert pairs == [NEAR, FAR] * 4


def test_a_confusion_logged_while_a_drill_is_open_comes_in_the_next_drill(
    open_desk: Callable[[], Desk],
) -> None:
    running = drill(open_desk())
    answer(running)
    other = open_desk()
    mix_up(other, *NEAR)
    answer(running)
    assert answer(drill(other)).showing.why is Why.CONFUSED


def test_a_wine_called_rightly_changes_nothing(desk: Desk) -> None:
    from drills.storage.records import IntakeDraft, PourDraft

    pour = PourDraft("Tuesday", None, 1, "x", "Barolo", "nebbiolo-barolo", "B", "nebbiolo-barolo")
    desk.repository.record_pours(
        desk.taster.id, IntakeDraft("typed", "d", desk.clock.now()), [pour]
    )
    assert desk.repository.counts(desk.taster.id, TODAY).urgent == 0


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
