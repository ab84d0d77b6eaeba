"""Cards with options: one is picked, then it is said how sure."""

from __future__ import annotations

import pytest

from cards.questions import Form
from drills.service import posing
from drills.service.desk import Desk
from tests.screens.answering import SIX_KEYS, AskOnly, kept
from tests.screens.terminal import SIZES, drilling, opened, seen

WITH_OPTIONS = [Form.WHICH_CUE, Form.WHICH_LEVEL, Form.NAME_IT]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("form", WITH_OPTIONS)
async def test_every_option_can_be_read_and_the_reveal_too(
    desk: Desk,
    ask_only: AskOnly,
    form: Form,
    size: tuple[int, int],
) -> None:
    async with opened(desk, ask_only(form), size=size) as pilot:
        screen = drilling(pilot)
        assert screen.showing is not None
        question = screen.showing.question
        assert question.form is form
        card = seen(pilot)
        for option in question.options:
            assert option.words in card
        right = next(n for n, option in enumerate(question.options) if option.distance == 0)
        await pilot.press(str(right + 1), "a")
        assert screen.reveal is not None
        assert screen.reveal.correct
        assert "✓ right" in seen(pilot)


@pytest.mark.parametrize("form", WITH_OPTIONS)
async def test_how_sure_without_a_pick_does_nothing(
    desk: Desk, ask_only: AskOnly, form: Form
) -> None:
    async with opened(desk, ask_only(form)) as pilot:
        screen = drilling(pilot)
        await pilot.press("a", "s", "d", "j", "k", "l", "space")
        assert screen.reveal is None
        assert kept(desk, screen) == []


@pytest.mark.parametrize(
    ("form", "key", "sureness"),
    [
        (Form.WHICH_CUE, "s", 2),
        (Form.WHICH_LEVEL, "k", 2),
        (Form.NAME_IT, "d", 1),
        (Form.NAME_IT, "l", 3),
    ],
)
async def test_a_pick_can_be_changed_until_it_is_said_how_sure(
    desk: Desk,
    ask_only: AskOnly,
    form: Form,
    key: str,
    sureness: int,
) -> None:
    async with opened(desk, ask_only(form)) as pilot:
        screen = drilling(pilot)
        assert screen.showing is not None
        question = screen.showing.question
        await pilot.press("1", "3", "2")
        assert kept(desk, screen) == []
        assert [line.split()[0] for line in seen(pilot).splitlines() if "▸" in line] == ["▸2"]
        await pilot.press(key)
        (answer,) = kept(desk, screen)
        assert answer.given == question.options[1].words
        assert answer.correct == (question.options[1].distance == 0)
        assert answer.sureness == sureness
        assert answer.form == form.value


async def test_an_option_that_is_not_there_cannot_be_picked(desk: Desk, ask_only: AskOnly) -> None:
    async with opened(desk, ask_only(Form.WHICH_CUE)) as pilot:
        await pilot.press("5", "a")
        assert drilling(pilot).reveal is None


async def test_the_numbers_do_nothing_where_two_glasses_are_asked(desk: Desk) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        before = seen(pilot)
        await pilot.press("1", "4")
        assert screen.reveal is None
        assert seen(pilot) == before


async def test_the_options_are_gone_when_two_glasses_are_asked_again(
    desk: Desk,
    ask_only: AskOnly,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async with opened(desk, ask_only(Form.NAME_IT)) as pilot:
        screen = drilling(pilot)
        monkeypatch.setattr(posing, "FORMS", {Form.WHICH_GLASS: 1.0})
        await pilot.press("1", "a")
        assert "left glass" not in seen(pilot)
        await pilot.press("space")
        assert screen.showing is not None
        assert screen.showing.question.form is Form.WHICH_GLASS
        assert "left glass" in seen(pilot)
        assert "▸" not in seen(pilot)
        for _, _, sureness in SIX_KEYS:
            assert sureness.label in seen(pilot)


async def test_one_level_off_is_said_to_be_near(desk: Desk, ask_only: AskOnly) -> None:
    async with opened(desk, ask_only(Form.WHICH_LEVEL)) as pilot:
        screen = drilling(pilot)
        assert screen.showing is not None
        options = screen.showing.question.options
        near = next(n for n, option in enumerate(options) if option.distance == 1)
        await pilot.press(str(near + 1), "l")
        assert "one level off" in seen(pilot)
        assert "wrong" not in seen(pilot)
