"""The drill as lines: every form of card, every answer, what is told of it."""

from __future__ import annotations

import pytest

from cards.questions import Form
from drills.commands.plain_keys import ANSWERS, PlainKey
from drills.errors import DatabaseLocked
from drills.grading import Sureness
from drills.service import posing
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.showing import Showing
from tests.cli.on_lines import drilled, letter
from tests.desks import Watch, mix_up, right_answer, versatile

NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")


def card_of(
    desk: Desk, watch: Watch, monkeypatch: pytest.MonkeyPatch, form: Form, *, near: bool = False
) -> tuple[DrillSession, Showing]:
    """A drill that asks a card of this form next; with `near` an option is one level off."""
    pair = versatile(desk.cellar)
    desk.ensure_pairs([pair])
    # A contrast that was met comes in any form.
    met = DrillSession(desk, 600, pair=pair)
    while (showing := met.next()) is not None:
        met.answer(right_answer(showing), Sureness.SURE, 5.0)
    watch.next_morning()
    monkeypatch.setattr(posing, "FORMS", {form: 1.0})
    session = DrillSession(desk, 600, pair=pair)
    while (showing := session.next()) is not None:
        distances = {one.distance for one in showing.question.options}
        if showing.question.form is form and (1 in distances or not near):
            break
        session.answer(right_answer(showing), Sureness.SURE, 5.0)
    assert showing is not None
    found = showing
    monkeypatch.setattr(session, "next", lambda: found)
    return session, found


@pytest.mark.parametrize("key", ANSWERS, ids=lambda key: key.name)
def test_each_of_the_six_letters_says_which_glass_and_how_sure(desk: Desk, key: PlainKey) -> None:
    session = DrillSession(desk, 600)
    lines = drilled(session, key.letter)
    (reveal,) = session.reveals
    assert reveal.sureness is key.sureness
    question = reveal.showing.question
    left = question.truth == question.left
    assert reveal.correct == (left == (key.side == "left"))
    assert f"Left: {reveal.showing.left.name}" in lines.text
    assert f"Right: {reveal.showing.right.name}" in lines.text
    (kept,) = desk.repository.answers_of_drill(session.drill_id)
    assert (kept.correct, kept.sureness) == (reveal.correct, int(reveal.sureness))


def test_the_reveal_tells_every_weight_in_decibans_and_toward_which_wine(desk: Desk) -> None:
    session = DrillSession(desk, 600)
    lines = drilled(session, "a")
    (reveal,) = session.reveals
    story = reveal.explanation
    for one in (*story.cues, *story.also):
        wine = reveal.showing.left if one.weight < 0 else reveal.showing.right
        assert f"{abs(one.weight):.1f} decibans for {wine.name}" in lines.text
    for one in story.cues:
        assert one.because.rstrip(".") in lines.text


@pytest.mark.parametrize("form", Form)
@pytest.mark.parametrize("right", [True, False])
def test_every_form_of_card_can_be_answered_and_tells_what_was_right(
    desk: Desk, watch: Watch, monkeypatch: pytest.MonkeyPatch, form: Form, right: bool
) -> None:
    session, showing = card_of(desk, watch, monkeypatch, form)
    lines = drilled(session, letter(showing, right=right))
    reveal = session.reveals[-1]
    assert reveal.showing is showing
    assert reveal.correct is right
    question = showing.question
    for number, option in enumerate(question.options, 1):
        assert f"{number}: {option.words}" in lines.said
    verdict = next(
        line for line in lines.said if line.startswith(("Right.", "Wrong", "One level off"))
    )
    if not right:
        wanted = next((one.words for one in question.options if one.distance == 0), "it was ")
        assert wanted.casefold() in verdict.casefold()


def test_an_option_is_picked_by_number_and_its_sureness_asked_for(
    desk: Desk, watch: Watch, monkeypatch: pytest.MonkeyPatch
) -> None:
    session, showing = card_of(desk, watch, monkeypatch, Form.WHICH_CUE)
    before = session.answered
    # A letter alone picks nothing; a number can be thought over; 9 is no option.
    lines = drilled(session, "k", "9", "1", "2", "k")
    assert session.answered == before + 1
    assert lines.text.count("is no answer here: type 1 to 4") == 2
    assert lines.text.count("How sure: a or l sure, s or k leaning, d or j guess?") == 2
    last = session.reveals[-1]
    assert last.sureness is Sureness.LEANING
    assert last.correct is (showing.question.options[1].distance == 0)


def test_a_near_miss_is_told_as_one_level_off_with_what_was_right(
    desk: Desk, watch: Watch, monkeypatch: pytest.MonkeyPatch
) -> None:
    session, showing = card_of(desk, watch, monkeypatch, Form.WHICH_LEVEL, near=True)
    options = showing.question.options
    off = next(n for n, one in enumerate(options) if one.distance == 1)
    lines = drilled(session, f"{off + 1} s")
    right = " or ".join(one.words for one in options if one.distance == 0)
    (verdict,) = (line for line in lines.said if line.startswith("One level off."))
    assert right.casefold() in verdict.casefold()


def test_the_end_says_what_slipped_and_what_is_next(desk: Desk) -> None:
    session = DrillSession(desk, 600)
    wrong = session.next()
    assert wrong is not None
    session._prepared = wrong
    lines = drilled(session, letter(wrong, right=False), "f")
    (slip,) = session.end().slips
    assert f"  {slip.truth}, not {slip.other}: {slip.cues}. You were sure." in lines.said
    assert "  The next card is due tomorrow." in lines.said
    assert any("still unseen" in line for line in lines.said)


def test_an_answer_that_cannot_be_kept_can_be_given_again(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = DrillSession(desk, 600)
    keep, left = session.answer, [1]

    def busy(*given: object) -> object:
        if left.pop() if left else 0:
            raise DatabaseLocked("another program is writing to it")
        return keep(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(session, "answer", busy)
    lines = drilled(session, "a", "a")
    assert "Not kept: another program is writing to it. Answer again to try again." in lines.said
    assert session.answered == 1


def test_a_flight_that_was_mixed_up_comes_first(desk: Desk) -> None:
    mix_up(desk, *NEAR)
    lines = drilled(DrillSession(desk, 600))
    assert any("Mixed up in a tasting." in line for line in lines.said)
