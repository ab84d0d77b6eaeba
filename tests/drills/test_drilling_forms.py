"""Sides and forms of a card: none is favoured, each has the one memory."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from itertools import pairwise

import pytest
from scipy import stats

from cards.cues import BOTH_SIDES, SIDE_A
from cards.questions import Form
from drills.grading import Grade, Sureness
from drills.planner import Why
from drills.service.choosing import FORMS
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.showing import Reveal, Showing
from drills.storage.records import SideCounts
from tests.desks import (
    Watch,
    answer_all,
    right_answer,
    versatile,
    wrong_answer,
)
from tests.drills.at_the_drill import answers, answers_of, drill, memories

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
