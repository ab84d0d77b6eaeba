"""What a taster sees and can do in the drill, key by key."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cards.questions import Form
from drills.grading import Sureness
from drills.screens.card_words import asking
from drills.screens.drill import DrillScreen
from drills.screens.home import HomeScreen
from drills.screens.opening import drill_screen
from drills.screens.summary import SummaryScreen
from drills.screens.why import WhyScreen
from drills.service import posing
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.storage.records import AnswerRecord
from tests.desks import Watch, answer_all, versatile
from tests.screens.terminal import (
    LOOKS,
    SIZES,
    USUAL,
    click_answer,
    click_option,
    current,
    drilling,
    notices,
    opened,
    refusing,
    seen,
    truth_key,
)

NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")
SIX_KEYS = [
    ("a", "left", Sureness.SURE),
    ("s", "left", Sureness.LEANING),
    ("d", "left", Sureness.GUESS),
    ("j", "right", Sureness.GUESS),
    ("k", "right", Sureness.LEANING),
    ("l", "right", Sureness.SURE),
]
WITH_OPTIONS = [Form.WHICH_CUE, Form.WHICH_LEVEL, Form.NAME_IT]


def kept(desk: Desk, screen: DrillScreen) -> list[AnswerRecord]:
    return desk.repository.answers_of_drill(screen.session.drill_id)


@pytest.fixture
def ask_only(
    desk: Desk, watch: Watch, monkeypatch: pytest.MonkeyPatch
) -> Callable[[Form], Callable[[], DrillScreen]]:
    """Make drills of a pair met before ask in one form as far as its contrasts can fill it."""

    def only(form: Form) -> Callable[[], DrillScreen]:
        pair = versatile(desk.cellar)
        answer_all(DrillSession(desk, 600, pair=pair), len(desk.cellar.contrasts(*pair)))
        watch.next_morning(9)
        monkeypatch.setattr(posing, "FORMS", {form: 1.0})

        def first() -> DrillScreen:
            session = DrillSession(desk, 600, pair=pair)
            # A contrast that cannot be put in this form is put as two glasses: pass it by.
            while (showing := session.next()) is not None and showing.question.form is not form:
                pass
            assert showing is not None
            session._prepared = showing
            return DrillScreen(session)

        return first

    return only


# ---- the first card


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


# ---- answering


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


# ---- cards with options


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("form", WITH_OPTIONS)
async def test_every_option_can_be_read_and_the_reveal_too(
    desk: Desk,
    ask_only: Callable[[Form], Callable[[], DrillScreen]],
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
    desk: Desk, ask_only: Callable[[Form], Callable[[], DrillScreen]], form: Form
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
    ask_only: Callable[[Form], Callable[[], DrillScreen]],
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


async def test_an_option_that_is_not_there_cannot_be_picked(
    desk: Desk, ask_only: Callable[[Form], Callable[[], DrillScreen]]
) -> None:
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
    ask_only: Callable[[Form], Callable[[], DrillScreen]],
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


async def test_one_level_off_is_said_to_be_near(
    desk: Desk, ask_only: Callable[[Form], Callable[[], DrillScreen]]
) -> None:
    async with opened(desk, ask_only(Form.WHICH_LEVEL)) as pilot:
        screen = drilling(pilot)
        assert screen.showing is not None
        options = screen.showing.question.options
        near = next(n for n, option in enumerate(options) if option.distance == 1)
        await pilot.press(str(near + 1), "l")
        assert "one level off" in seen(pilot)
        assert "wrong" not in seen(pilot)


# ---- mouse


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
    desk: Desk, ask_only: Callable[[Form], Callable[[], DrillScreen]], form: Form
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


# ---- undo, why, finish


async def test_undo_takes_the_answer_back_and_asks_again(desk: Desk) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        first = screen.showing
        await pilot.press(truth_key(screen, wrong=True), "u")
        assert screen.showing is first
        assert screen.reveal is None
        assert "0 answers" in seen(pilot)
        await pilot.press(truth_key(screen))
        assert [one.undone_at is None for one in kept(desk, screen)] == [False, True]
        assert "1 answer, 1 right" in seen(pilot)


async def test_undo_reaches_back_over_the_next_card(desk: Desk) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        first = screen.showing
        await pilot.press("a", "space", "u")
        assert screen.showing is first


async def test_undo_with_nothing_to_undo_says_so(desk: Desk) -> None:
    async with opened(desk) as pilot:
        await pilot.press("u")
        assert notices(pilot) == ["There is no answer to take back."]
        assert drilling(pilot).reveal is None


@pytest.mark.parametrize("size", SIZES)
async def test_why_gives_causes_and_sources_and_closes_again(
    desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(desk, size=size) as pilot:
        screen = drilling(pilot)
        await pilot.press("w")
        assert isinstance(pilot.app.screen, DrillScreen)
        await pilot.press("a", "w")
        current(pilot, WhyScreen)
        reveal = screen.reveal
        assert reveal is not None
        assert reveal.explanation.telling.split()[0] in seen(pilot)
        await pilot.press("escape")
        assert pilot.app.screen is screen
        assert screen.reveal is reveal


@pytest.mark.parametrize("key", ["w", "enter", "space", "q"])
async def test_any_likely_key_closes_why(desk: Desk, key: str) -> None:
    async with opened(desk) as pilot:
        await pilot.press("a", "w")
        current(pilot, WhyScreen)
        await pilot.press(key)
        assert drilling(pilot).reveal is not None


async def test_finishing_leads_to_the_summary_and_from_there_home(desk: Desk) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        await pilot.press(truth_key(screen), "space")
        await pilot.press(truth_key(screen, wrong=True), "escape")
        summary = current(pilot, SummaryScreen)
        assert summary.summary.answered == 2
        text = seen(pilot)
        assert "2 answers, 1 right" in text
        assert "what slipped" in text
        assert "you were sure" in text
        await pilot.press("escape")
        await pilot.pause()
        current(pilot, HomeScreen)
        (row,) = desk.repository.drills(desk.taster.id)
        assert row.ended_at is not None


async def test_from_the_summary_one_key_starts_another_drill(desk: Desk) -> None:
    async with opened(desk) as pilot:
        first = drilling(pilot).session.drill_id
        await pilot.press("escape")
        assert "Nothing was answered." in seen(pilot)
        await pilot.press("d")
        await pilot.pause()
        assert drilling(pilot).session.drill_id != first


async def test_when_the_time_is_up_the_open_card_is_the_last(desk: Desk, watch: Watch) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        await pilot.press("a", "space")
        watch.go_on(700)
        screen._put_on()
        assert "time is up: last card" in seen(pilot)
        await pilot.press("l")
        assert screen.reveal is not None
        await pilot.press("space")
        await pilot.pause()
        assert current(pilot, SummaryScreen).summary.answered == 2


async def test_a_drill_of_one_pair_ends_in_the_summary_by_itself(desk: Desk) -> None:
    number = len(desk.cellar.contrasts(*NEAR))
    async with opened(desk, lambda: drill_screen(desk, pair=NEAR)) as pilot:
        screen = drilling(pilot)
        assert "this pair was asked for" in seen(pilot)
        for _ in range(number):
            await pilot.press(truth_key(screen), "space")
        await pilot.pause()
        assert current(pilot, SummaryScreen).summary.right == number


async def test_a_drill_with_nothing_to_ask_says_so_at_once(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(DrillSession, "next", lambda _self: None)
    async with opened(desk) as pilot:
        await pilot.pause()
        current(pilot, SummaryScreen)
        assert "Nothing was answered." in seen(pilot)


# ---- trouble


async def test_an_undo_that_could_not_be_kept_says_so_and_works_at_the_next_try(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    monkeypatch.setattr(repository, "undo_answer", refusing(1, repository.undo_answer))
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        first = screen.showing
        await pilot.press("a", "u")
        assert notices(pilot)[0].startswith("Not undone: ")
        assert screen.reveal is not None
        await pilot.press("u")
        assert screen.showing is first
        assert screen.reveal is None


async def test_a_drill_that_could_not_be_closed_stays_open(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    monkeypatch.setattr(repository, "end_drill", refusing(1, repository.end_drill))
    async with opened(desk) as pilot:
        await pilot.press("a", "escape")
        assert isinstance(pilot.app.screen, DrillScreen)
        assert len(notices(pilot)) == 1
        await pilot.press("escape")
        await pilot.pause()
        assert current(pilot, SummaryScreen).summary.answered == 1


async def test_a_next_card_that_could_not_be_read_says_so_and_comes_at_the_next_try(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with opened(desk, lambda: drill_screen(desk)) as pilot:
        screen = drilling(pilot)
        screen.session._choice._queue.clear()
        repository = desk.repository
        monkeypatch.setattr(repository, "urgent", refusing(2, repository.urgent))
        await pilot.press("a")
        await pilot.pause()
        await pilot.press("space")
        assert screen.reveal is not None
        assert any("another program is writing" in one for one in notices(pilot))
        await pilot.press("space")
        assert screen.reveal is None
        assert screen.session.answered == 1


async def test_another_drill_that_cannot_start_says_so_and_leaves_the_summary(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    async with opened(desk) as pilot:
        await pilot.press("escape")
        monkeypatch.setattr(repository, "start_drill", refusing(1, repository.start_drill))
        await pilot.press("d")
        current(pilot, SummaryScreen)
        assert len(notices(pilot)) == 1
        await pilot.press("d")
        await pilot.pause()
        assert isinstance(pilot.app.screen, DrillScreen)


async def test_where_a_wine_is_to_be_named_the_mouse_can_answer_and_no_glass_tells_the_pair(
    desk: Desk, ask_only: Callable[[Form], Callable[[], DrillScreen]]
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
