"""Every kind of fact can be disputed, in every form of a card, on every terminal."""

from __future__ import annotations

from pathlib import Path

import pytest

from cards.questions import Form
from cards.scale import Level, LevelRange
from drills.screens.dispute import DisputeScreen
from drills.service import posing
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from tests.desks import Watch, answer_all, versatile
from tests.screens.answering import in_form
from tests.screens.disputing import asked_for, first_of_pair, own_text, say
from tests.screens.terminal import SIZES, drilling, opened, seen, text_of, truth_key


async def test_levels_are_picked_from_one_end_to_the_other(own_desk: Desk, home: Path) -> None:
    async with opened(own_desk, first_of_pair(own_desk)) as pilot:
        screen = drilling(pilot)
        await pilot.press(truth_key(screen))
        assert screen.reveal is not None
        asked_for(screen, "acid")
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
        asked_for(screen, "alcohol")
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
        asked_for(screen, "hue")
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
        asked_for(screen, word)
        await say(pilot, "x", "1", "1")
        assert "5 unlisted   the wine is not known for it" in seen(pilot)
        await say(pilot, "5", "enter")
        assert word not in own_desk.table.profiles[wine].descriptors


@pytest.mark.parametrize("size", SIZES)
async def test_every_step_stands_whole_on_every_terminal(
    own_desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(own_desk, first_of_pair(own_desk), size=size) as pilot:
        screen = drilling(pilot)
        await pilot.press(truth_key(screen))
        assert screen.reveal is not None
        asked_for(screen, "alcohol")
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
    async with opened(own_desk, lambda: in_form(own_desk, pair, form)) as pilot:
        showing = drilling(pilot).showing
        assert showing is not None
        assert showing.question.form is form
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
