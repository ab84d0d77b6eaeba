"""A dispute in the drill, from key to card: every step, every kind of fact, every terminal."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, OptionList

from cards.errors import TableError
from cards.explaining import CueStory
from cards.questions import Form
from cards.scale import Level, LevelRange, Typical
from drills.errors import OverlayError
from drills.screens import dispute as module
from drills.screens.dispute import DisputeScreen
from drills.screens.drill import DrillScreen
from drills.screens.help import HelpScreen
from drills.screens.opening import drill_screen
from drills.screens.why import WhyScreen
from drills.service import posing
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.showing import Showing
from tests.desks import Watch, answer_all, versatile
from tests.screens.terminal import (
    SIZES,
    drilling,
    notices,
    opened,
    seen,
    text_of,
    truth_key,
)

PAIR = ("sauvignon-marlborough", "sauvignon-sancerre")


@pytest.fixture
def own_desk(home: Path, watch: Watch) -> Desk:
    """A desk that reads its table from the files, as the program does."""
    assert home.is_dir()
    return Desk(clock=watch.clock)


def first_of_pair(desk: Desk) -> Callable[[], DrillScreen]:
    return lambda: drill_screen(desk, pair=PAIR)


async def disputing(pilot: Pilot[int]) -> DisputeScreen:
    """Answer the card and open the dispute."""
    await pilot.press(truth_key(drilling(pilot)))
    await pilot.press("x")
    await pilot.pause()
    screen = pilot.app.screen
    assert isinstance(screen, DisputeScreen)
    return screen


async def say(pilot: Pilot[int], *keys: str) -> None:
    for key in keys:
        await pilot.press(key)
        await pilot.pause()
    await pilot.pause()


def own_text(home: Path, wine: str) -> str:
    return (home / "table" / "white" / f"{wine}.toml").read_text(encoding="utf-8")


def asked_for(desk: Desk, screen: DrillScreen, attribute: str) -> None:
    """Let the reveal speak of one more cue, so that every kind can be disputed."""
    assert screen.reveal is not None
    story = screen.reveal.explanation
    more = CueStory(attribute, attribute, 1.0, "", "", "", "practice")
    screen.reveal = replace(screen.reveal, explanation=replace(story, cues=(more,), also=()))
    assert desk.table.profiles


# ---- end to end


@pytest.mark.parametrize("way", [("x",), ("w", "x")])
async def test_a_dispute_from_the_drill_is_kept_and_the_drill_goes_on_without_the_card(
    own_desk: Desk, home: Path, way: tuple[str, ...]
) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        screen = drilling(pilot)
        await pilot.press(truth_key(screen))
        reveal = screen.reveal
        assert reveal is not None
        question = reveal.showing.question
        (cue,) = question.contrast.cues
        assert cue in own_desk.table.lexicon.descriptors
        place = "1" if question.left == question.truth else "2"
        typical = own_desk.table.profiles[question.truth].descriptors.get(cue)
        said = "4" if typical is not Typical.NEVER else "1"
        await say(pilot, *way)
        assert isinstance(pilot.app.screen, DisputeScreen)
        await say(pilot, "1", place, said, *"warm [b]year")
        assert "warm [b]year" in seen(pilot)
        await say(pilot, "enter")
        assert drilling(pilot) is screen
        # The card no longer stands: its answer is taken back, and the next card is another.
        assert notices(pilot) == ["Kept. Your answer is taken back: its card no longer stands."]
        assert screen.reveal is None
        assert screen.showing is not None
        assert screen.showing.question.contrast.id != question.contrast.id
        assert "0 answers, 0 right" in seen(pilot)
        kept = own_desk.repository.answers_of_drill(screen.session.drill_id)
        assert [one.undone_at is not None for one in kept] == [True]
        text = own_text(home, question.truth)
        now = Typical.NEVER if said == "4" else Typical.SIGNATURE
        assert f'{cue} = "{now}" # warm [b]year' in text
        profile = own_desk.table.profiles[question.truth]
        assert profile.descriptors[cue] is now
        assert profile.basis_of(cue) == "own"
        await pilot.press(truth_key(screen))
        assert screen.reveal is not None
        assert "1 answer, 1 right" in seen(pilot)


async def test_where_the_card_still_stands_its_answer_stays(own_desk: Desk, home: Path) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        screen = drilling(pilot)
        await pilot.press(truth_key(screen))
        reveal = screen.reveal
        assert reveal is not None
        asked_for(own_desk, screen, "finish")
        wine = reveal.showing.left.wine
        await say(pilot, "x", "1", "1", "1", "5", "enter")
        assert drilling(pilot) is screen
        assert notices(pilot) == ["Kept. The cards follow from the next one."]
        assert screen.reveal is not None
        assert "1 answer, 1 right" in seen(pilot)
        assert 'finish = "low to high"\n' in own_text(home, wine)
        await pilot.press("space")
        assert screen.reveal is None
        assert screen.showing is not None


async def test_a_slip_that_is_taken_back_is_no_slip(own_desk: Desk) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        screen = drilling(pilot)
        await pilot.press(truth_key(screen, wrong=True))
        reveal = screen.reveal
        assert reveal is not None
        question = reveal.showing.question
        (cue,) = question.contrast.cues
        other = "2" if question.left == question.truth else "1"
        typical = own_desk.table.profiles[question.truth].descriptors[cue]
        place = list(Typical).index(typical) + 1
        # The other wine shows it just as much.
        await say(pilot, "x", "1", other, str(place), "enter")
        assert "taken back" in notices(pilot)[0]
        assert screen.session.end().slips == ()


# ---- every kind of fact


async def test_levels_are_picked_from_one_end_to_the_other(own_desk: Desk, home: Path) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        screen = drilling(pilot)
        await pilot.press(truth_key(screen))
        assert screen.reveal is not None
        asked_for(own_desk, screen, "acid")
        glass = screen.reveal.showing.left
        now = own_desk.table.profiles[glass.wine].structure["acid"]
        await say(pilot, "x")
        assert f"{glass.name}: {now}" in seen(pilot)
        await say(pilot, "1", "1")
        assert text_of(pilot, "#disputed") == f"acid of {glass.name}; the table says: {now}"
        for number, level in enumerate(Level, 1):
            assert f"{number} {level.label}" in seen(pilot)
        await say(pilot, "2")
        assert "1 med- only" in seen(pilot)
        await say(pilot, "3", "enter")
        assert own_desk.table.profiles[glass.wine].structure["acid"] == LevelRange(
            Level.MED_MINUS, Level.MED_PLUS
        )
        assert 'acid = "med- to med+"' in own_text(home, glass.wine)


async def test_alcohol_is_picked_in_halves_of_a_per_cent(own_desk: Desk, home: Path) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        screen = drilling(pilot)
        await pilot.press(truth_key(screen))
        assert screen.reveal is not None
        asked_for(own_desk, screen, "alcohol")
        wine = screen.reveal.showing.right.wine
        was = own_desk.table.profiles[wine].alcohol
        await say(pilot, "x", "1", "2")
        first = round((was.low - 2) * 2) / 2
        assert f"1 {first:g}" in seen(pilot)
        await say(pilot, "9")
        low = first + 4
        assert f"{low:g} to {max(low, round((was.high - 2) * 2) / 2):g}" in seen(pilot)
        await say(pilot, "3", "enter")
        now = own_desk.table.profiles[wine].alcohol
        assert now.low == low
        assert now.high >= low
        assert own_desk.table.profiles[wine].basis_of("alcohol") == "own"
        assert f"low = {low:g}" in own_text(home, wine)


async def test_colour_is_picked_from_the_hues_of_its_kind(own_desk: Desk, home: Path) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        screen = drilling(pilot)
        await pilot.press(truth_key(screen))
        assert screen.reveal is not None
        asked_for(own_desk, screen, "hue")
        wine = screen.reveal.showing.left.wine
        await say(pilot, "x", "1", "1")
        for hue in ("greenish", "straw", "yellow", "gold", "amber", "brown"):
            assert hue in seen(pilot)
        assert "ruby" not in seen(pilot)
        await say(pilot, "4")
        assert "1 no other" in seen(pilot)
        await say(pilot, "4", "enter")
        assert own_desk.table.profiles[wine].hues == ("gold", "yellow")
        assert 'hue = ["gold", "yellow"]' in own_text(home, wine)


async def test_a_descriptor_can_be_taken_off_the_wine(own_desk: Desk) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        screen = drilling(pilot)
        await pilot.press(truth_key(screen))
        assert screen.reveal is not None
        wine = screen.reveal.showing.left.wine
        word = next(iter(own_desk.table.profiles[wine].descriptors))
        asked_for(own_desk, screen, word)
        await say(pilot, "x", "1", "1")
        assert "5 unlisted   the wine is not known for it" in seen(pilot)
        await say(pilot, "5", "enter")
        assert word not in own_desk.table.profiles[wine].descriptors


# ---- keys


async def test_arrows_and_enter_do_what_the_numbers_do(own_desk: Desk) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        await disputing(pilot)
        await say(pilot, "enter", "down", "enter")
        screen = pilot.app.screen
        assert isinstance(screen, DisputeScreen)
        assert len(screen._dispute.picked) == 2
        assert screen._dispute.glass == drilling_reveal(screen).right


def drilling_reveal(screen: DisputeScreen) -> Showing:
    below = screen.app.screen_stack[-2]
    assert isinstance(below, DrillScreen)
    assert below.reveal is not None
    return below.reveal.showing


async def test_escape_goes_back_step_by_step_and_out(own_desk: Desk, home: Path) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        await disputing(pilot)
        first = text_of(pilot, "#asks")
        await say(pilot, "1")
        second = text_of(pilot, "#asks")
        await say(pilot, "1", "1", "escape", "escape")
        assert text_of(pilot, "#asks") == second
        await say(pilot, "escape")
        assert text_of(pilot, "#asks") == first
        await say(pilot, "escape")
        assert drilling(pilot).reveal is not None
        assert notices(pilot) == []
        assert not list(home.rglob("*.toml"))


async def test_escape_leaves_the_line_of_the_reason_too(own_desk: Desk) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        await disputing(pilot)
        await say(pilot, "1", "1", "1")
        screen = pilot.app.screen
        assert screen.focused is screen.query_one(Input)
        await say(pilot, *"x1?", "escape")
        assert screen.query_one(OptionList).display
        assert not screen.query_one(Input).display


async def test_numbers_without_a_line_do_nothing(own_desk: Desk) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        await disputing(pilot)
        await say(pilot, "1")
        before = text_of(pilot, "#asks")
        await say(pilot, "9", "3", "a", "x", "space")
        assert text_of(pilot, "#asks") == before


async def test_before_the_answer_there_is_nothing_to_dispute(own_desk: Desk) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        await say(pilot, "x")
        assert drilling(pilot).reveal is None
        assert "dispute" not in seen(pilot)


async def test_the_key_stands_in_the_foot_and_in_the_help(own_desk: Desk) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        await pilot.press(truth_key(drilling(pilot)))
        await pilot.pause()
        assert "x dispute" in seen(pilot)
        await say(pilot, "w")
        assert isinstance(pilot.app.screen, WhyScreen)
        assert "x disputes a fact" in seen(pilot)
        await say(pilot, "escape", "f1")
        assert isinstance(pilot.app.screen, HelpScreen)
        assert "dispute a fact of the card" in seen(pilot)


async def test_another_key_can_open_the_dispute(own_desk: Desk, home: Path) -> None:
    (home / "settings.toml").write_text('[keys]\ndispute = "m"\n', encoding="utf-8")
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        await pilot.press(truth_key(drilling(pilot)))
        await say(pilot, "m")
        assert isinstance(pilot.app.screen, DisputeScreen)


# ---- what goes wrong


@pytest.mark.parametrize(
    "error",
    [
        TableError("[not] sound", file="own.toml", field="structure.acid"),
        OverlayError("your own table [here] cannot be written"),
    ],
)
async def test_a_dispute_that_is_refused_loses_nothing_typed(
    own_desk: Desk, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    calls = []

    def refuse(*given: object) -> bool:
        calls.append(given)
        if len(calls) == 1:
            raise error
        return True

    monkeypatch.setattr(module, "dispute", refuse)
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        await disputing(pilot)
        await say(pilot, "1", "1", "1", *"why", "enter")
        assert isinstance(pilot.app.screen, DisputeScreen)
        assert str(error) in text_of(pilot, "#refused")
        assert pilot.app.screen.query_one(Input).value == "why"
        await say(pilot, "enter")
        assert drilling(pilot)
        assert calls[0] == calls[1]


async def test_what_the_table_says_already_is_said(own_desk: Desk, home: Path) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        screen = await disputing(pilot)
        await say(pilot, "1", "1")
        places = [n for n, choice in enumerate(screen._choices, 1) if choice.now]
        assert len(places) == 1
        await say(pilot, str(places[0]), "enter")
        assert notices(pilot) == ["The table says so already."]
        assert not list(home.rglob("*.toml"))


# ---- every terminal, every form


@pytest.mark.parametrize("size", SIZES)
async def test_every_step_stands_whole_on_every_terminal(
    own_desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(own_desk, first_of_pair(own_desk), size=size) as pilot:
        screen = drilling(pilot)
        await pilot.press(truth_key(screen))
        assert screen.reveal is not None
        asked_for(own_desk, screen, "alcohol")
        for keys in (("x",), ("1",), ("1",), ("5",), ("2",)):
            await say(pilot, *keys)
            dialog = pilot.app.screen
            assert isinstance(dialog, DisputeScreen)
            told = seen(pilot)
            for words in ("dispute a fact", "escape goes back", text_of(pilot, "#keys")):
                assert words in told
            for choice in dialog._choices:
                assert choice.words in told


@pytest.mark.parametrize("form", list(Form))
async def test_every_form_of_a_card_can_be_disputed(
    own_desk: Desk, watch: Watch, monkeypatch: pytest.MonkeyPatch, form: Form
) -> None:
    pair = versatile(own_desk.cellar)
    own_desk.ensure_pairs([pair])
    answer_all(DrillSession(own_desk, 6000, pair=pair), len(own_desk.cellar.contrasts(*pair)))
    watch.next_morning(9)
    monkeypatch.setattr(posing, "FORMS", {form: 1.0})
    session = DrillSession(own_desk, 6000, pair=pair)
    while (showing := session.next()) is not None and showing.question.form is not form:
        pass
    assert showing is not None
    session._prepared = showing
    async with opened(own_desk, lambda: DrillScreen(session)) as pilot:
        if showing.question.options:
            await say(pilot, "1")
        await say(pilot, "a")
        reveal = drilling(pilot).reveal
        assert reveal is not None
        await say(pilot, "x")
        dialog = pilot.app.screen
        assert isinstance(dialog, DisputeScreen)
        told = seen(pilot)
        for one in (*reveal.explanation.cues, *reveal.explanation.also):
            name = own_desk.table.lexicon.name_of(one.attribute)
            assert (name if one.attribute != "depth" else "depth of colour") in told
