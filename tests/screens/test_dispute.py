"""A dispute in the drill, from key to card, and what is said where it is refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from cards.errors import TableError
from cards.scale import Typical
from drills.errors import OverlayError
from drills.screens import dispute as module
from drills.screens.dispute import DisputeScreen
from drills.service.desk import Desk
from tests.screens.disputing import asked_for, disputing, first_of_pair, own_text, say
from tests.screens.terminal import drilling, notices, opened, seen, text_of, truth_key


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
        asked_for(screen, "finish")
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
