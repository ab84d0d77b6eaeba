"""The mouse answers as the keys do."""

from __future__ import annotations

import pytest

from cards.questions import Form
from drills.grading import Sureness
from drills.screens.card_words import asking
from drills.service.desk import Desk
from tests.screens.answering import SIX_KEYS, AskOnly, kept
from tests.screens.terminal import SIZES, USUAL, click_answer, click_option, drilling, opened, seen


@pytest.mark.parametrize(
    ("size", "key", "side", "sureness"),
    [(USUAL, *one) for one in SIX_KEYS] + [(size, *SIX_KEYS[1]) for size in SIZES if size != USUAL],
)
async def test_a_click_under_a_glass_answers_as_its_key_does(
    desk: Desk, key: str, side: str, sureness: Sureness, size: tuple[int, int]
) -> None:
    async with opened(desk, size=size) as pilot:
        screen = drilling(pilot)
        assert screen.showing is not None
        question = screen.showing.question
        assert f"{key.upper()} {sureness.label}" in seen(pilot)
        assert await click_answer(pilot, side, sureness)
        await pilot.pause()
        (answer,) = kept(desk, screen)
        chosen = question.left if side == "left" else question.right
        assert answer.given == ("a" if chosen == question.contrast.wine_a else "b")
        assert answer.sureness == int(sureness)
        # The answer is out; the same click does not go on by itself.
        assert screen.reveal is not None


async def test_a_click_anywhere_goes_on_once_the_answer_is_out(desk: Desk) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        first = screen.showing
        await pilot.click(screen.card, offset=(40, 2))
        assert screen.showing is first
        await pilot.press("a")
        await pilot.click(screen.card, offset=(40, 2))
        assert screen.showing is not first


@pytest.mark.parametrize("form", [Form.WHICH_CUE, Form.WHICH_LEVEL])
async def test_an_option_can_be_picked_and_sureness_given_with_the_mouse(
    desk: Desk, ask_only: AskOnly, form: Form
) -> None:
    async with opened(desk, ask_only(form)) as pilot:
        screen = drilling(pilot)
        assert screen.showing is not None
        options = screen.showing.question.options
        assert await click_option(pilot, 2)
        await pilot.pause()
        assert kept(desk, screen) == []
        assert await click_answer(pilot, "left", Sureness.LEANING)
        await pilot.pause()
        (answer,) = kept(desk, screen)
        assert (answer.given, answer.sureness) == (options[2].words, 2)


async def test_where_a_wine_is_to_be_named_the_mouse_can_answer_and_no_glass_tells_the_pair(
    desk: Desk, ask_only: AskOnly
) -> None:
    async with opened(desk, ask_only(Form.NAME_IT)) as pilot:
        screen = drilling(pilot)
        assert screen.showing is not None
        face = asking(screen.showing, screen.keys, None)
        assert {face.left.name, face.right.name} == {"how sure?"}
        await click_option(pilot, 0)
        await click_answer(pilot, "right", Sureness.SURE)
        assert screen.reveal is not None
        assert screen.reveal.sureness is Sureness.SURE
