"""A card of the drill, from the first look to the next card."""

from __future__ import annotations

from pathlib import Path

import pytest

from drills.grading import Sureness
from drills.service.desk import Desk
from tests.desks import Watch
from tests.screens.answering import SIX_KEYS, kept
from tests.screens.terminal import LOOKS, SIZES, drilling, opened, seen, truth_key


@pytest.mark.parametrize(("size", "theme"), LOOKS)
async def test_the_first_card_stands_whole_on_the_screen(
    desk: Desk, home: Path, size: tuple[int, int], theme: str
) -> None:
    (home / "settings.toml").write_text(f'theme = "{theme}"', encoding="utf-8")
    async with opened(desk, size=size) as pilot:
        screen = drilling(pilot)
        assert pilot.app.theme == theme
        assert screen.showing is not None
        card = seen(pilot)
        for glass in (screen.showing.left, screen.showing.right):
            assert glass.name in card
            assert glass.place in card
        assert "Which of these two?" in card
        for reading in screen.showing.question.readings:
            assert reading.words in card
        for key, _, sureness in SIX_KEYS:
            assert f"{key.upper()} {sureness.label}" in card
        assert "10:00 left" in card
        assert "not seen before" in card
        for word in ("undo", "finish", "keys"):
            assert word in card


@pytest.mark.parametrize("size", SIZES)
async def test_after_the_answer_the_reveal_stands_below_the_glasses(
    desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(desk, size=size) as pilot:
        screen = drilling(pilot)
        await pilot.press(truth_key(screen))
        await pilot.pause()
        reveal = screen.reveal
        assert reveal is not None
        card = seen(pilot)
        assert "✓ right" in card
        assert "1 answer, 1 right" in card
        assert "this one, as you said" in card
        assert f"{reveal.explanation.probable:.0%} probable" in card
        # The bar of the first cue, with its weight.
        assert f"{abs(reveal.explanation.cues[0].weight):.1f} db" in card
        for word in ("next card", "undo", "why", "finish"):
            assert word in card


@pytest.mark.parametrize(("key", "side", "sureness"), SIX_KEYS)
async def test_each_of_six_keys_says_which_glass_and_how_sure(
    desk: Desk, watch: Watch, key: str, side: str, sureness: Sureness
) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        assert screen.showing is not None
        question = screen.showing.question
        watch.go_on(4.25)
        await pilot.press(key)
        assert screen.reveal is not None
        (answer,) = kept(desk, screen)
        chosen = question.left if side == "left" else question.right
        assert answer.given == ("a" if chosen == question.contrast.wine_a else "b")
        assert answer.correct == (chosen == question.truth)
        assert answer.sureness == int(sureness)
        assert answer.seconds == 4.25
        assert screen.reveal.sureness is sureness
        assert screen.reveal.correct == (chosen == question.truth)


async def test_a_wrong_answer_given_as_sure_is_pointed_out(desk: Desk) -> None:
    async with opened(desk) as pilot:
        await pilot.press(truth_key(drilling(pilot), wrong=True))
        assert "✗ wrong, though sure" in seen(pilot)
        assert "it was this" in seen(pilot)
        assert "your answer" in seen(pilot)


async def test_a_wrong_answer_given_with_doubt_is_just_wrong(desk: Desk) -> None:
    async with opened(desk) as pilot:
        await pilot.press(truth_key(drilling(pilot), 1, wrong=True))
        assert "✗ wrong" in seen(pilot)
        assert "though sure" not in seen(pilot)


async def test_a_right_guess_is_said_not_to_be_known_yet(desk: Desk) -> None:
    async with opened(desk) as pilot:
        await pilot.press(truth_key(drilling(pilot), 2))
        assert "✓ right" in seen(pilot)
        assert "as a guess" in seen(pilot)


async def test_a_second_key_on_the_same_card_does_nothing(desk: Desk) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        await pilot.press("a", "l", "d", "1")
        assert len(kept(desk, screen)) == 1


@pytest.mark.parametrize("key", ["space", "enter"])
async def test_space_or_enter_goes_on_and_only_after_the_answer(desk: Desk, key: str) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        first = screen.showing
        await pilot.press(key)
        assert screen.showing is first
        await pilot.press("a", key)
        assert screen.showing is not first
        assert screen.reveal is None
        assert "✓" not in seen(pilot)
        assert "✗" not in seen(pilot)
        assert len(kept(desk, screen)) == 1


async def test_ten_cards_in_a_row_are_all_kept(desk: Desk) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        for number in range(10):
            await pilot.press(truth_key(screen, wrong=number == 4), "space")
        assert "10 answers, 9 right" in seen(pilot)
        assert [one.correct for one in kept(desk, screen)] == [n != 4 for n in range(10)]
