"""Taking a flight down: speed, nothing lost, nothing hinted at, everything by keyboard."""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from textual.binding import Binding
from textual.events import Key
from textual.keys import _character_to_key
from textual.pilot import Pilot
from textual.widgets import Input, OptionList, Static

from cards.scale import Level
from cards.tables import Table
from drills.screens.debrief import DebriefScreen
from drills.screens.help import HelpScreen
from drills.screens.home import HomeScreen
from drills.screens.tasting import TastingScreen
from drills.screens.tasting_cautions import CautionsScreen, keep_seen
from drills.screens.tasting_draft import DraftKeeper, half_entered
from drills.screens.tasting_flight import SAVE_AFTER, OpenFlight
from drills.screens.tasting_quick import QuickScreen
from drills.screens.tasting_sheet import FlightSheet, PourSheet, number, usual_minutes, vintage
from drills.screens.tasting_start import TastingStartScreen
from drills.screens.widgets.candidate_list import CandidateList
from drills.screens.widgets.choice_row import ChoiceRow, ClockRow, HueRow
from drills.screens.widgets.completing_line import PlainLine
from drills.screens.widgets.key_line import KeyLine
from drills.screens.widgets.offer_line import OfferLine
from drills.screens.widgets.pour_strip import PourStrip
from drills.screens.widgets.scale_row import ScaleRow
from drills.service.completing import WordBook
from drills.service.desk import Desk
from drills.service.pours import full_pour
from drills.tastings.drafts import Named
from drills.tastings.notes import Candidate, FullPour, Note, Verdict
from tests.desks import Watch
from tests.screens.terminal import LEAST, SIZES, USUAL, current, notices, opened, refusing, seen

ROOT = Path(__file__).parents[2]
Terminal = Pilot[int]


def home_screen() -> HomeScreen:
    return HomeScreen()


async def typed(pilot: Terminal, text: str) -> None:
    """Type a text as it stands, faster than anybody could."""
    for sign in text:
        pilot.app.post_message(Key(sign if sign.isalnum() else _character_to_key(sign), sign))
    await pilot.pause()


async def begin(pilot: Terminal, *, name: str = "", pours: int = 6, short: bool = False) -> None:
    """Begin a flight from the first screen."""
    keep_seen(pilot.app.desk)  # type: ignore[attr-defined]
    await pilot.press("n")
    await pilot.pause()
    start = current(pilot, TastingStartScreen)
    start.set_focus(start._line("name"))
    await typed(pilot, name)
    start._line("pours").value = str(pours)
    if short:
        start.query_one("FormRow", ChoiceRow).value = "short"
    await pilot.press("f2")
    await pilot.pause()


def page(pilot: Terminal) -> TastingScreen:
    return current(pilot, TastingScreen)


async def go_to(pilot: Terminal, name: str) -> None:
    """Put the cursor where a mouse or many arrows would put it."""
    screen = page(pilot)
    screen.set_focus(screen._fields[name])
    await pilot.pause()


def offers(pilot: Terminal) -> str:
    """What the line above the keys says."""
    return str(pilot.app.screen.query_one(OfferLine).render())


def value(pilot: Terminal, name: str) -> Any:
    """What a line, scale or choice of the page holds."""
    widget = page(pilot)._fields[name]
    assert isinstance(widget, PlainLine | ScaleRow | ChoiceRow)
    return widget.value


def focused(pilot: Terminal) -> str | None:
    assert pilot.app.screen.focused is not None
    return pilot.app.screen.focused.name


def kept(desk: Desk) -> list[FullPour]:
    """Every pour of the log, in full."""
    return [full_pour(one) for one in desk.repository.pours(desk.taster.id, full=True)]


def sheet_of(desk: Desk) -> FlightSheet:
    """The one flight that is half entered."""
    found = half_entered(desk)
    assert len(found) <= 1
    return found[0].sheet if found else FlightSheet(pours=[PourSheet()])


# ---- from the first key to the log


async def test_a_pour_is_noted_called_revealed_and_kept_by_keyboard_alone(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, name="Tuesday", pours=1)
        await typed(pilot, "w22")
        await typed(pilot, "pale, green edge")
        await pilot.press("tab")
        await typed(pilot, "kerosene, lime, -oak, old rope, no tar")
        await pilot.press("tab")
        await typed(pilot, "wet stone")
        await pilot.press("tab")
        # Intensity, sweetness, acid, tannin, body, one digit each.
        await typed(pilot, "41512")
        await typed(pilot, "12,5")
        await pilot.press("enter")
        await typed(pilot, "1234")
        # Old world, cool climate, under three years.
        await typed(pilot, "oc1")
        await typed(pilot, "Vouvray sec")
        await pilot.press("enter")
        await typed(pilot, "plonk")
        await pilot.press("enter", "up", "left", "x")
        await typed(pilot, "too sharp")
        await pilot.press("enter", "down", "tab")
        await typed(pilot, "Alsace Riesling")
        await pilot.press("tab")
        await typed(pilot, "19")
        await pilot.press("tab", "2")
        await typed(pilot, "clare riesling 2018")
        await pilot.press("tab", "tab", "3")
        await typed(pilot, "Sancerre")
        await pilot.press("f5")
        await pilot.pause()
        await typed(pilot, "Mosel Kabinett")
        await pilot.press("tab")
        await typed(pilot, "2021")
        await pilot.press("tab")
        await typed(pilot, "8.5")
        await pilot.press("tab")
        await typed(pilot, "12 EUR")
        await pilot.press("tab")
        await typed(pilot, "a lesson")
        await pilot.press("f9")
        await pilot.pause()
        current(pilot, DebriefScreen)
    (pour,) = kept(desk)
    assert pour == FullPour(
        position=1,
        note=Note(
            readings={
                "hue": "straw",
                "depth": Level.MED_MINUS,
                "alcohol": 12.5,
                "intensity": Level.MED_PLUS,
                "sweetness": Level.LOW,
                "acid": Level.HIGH,
                "tannin": Level.LOW,
                "body": Level.MED_MINUS,
                "bitterness": Level.LOW,
                "oak": Level.MED_MINUS,
                "mineral": Level.MED,
                "finish": Level.MED_PLUS,
                "petrol": True,
                "lime": True,
                "tar": False,
                "wet-stone": True,
            },
            free=("-oak", "old rope"),
            appearance="pale, green edge",
            nose="kerosene, lime, -oak, old rope, no tar",
            palate="wet stone",
            world="old",
            climate="cool",
            age="under 3 years",
            typed={"petrol": "kerosene"},
        ),
        candidates=(
            Candidate("Vouvray sec", "chenin-vouvray", "too sharp"),
            Candidate("plonk"),
        ),
        first=Verdict("Alsace Riesling", "riesling-alsace", 2019, 2),
        final=Verdict("clare riesling 2018", "riesling-clare", 2018, 3),
        runner_up=Named("Sancerre", "sauvignon-sancerre"),
        reveal=Named("Mosel Kabinett", "riesling-mosel"),
        reveal_vintage=2021,
        label_alcohol=8.5,
        price="12 EUR",
        remark="a lesson",
    )
    flight = desk.repository.flights(desk.taster.id)[0]
    assert (flight.name, flight.pours) == ("Tuesday", 1)
    assert half_entered(desk) == []


async def test_the_confused_pair_of_a_kept_flight_stands_at_the_head_of_the_next_drill(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=2, short=True)
        await typed(pilot, "Sancerre")
        await pilot.press("tab")
        await typed(pilot, "Chablis")
        await pilot.press("tab")
        await typed(pilot, "Barolo")
        await pilot.press("tab")
        await typed(pilot, "Barolo")
        await pilot.press("f9")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.press("escape")
        await pilot.pause()
        current(pilot, HomeScreen)
        pair = ("chardonnay-chablis", "sauvignon-sancerre")
        number_of = len(desk.repository.contrasts_of_pair(*pair))
        assert f"{number_of}  cards of pairs mixed up in a tasting" in seen(pilot)


# ---- speed: keys that place and go on


async def test_a_digit_places_a_level_and_goes_on_to_the_next(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "intensity")
        await pilot.press("4", "1", "5")
        assert [value(pilot, name) for name in ("intensity", "sweetness", "acid")] == [3, 0, 4]
        assert focused(pilot) == "tannin"
        await pilot.press("up", "up")
        assert focused(pilot) == "sweetness"
        await pilot.press("right", "right", "left")
        assert value(pilot, "sweetness") == 1
        await pilot.press("0")
        assert value(pilot, "sweetness") is None
        await pilot.press("right")
        assert value(pilot, "sweetness") == 2
        pour = page(pilot).sheet.pour
        assert pour.levels == {
            "intensity": Level.MED_PLUS,
            "sweetness": Level.MED,
            "acid": Level.HIGH,
        }


async def test_the_hue_takes_a_letter_for_the_colour_and_a_digit(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await pilot.press("r", "2")
        assert (value(pilot, "hue"), focused(pilot)) == ("ruby", "depth")
        await pilot.press("up", "p", "1")
        assert value(pilot, "hue") == "onion-skin"
        # Another colour has no such hue.
        await pilot.press("up", "w")
        assert value(pilot, "hue") == ""
        assert page(pilot).sheet.pour.choices == {}
        # The scale of rosé ends at 4.
        await pilot.press("p", "6")
        assert value(pilot, "hue") == ""


@pytest.mark.parametrize("burst", ["4", "15234", "1523412,5"])
async def test_keys_that_come_faster_than_the_screen_can_follow_land_where_they_are_meant(
    desk: Desk, burst: str
) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "intensity")
        for sign in burst:
            key = {",": "comma"}.get(sign, sign)
            pilot.app.post_message(Key(key, sign))
        pilot.app.post_message(Key("pagedown", None))
        await pilot.pause()
        await pilot.pause()
        one, other, *_ = page(pilot).sheet.pours
        names = ("intensity", "sweetness", "acid", "tannin", "body")
        assert [one.levels[name] + 1 for name in names[: len(burst)]] == [
            int(sign) for sign in burst[:5]
        ]
        assert one.text("alcohol") == burst[5:]
        assert page(pilot).sheet.at == 1
        assert not other.begun


async def test_letters_typed_just_before_the_page_is_turned_stay_on_their_page(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "nose")
        for sign in "lime":
            pilot.app.post_message(Key(sign, sign))
        pilot.app.post_message(Key("pagedown", None))
        await pilot.pause()
        await pilot.pause()
        one, other, *_ = page(pilot).sheet.pours
        assert (one.text("nose"), other.text("nose")) == ("lime", "")
        await pilot.press("pageup")
        assert value(pilot, "nose") == "lime"


@pytest.mark.parametrize("size", SIZES)
async def test_every_line_of_a_page_can_be_reached_and_seen(
    desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(desk, home_screen, size=size) as pilot:
        await begin(pilot)
        screen = page(pilot)
        visited = []
        for _ in range(40):
            widget = screen.focused
            assert widget is not None
            visited.append(widget.name)
            assert widget.region.height == 1
            assert screen.query_one("#note").region.contains_region(widget.region)
            before = widget
            await pilot.press("tab" if len(visited) % 2 else "down")
            await pilot.pause()
            if screen.focused is before:
                break
            if screen.focused is not None and screen.focused.name == visited[0]:
                break
        blind = set(screen._fields) - {"candidates", "was", "was-vintage", "label", "price"}
        assert set(visited) == blind - {"remark"}


async def test_one_key_leads_from_part_to_part(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        found = []
        for _ in range(5):
            await pilot.press("f2")
            found.append(focused(pilot))
        assert found == ["nose", "intensity", "candidate", "first", "hue"]


# ---- words


@pytest.mark.parametrize(
    ("text", "noted", "free"),
    [
        ("petrol", {"petrol": True}, ()),
        ("Kerosene, CITRON", {"petrol": True, "lemon": True}, ()),
        ("no petrol", {"petrol": False}, ()),
        ("-petrol; - tar", {"petrol": False, "tar": False}, ()),
        ("sans citron, ohne Zitrone", {"lemon": False}, ()),
        ("petrol, no petrol", {"petrol": False}, ()),
        ("limes,cherries", {"lime": True, "red-cherry": True}, ()),
        ("1,8-cineole", {"eucalyptus": True}, ()),
        ("grandmother's attic, lime", {"lime": True}, ("grandmother's attic",)),
        ("no oomph, , ;", {}, ("no oomph",)),
        ("[b]lime[/b]", {}, ("[b]lime[/b]",)),
        ("[red]x", {}, ("[red]x",)),
    ],
)
def test_words_are_understood_in_any_wording_and_kept_where_they_are_not(
    table: Table, text: str, noted: dict[str, bool], free: tuple[str, ...]
) -> None:
    heard = WordBook(table.lexicon).hear(text)
    assert heard.noted == noted
    assert heard.free == free


async def test_what_was_understood_and_what_was_not_is_shown_as_one_types(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "nose")
        await typed(pilot, "kerosene, [red]x, no tar")
        await go_to(pilot, "palate")
        await typed(pilot, "Zitrone")
        assert "petrol · no tar · lemon · “[red]x”" in seen(pilot)
        note = page(pilot).flight.reader.note(page(pilot).sheet.pour)
        assert note.typed == {"petrol": "kerosene", "lemon": "Zitrone"}
        assert (note.nose, note.palate) == ("kerosene, [red]x, no tar", "Zitrone")


async def test_enter_completes_a_word_and_the_next_can_be_typed(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "nose")
        await typed(pilot, "petr")
        assert "petrol" in offers(pilot)
        await pilot.press("enter")
        await typed(pilot, "-zitr")
        await pilot.press("enter")
        await typed(pilot, "qqq")
        await pilot.press("enter")
        assert value(pilot, "nose") == "petrol, -lemon, qqq, "
        # With nothing more to take, Enter goes on.
        await pilot.press("enter")
        assert focused(pilot) == "palate"
        assert page(pilot).sheet.pour.text("nose") == "petrol, -lemon, qqq, "


async def test_arrows_choose_among_what_is_offered_and_escape_sends_it_away(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "nose")
        await typed(pilot, "pe")
        shown = [one.text for one in page(pilot)._fields["nose"].offers]  # type: ignore[attr-defined]
        await pilot.press("down", "down", "enter")
        assert value(pilot, "nose") == f"{shown[2]}, "
        await typed(pilot, "pe")
        await pilot.press("escape")
        assert "pear" not in offers(pilot)
        # Without offers the same keys move and leave.
        await pilot.press("down")
        assert focused(pilot) == "palate"


async def test_a_word_that_only_holds_what_was_typed_is_not_taken_unasked(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "nose")
        # The lexicon knows toasted oak; oak alone is a word of structure.
        await typed(pilot, "oak")
        assert "toasted oak" in offers(pilot)
        await pilot.press("enter")
        assert value(pilot, "nose") == "oak, "


async def test_a_word_in_the_middle_is_completed_in_its_place(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "nose")
        await typed(pilot, "lime, pet, tar")
        for _ in ", tar":
            await pilot.press("left")
        await typed(pilot, "r")
        await pilot.press("enter")
        assert value(pilot, "nose") == "lime, petrol, tar"


# ---- numbers


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("13.5", 13.5),
        ("13,5", 13.5),
        ("13", 13.0),
        ("13.", 13.0),
        (" 12,5 % ", 12.5),
        ("30", 30.0),
        ("31", None),
        ("abc", None),
        ("-3", None),
        ("1e3", None),
        ("٣", None),
        ("nan", None),
    ],
)
def test_a_strength_is_read_with_a_point_or_a_comma(text: str, read: float | None) -> None:
    assert number(text) == read


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("2019", 2019),
        ("19", 2019),
        ("'98", 1998),
        ("27", 1927),
        ("NV", None),
        ("1600", None),
        ("219", None),
    ],
)
def test_a_vintage_is_read_in_four_figures_or_two(text: str, read: int | None) -> None:
    assert vintage(text, 2026) == read


async def test_a_line_that_cannot_be_read_is_marked_and_the_flight_waits_for_it(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=2)
        await go_to(pilot, "alcohol")
        await typed(pilot, "13..5")
        assert page(pilot)._fields["alcohol"].has_class("-odd")
        await pilot.press("pagedown")
        await pilot.press("f9")
        await pilot.pause()
        assert page(pilot).sheet.at == 0
        assert focused(pilot) == "alcohol"
        assert notices(pilot) == ["“13..5” should be % vol, as 13.5"]
        await pilot.press("left", "backspace")
        assert not page(pilot)._fields["alcohol"].has_class("-odd")
        await go_to(pilot, "first-vintage")
        await typed(pilot, "nv")
        assert not page(pilot)._fields["first-vintage"].has_class("-odd")
        await typed(pilot, "x")
        assert page(pilot)._fields["first-vintage"].has_class("-odd")


# ---- candidates and calls


async def test_candidates_are_struck_off_with_a_reason_and_may_stand_again(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "candidate")
        await typed(pilot, "Sancerre")
        await pilot.press("enter")
        await typed(pilot, "cham")
        await pilot.press("enter")
        await typed(pilot, "[home] plonk")
        await pilot.press("enter")
        candidates = page(pilot).sheet.pour.candidates
        assert [(one.text, one.wine) for one in candidates] == [
            ("Sancerre", "sauvignon-sancerre"),
            ("cham", None),
            ("[home] plonk", None),
        ]
        assert "[home] plonk?" in seen(pilot)
        await pilot.press("up", "x")
        assert "why not" in seen(pilot)
        await typed(pilot, "too [sweet]")
        assert candidates[0].struck == "too [sweet]"
        await pilot.press("enter")
        assert "✗ too [sweet]" in seen(pilot)
        assert isinstance(page(pilot).focused, CandidateList)
        await pilot.press("x")
        assert candidates[0].struck == ""
        # Escape while the reason is asked leaves it standing.
        await pilot.press("right", "x")
        await typed(pilot, "never mind")
        await pilot.press("escape")
        assert [one.struck for one in candidates] == ["", "", ""]
        await pilot.press("x", "enter")
        assert candidates[1].struck == "no reason given"
        await pilot.press("right", "delete")
        assert len(candidates) == 2
        page(pilot)


async def test_a_candidate_becomes_a_call_by_one_key(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "candidate")
        for name in ("Sancerre", "Chablis", "plonk"):
            await typed(pilot, name)
            await pilot.press("enter")
        await pilot.press("up", "f", "right", "enter", "right", "r")
        reader, pour = page(pilot).flight.reader, page(pilot).sheet.pour
        assert reader.named(pour, "first") == Named("Sancerre", "sauvignon-sancerre")
        assert reader.named(pour, "final") == Named("Chablis", "chardonnay-chablis")
        assert reader.named(pour, "runner-up") == Named("plonk")
        assert value(pilot, "final") == "Chablis"


async def test_a_name_that_several_wines_answer_to_is_never_chosen_for_the_taster(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "final")
        await typed(pilot, "Riesling")
        assert "Mosel" in offers(pilot)
        await pilot.press("enter")
        assert value(pilot, "final") == "Riesling"
        reader = page(pilot).flight.reader
        assert reader.named(page(pilot).sheet.pour, "final") == Named("Riesling")
        assert "final call ?" in seen(pilot)
        await go_to(pilot, "final")
        await typed(pilot, " cl")
        await pilot.press("down", "enter")
        found = reader.named(page(pilot).sheet.pour, "final")
        assert found.wine in ("riesling-clare", "riesling-clare-aged")
        assert found.text == desk.short(found.wine)
        assert "final call ✓" in seen(pilot)
        # Typed over, it is what was typed again.
        await go_to(pilot, "final")
        await typed(pilot, "x")
        assert reader.named(page(pilot).sheet.pour, "final").text == f"{found.text}x"


async def test_what_is_offered_for_a_wine_never_follows_from_how_it_smells(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "nose")
        await typed(pilot, "petrol, lime")
        await go_to(pilot, "final")
        wines = page(pilot).flight.wines
        assert all(one.near for one in wines.offers("petrol"))
        assert all(one.near for one in wines.offers("high acid"))


async def test_how_sure_a_call_is_takes_one_digit(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "first-sure")
        await pilot.press("2")
        assert focused(pilot) == "final"
        await go_to(pilot, "final-sure")
        await pilot.press("5", "3")
        assert page(pilot).sheet.pour.sureness == {"first": 2, "final": 3}
        assert "leaning" in seen(pilot)
        assert "sure" in seen(pilot)


# ---- pages


async def test_pages_keep_what_belongs_to_each_pour(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=3)
        await pilot.press("r", "1", "5")
        await pilot.press("pagedown")
        assert value(pilot, "hue") == ""
        assert value(pilot, "depth") is None
        await pilot.press("w", "3")
        await pilot.press("f7")
        assert (value(pilot, "hue"), value(pilot, "depth")) == ("purple", 4)
        await pilot.press("f8")
        assert value(pilot, "hue") == "yellow"


async def test_after_the_last_pour_there_is_room_for_one_more(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=2)
        await pilot.press("pagedown", "pagedown")
        assert (page(pilot).sheet.at, len(page(pilot).sheet.pours)) == (1, 2)
        assert notices(pilot) == ["This is the last pour."]
        await pilot.press("w", "1", "pagedown")
        assert (page(pilot).sheet.at, len(page(pilot).sheet.pours)) == (2, 3)


# ---- the reveal


async def test_the_reveal_waits_for_the_final_call_unless_it_is_asked_for_twice(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=2)
        await pilot.press("f5")
        assert "was" not in (focused(pilot) or "")
        assert notices(pilot) == ["No final call yet. F5 again reveals without one."]
        # Anything noted in between, and it is asked anew.
        await pilot.press("w", "1", "f5")
        assert not page(pilot).sheet.pour.opened
        await pilot.press("f5")
        assert page(pilot).sheet.pour.opened
        assert page(pilot).sheet.pour.skipped
        assert focused(pilot) == "was"
        await pilot.press("escape", "pagedown")
        await go_to(pilot, "final")
        await typed(pilot, "Barolo")
        await pilot.press("f5")
        assert page(pilot).sheet.pour.opened
        assert not page(pilot).sheet.pour.skipped


def planned(identity: str) -> FlightSheet:
    """A flight whose identities are stored before it is poured."""
    pours = [
        PourSheet(
            texts={"was": identity, "was-vintage": "2019", "label": "14", "remark": identity},
            picked={"was": "nebbiolo-barolo"},
        )
        for _ in range(3)
    ]
    pours[1].texts |= {"final": "Chinon", "nose": "pencil", "candidate": "Bar"}
    pours[2].texts |= {"nose": "tar"}
    return FlightSheet("planned", None, pours)


@pytest.mark.parametrize("size", [USUAL, LEAST])
async def test_nothing_on_the_screen_follows_from_what_a_pour_is_before_its_reveal(
    desk: Desk, size: tuple[int, int]
) -> None:
    """The same keys on flights that differ in what is stored give the same pictures."""
    pictures: list[list[Any]] = []
    for identity in ("Barolo", "[x] nobody's wine", ""):
        sheet = planned(identity)
        if not identity:
            for pour in sheet.pours:
                for name in ("was", "was-vintage", "label", "remark"):
                    pour.type(name, "")
        looks: list[Any] = []
        async with opened(desk, home_screen, size=size) as pilot:

            async def look(looks: list[Any] = looks, pilot: Terminal = pilot) -> None:
                await pilot.pause()
                looks.append(pilot.app.screen._compositor.render_strips())
                # Nor do lines that are out of sight hold any of it.
                for line in pilot.app.screen.query(Input):
                    assert "nobody" not in line.value
                    assert line.value in ("", "Chinon", "pencil", "tar", "Bar", "tar, ba", "b")

            pilot.app.push_screen(TastingScreen(OpenFlight(desk, sheet)))
            await pilot.pause()
            for _ in range(3):
                await look()
                await pilot.press("f2", "f2", "f2", "f2")
                await look()
                await pilot.press("pagedown")
            await pilot.press("pageup")
            await go_to(pilot, "nose")
            await typed(pilot, ", ba")
            await look()
            await go_to(pilot, "final")
            await typed(pilot, "b")
            await look()
            await pilot.press("backspace", "f5")
            await look()
            for half in half_entered(desk):
                desk.repository.drop_draft(half.draft_id)
        pictures.append(looks)
    assert all(looks == pictures[0] for looks in pictures)
    assert len(pictures[0]) == 9, len(pictures[0])


async def test_a_stored_identity_shows_once_the_reveal_is_opened(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        pilot.app.push_screen(TastingScreen(OpenFlight(desk, planned("Barolo"))))
        await pilot.pause()
        assert "Barolo" not in seen(pilot)
        await pilot.press("pagedown", "f5")
        await pilot.pause()
        assert value(pilot, "was") == "Barolo"
        assert value(pilot, "was-vintage") == "2019"


async def test_after_the_reveal_the_note_is_closed_and_opens_only_for_corrections(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "final")
        await typed(pilot, "Barolo")
        await pilot.press("f5", "escape")
        await pilot.pause()
        assert page(pilot).focused is None
        assert "this note is closed" in offers(pilot)
        await pilot.press("r", "1", "tab", "x")
        assert page(pilot).sheet.pour.choices == {}
        assert page(pilot).sheet.pour.text("final") == "Barolo"
        await pilot.press("f6")
        await pilot.press("r", "1")
        assert page(pilot).sheet.pour.choices == {"hue": "purple"}
        await pilot.press("f5")
        assert focused(pilot) == "was"


# ---- the clock


def test_a_flight_of_six_has_twenty_five_minutes_and_others_in_proportion() -> None:
    assert [usual_minutes(pours) for pours in (6, 3, 12, 8, 1)] == [25, 12, 50, 33, 4]


async def tick(pilot: Terminal, watch: Watch, seconds: int) -> None:
    """Let seconds pass, one at a time."""
    for _ in range(seconds):
        watch.go_on(1)
        page(pilot).tick()
    await pilot.pause()


def clock_line(pilot: Terminal) -> str:
    return str(page(pilot).query_one("#clock", Static).content)


async def test_the_clock_is_off_until_it_is_wanted(desk: Desk, watch: Watch) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await tick(pilot, watch, 5)
        assert clock_line(pilot) == ""
        assert page(pilot).sheet.pour.seconds is None
        await pilot.press("f3")
        await tick(pilot, watch, 12)
        assert "pour 0:12/4:10" in clock_line(pilot)
        assert "flight 0:12/25:00" in clock_line(pilot)
        await pilot.press("pagedown")
        await tick(pilot, watch, 3)
        assert "pour 0:03/4:10" in clock_line(pilot)
        assert "flight 0:15/25:00" in clock_line(pilot)
        await pilot.press("f3")
        assert clock_line(pilot) == ""


async def test_time_that_is_over_is_said_and_stops_nothing(desk: Desk, watch: Watch) -> None:
    async with opened(desk, home_screen, size=LEAST) as pilot:
        await begin(pilot, pours=1)
        await pilot.press("f3")
        await tick(pilot, watch, 260)
        assert "4:20/4:00!" in clock_line(pilot)
        assert notices(pilot) == []
        await pilot.press("w", "1")
        assert value(pilot, "hue") == "greenish"


async def test_a_closed_lid_and_the_reveal_take_no_time(desk: Desk, watch: Watch) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await pilot.press("f3")
        await tick(pilot, watch, 2)
        watch.go_on(3600)
        await tick(pilot, watch, 1)
        assert page(pilot).sheet.seconds <= 8
        seconds = page(pilot).sheet.seconds
        await pilot.press("f5", "f5")
        await tick(pilot, watch, 30)
        assert page(pilot).sheet.seconds == seconds


async def test_a_pour_keeps_the_seconds_that_it_took(desk: Desk, watch: Watch) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=1)
        await pilot.press("f3", "w", "1")
        await tick(pilot, watch, 42)
        await pilot.press("f9", "f9")
        await pilot.pause()
    assert kept(desk)[0].seconds == pytest.approx(42)


# ---- nothing is lost


async def until(pilot: Terminal, true: Callable[[], bool]) -> None:
    """Wait until something has come true, for a few seconds at most."""
    for _ in range(100):
        await pilot.pause(0.05)
        await pilot.app.workers.wait_for_complete()
        if true():
            return
    raise AssertionError("it never came true")


async def test_what_was_typed_is_on_disk_within_a_second(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, name="[Tue]sday")
        assert half_entered(desk) == []
        await go_to(pilot, "nose")
        await typed(pilot, "half a wo")
        # With time to spare for a slow disk.
        assert SAVE_AFTER <= 0.5
        await until(pilot, lambda: sheet_of(desk).pours[0].text("nose") == "half a wo")
        sheet = sheet_of(desk)
        assert sheet.name == "[Tue]sday"
        assert sheet.pours[0].texts == {"nose": "half a wo"}


async def test_leaving_keeps_the_flight_and_the_first_screen_offers_it(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, name="Tuesday", pours=3)
        await pilot.press("pagedown", "r", "2", "3")
        await go_to(pilot, "candidate")
        await typed(pilot, "Barolo")
        await pilot.press("enter")
        await typed(pilot, "unfinish")
        await pilot.press("escape", "escape")
        await pilot.pause()
        # The first Escape sends the offers away where there are any.
        if isinstance(pilot.app.screen, TastingScreen):
            await pilot.press("escape")
            await pilot.pause()
        while not isinstance(pilot.app.screen, HomeScreen):
            await pilot.press("escape")
            await pilot.pause()
        assert "1 flight left half entered: N goes on" in " ".join(seen(pilot).split())
        await pilot.press("n")
        await pilot.pause()
        assert "Tuesday" in seen(pilot)
        await pilot.press("enter")
        await pilot.pause()
        assert page(pilot).sheet.at == 1
        assert (value(pilot, "hue"), value(pilot, "depth")) == ("ruby", 2)
        assert value(pilot, "candidate") == "unfinish"
        assert page(pilot).sheet.pour.candidates == [Candidate("Barolo", "nebbiolo-barolo")]


async def test_leaving_the_program_in_the_middle_of_a_word_loses_no_letter(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "palate")
        await typed(pilot, "bitter alm")
        await pilot.press("ctrl+q")
    assert sheet_of(desk).pours[0].text("palate") == "bitter alm"


def test_a_sheet_comes_back_from_its_draft_as_it_was() -> None:
    sheet = planned("Barolo")
    sheet.minutes, sheet.seconds, sheet.at, sheet.quick = 12.5, 61.5, 2, True
    sheet.pours[0].levels = {"acid": Level.HIGH}
    sheet.pours[0].choices = {"hue": "ruby"}
    sheet.pours[0].sureness = {"final": 3}
    sheet.pours[0].candidates = [Candidate("x", None, "because")]
    sheet.pours[0].seconds, sheet.pours[0].opened, sheet.pours[0].skipped = 3.5, True, True
    assert FlightSheet.from_plain(json.loads(json.dumps(sheet.to_plain()))) == sheet


async def test_a_half_entered_flight_is_discarded_only_when_asked_twice(desk: Desk) -> None:
    DraftKeeper(desk, planned("Barolo")).save(1, json.dumps(planned("Barolo").to_plain()))
    keep_seen(desk)
    async with opened(desk, home_screen) as pilot:
        await pilot.press("n")
        await pilot.pause()
        await pilot.press("delete")
        assert len(half_entered(desk)) == 1
        (said,) = notices(pilot)
        assert "again discards it" in said
        assert "Barolo" not in said
        await pilot.press("delete")
        assert half_entered(desk) == []
        assert "half entered" not in seen(pilot)


async def test_a_draft_that_makes_no_sense_is_passed_over(desk: Desk) -> None:
    taster = desk.taster.id
    for content in ("{", "[]", '{"pours": 3}', '{"pours": [{"levels": {"acid": "loud"}}]}', "null"):
        desk.repository.save_draft(taster, content)
    keep_seen(desk)
    async with opened(desk, home_screen) as pilot:
        await pilot.press("n")
        await pilot.pause()
        current(pilot, TastingStartScreen)
        assert notices(pilot) == []
        await pilot.press("enter")
        await pilot.pause()
        page(pilot)


async def test_a_database_that_is_locked_is_told_and_tried_again(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        monkeypatch.setattr(repository, "save_draft", refusing(1, repository.save_draft))
        await pilot.press("w", "1")
        await until(pilot, lambda: bool(notices(pilot)))
        assert "Not on disk yet: another program is writing [to it]" in notices(pilot)[0]
        await until(pilot, lambda: bool(half_entered(desk)))
        assert sheet_of(desk).pours[0].choices == {"hue": "greenish"}


async def test_an_older_state_never_covers_a_later_one(desk: Desk) -> None:
    sheet = planned("Barolo")
    keeper = DraftKeeper(desk, sheet)
    early = keeper.snapshot()
    sheet.name = "later"
    late = keeper.snapshot()
    keeper.save(*late)
    keeper.save(*early)
    assert sheet_of(desk).name == "later"
    keeper.shut()
    sheet.name = "too late"
    keeper.save(*keeper.snapshot())
    assert sheet_of(desk).name == "later"


def test_kill_minus_nine_at_the_table_loses_nothing_that_is_a_second_old(
    desk: Desk, open_desk: Callable[[], Desk]
) -> None:
    """The whole program on a terminal of its own, killed while a flight is being entered."""
    keep_seen(desk)
    desk.close()
    process, terminal = on_a_terminal("crosspour")
    try:
        for keys, wanted in (
            ("", "start the drill"),
            ("n", "what you call it"),
            ("\r", "W white"),
        ):
            os.write(terminal, keys.encode())
            read_until(terminal, wanted)
        os.write(terminal, b"r25")
        read_until(terminal, "ruby")
        # Up twice, then Tab to the nose, as slowly as people type.
        for sign in ("\t", *"tar, violets"):
            os.write(terminal, sign.encode())
            drain(terminal, 0.05)
        read_until(terminal, "violet", quiet=True)
        drain(terminal, 1.0)
        process.send_signal(signal.SIGKILL)
        process.wait(10)
    finally:
        process.kill()
        os.close(terminal)
    again = open_desk()
    sheet = sheet_of(again)
    assert sheet.pours[0].choices == {"hue": "ruby"}
    assert sheet.pours[0].levels == {"depth": Level.HIGH}
    assert sheet.pours[0].text("nose") == "tar, violets"


def on_a_terminal(command: str) -> tuple[subprocess.Popen[bytes], int]:
    """Start the program on a terminal of 80 columns and 24 lines."""
    import fcntl
    import struct
    import termios

    terminal, inside = pty.openpty()
    fcntl.ioctl(inside, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    process = subprocess.Popen(
        [
            sys.executable,
            "-c",
            f"import sys; sys.argv[0] = '{command}'\nfrom drills.cli import main; sys.exit(main())",
        ],
        cwd=ROOT,
        stdin=inside,
        stdout=inside,
        stderr=inside,
        env={**os.environ, "TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"},
        start_new_session=True,
    )
    os.close(inside)
    return process, terminal


_READ: dict[int, bytes] = {}


def drain(terminal: int, seconds: float) -> None:
    """Take in what the program paints, for so long."""
    import select

    end = time.monotonic() + seconds
    while (left := end - time.monotonic()) > 0:
        if select.select([terminal], [], [], left)[0]:
            _READ[terminal] = _READ.get(terminal, b"") + os.read(terminal, 65536)


def read_until(terminal: int, wanted: str, *, quiet: bool = False) -> None:
    """Wait until the program has painted some words."""
    end = time.monotonic() + 30
    while wanted.encode() not in _READ.get(terminal, b""):
        if time.monotonic() > end:
            if quiet:
                return
            raise AssertionError(f"“{wanted}” never came: {_READ.get(terminal, b'')[-2000:]!r}")
        drain(terminal, 0.1)
    if not quiet:
        _READ[terminal] = b""


# ---- keeping


async def test_pours_without_a_reveal_are_kept_only_when_asked_twice(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=3)
        await pilot.press("f9")
        assert notices(pilot) == ["Nothing is entered yet."]
        await pilot.press("w", "1", "pagedown", "w", "2", "f9")
        await pilot.pause()
        page(pilot)
        assert notices(pilot)[-1] == "2 pours are not revealed. F9 again keeps the flight so."
        await pilot.press("f9")
        await pilot.pause()
        screen = current(pilot, DebriefScreen)
        assert "not revealed" in seen(pilot)
        assert len(screen.pours) == 2
    assert [pour.note.readings for pour in kept(desk)] == [{"hue": "greenish"}, {"hue": "straw"}]
    assert half_entered(desk) == []


async def test_a_flight_that_cannot_be_kept_stays_as_it_is_and_is_kept_at_the_next_try(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    record = repository.record_flight
    refuse = refusing(1, lambda given, named: record(*given, **named))
    monkeypatch.setattr(repository, "record_flight", lambda *given, **named: refuse(given, named))
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=1)
        await go_to(pilot, "final")
        await typed(pilot, "Barolo")
        await pilot.press("f5")
        await typed(pilot, "Barolo")
        await pilot.press("f9")
        await pilot.pause()
        page(pilot)
        assert "Not kept: another program is writing [to it]" in notices(pilot)[-1]
        assert kept(desk) == []
        assert len(half_entered(desk)) == 1
        await pilot.press("f9")
        await pilot.pause()
        current(pilot, DebriefScreen)
    assert len(kept(desk)) == 1
    assert half_entered(desk) == []


async def test_after_keeping_nothing_brings_the_draft_back(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=1)
        await pilot.press("w", "1")
        await until(pilot, lambda: bool(half_entered(desk)))
        await pilot.press("w", "up", "2")
        await pilot.press("f9", "f9")
        await pilot.pause(0.6)
        await pilot.app.workers.wait_for_complete()
        current(pilot, DebriefScreen)
    assert half_entered(desk) == []
    assert len(kept(desk)) == 1


# ---- the short form


@pytest.mark.parametrize("size", SIZES)
async def test_the_short_form_takes_only_called_and_was(desk: Desk, size: tuple[int, int]) -> None:
    async with opened(desk, home_screen, size=size) as pilot:
        await begin(pilot, name="hurry", pours=2, short=True)
        current(pilot, QuickScreen)
        await typed(pilot, "Sancerre")
        await pilot.press("enter")
        await typed(pilot, "nz sauvignon blanc")
        await pilot.press("enter")
        await typed(pilot, "[x] plonk")
        await pilot.press("enter")
        await typed(pilot, "Barol")
        # The first Enter takes the only wine there is, the next goes on.
        await pilot.press("enter", "enter")
        await pilot.pause()
        # After the last line there is a pour more.
        await typed(pilot, "Chinon")
        await until(pilot, lambda: bool(half_entered(desk)))
        assert "Barolo" in seen(pilot)
        await pilot.press("f9", "f9")
        await pilot.pause()
        current(pilot, DebriefScreen)
    one, two, three = kept(desk)
    assert (one.final.wine, one.reveal.wine) == ("sauvignon-sancerre", "sauvignon-marlborough")
    assert one.reveal.text == "nz sauvignon blanc"
    assert (two.final, two.reveal) == (Verdict("[x] plonk"), Named("Barolo", "nebbiolo-barolo"))
    assert (three.final.text, three.reveal.text) == ("Chinon", "")


async def test_both_forms_hold_the_same_flight(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=2)
        await go_to(pilot, "final")
        await typed(pilot, "Barolo")
        await pilot.press("f10")
        await pilot.pause()
        quick = current(pilot, QuickScreen)
        assert "Barolo" in seen(pilot)
        assert quick.sheet.quick
        await pilot.press("f10")
        await pilot.pause()
        assert value(pilot, "final") == "Barolo"
        assert not page(pilot).sheet.pour.opened


# ---- where a flight begins


async def test_two_keys_lead_from_the_first_screen_to_the_first_glass(desk: Desk) -> None:
    keep_seen(desk)
    async with opened(desk, home_screen) as pilot:
        await pilot.press("n")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        sheet = page(pilot).sheet
        assert len(sheet.pours) == 6
        assert sheet.tasted_on == desk.clock.now().astimezone().date()
        assert sheet.minutes is None


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("pours", "0", "1 to 60"),
        ("pours", "seven", "1 to 60"),
        ("pours", "", "1 to 60"),
        ("date", "3/4/2026", "could be"),
        ("date", "[yesterday]", "is no date"),
        ("date", "2026-02-30", "no such day"),
    ],
)
async def test_a_flight_does_not_begin_with_what_cannot_be_read(
    desk: Desk, field: str, text: str, said: str
) -> None:
    keep_seen(desk)
    async with opened(desk, home_screen) as pilot:
        await pilot.press("n")
        await pilot.pause()
        start = current(pilot, TastingStartScreen)
        start._line(field).value = text
        await pilot.press("f2")
        await pilot.pause()
        assert current(pilot, TastingStartScreen) is start
        assert said in notices(pilot)[0]
        assert focused(pilot) == field
        assert start._line(field).has_class("-odd")


async def test_the_clock_and_a_date_can_be_set_before_the_flight(desk: Desk) -> None:
    keep_seen(desk)
    async with opened(desk, home_screen) as pilot:
        await pilot.press("n")
        await pilot.pause()
        start = current(pilot, TastingStartScreen)
        start._line("date").value = ""
        start._line("pours").value = "3"
        start.set_focus(start.query_one(ClockRow))
        await pilot.press("n", "f2")
        await pilot.pause()
        assert page(pilot).sheet.minutes == 12
        assert page(pilot).sheet.tasted_on is None
        assert "/12:00" in clock_line(pilot)


async def test_a_kept_flight_opens_its_debrief(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, name="[kept] one", pours=1, short=True)
        await typed(pilot, "Sancerre")
        await pilot.press("tab")
        await typed(pilot, "Chablis")
        await pilot.press("f9")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        start = current(pilot, TastingStartScreen)
        assert "[kept] one" in seen(pilot)
        start.query_one(OptionList).highlighted = 0
        start.set_focus(start.query_one(OptionList))
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, DebriefScreen))
        assert "[kept] one" in seen(pilot)


# ---- cautions


async def test_the_cautions_come_before_the_first_flight_and_stay_within_reach(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen, size=LEAST) as pilot:
        await pilot.press("n")
        await pilot.pause()
        current(pilot, CautionsScreen)
        text = " ".join(seen(pilot).replace("│", " ").split())
        for words in (
            "Spit every pour",
            "Spitting does not make driving safe",
            "Pregnancy.",
            "sulphites",
            "law of the place",
            "ask a clinician",
        ):
            assert words in text
        await pilot.press("enter")
        await pilot.pause()
        current(pilot, TastingStartScreen)
        await pilot.press("escape", "n")
        await pilot.pause()
        current(pilot, TastingStartScreen)
        for screen in (TastingStartScreen, TastingScreen):
            current(pilot, screen)
            await pilot.press("f12")
            await pilot.pause()
            current(pilot, CautionsScreen)
            await pilot.press("escape")
            await pilot.press("f2")
            await pilot.pause()


# ---- the mouse


async def test_the_mouse_places_chooses_takes_and_turns(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        screen = page(pilot)
        # The fourth step of a scale stands six columns after the first.
        await pilot.click(screen._fields["acid"], offset=(13 + 6, 0))
        assert value(pilot, "acid") == 3
        await pilot.click(screen._fields["world"], offset=(13 + 5, 0))
        assert value(pilot, "world") == "new"
        await pilot.click(HueRow, offset=(5, 0))
        assert screen.query_one(HueRow).colour == "red"
        row = str(screen.query_one(HueRow).render())
        await pilot.click(HueRow, offset=(row.index("garnet"), 0))
        assert value(pilot, "hue") == "garnet"
        await go_to(pilot, "nose")
        await typed(pilot, "petr")
        await pilot.click(OfferLine, offset=(2, 0))
        assert value(pilot, "nose") == "petrol, "
        await pilot.click(PourStrip, offset=(7, 0))
        assert screen.sheet.at == 2


# ---- odd text, keys, help


async def test_brackets_and_control_signs_in_every_line_break_nothing(desk: Desk) -> None:
    odd = "[/] [bold]x[/bold] \x1b]0;y\x07 \u202e [@click=app.quit]z"
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, name="[red]f", pours=1)
        for name, widget in page(pilot)._fields.items():
            if isinstance(widget, PlainLine) and name not in ("candidate", "was"):
                widget.value = odd
                await pilot.pause()
        await go_to(pilot, "candidate")
        widget = page(pilot)._fields["candidate"]
        assert isinstance(widget, PlainLine)
        widget.value = odd
        await pilot.press("enter", "up", "x")
        await pilot.press("[", "x", "]", "enter", "enter")
        await pilot.press("f5")
        await pilot.pause()
        widget = page(pilot)._fields["was"]
        assert isinstance(widget, PlainLine)
        widget.value = odd
        await pilot.press("f5")
        await pilot.pause()
        assert "no wine of the table" in " ".join(seen(pilot).replace("█", " ").split())
        for sign in "\x1b\x07\u202e":
            assert sign not in seen(pilot)
        await pilot.press("escape")
        pour = page(pilot).sheet.pour
        plain = "[/] [bold]x[/bold] ]0;y  [@click=app.quit]z"
        assert pour.text("final") == plain
        assert pour.candidates[0].text == plain


def own_bindings(screen: Any) -> list[Binding]:
    from drills.screens.base import DeskScreen

    return [
        binding
        for owner in type(screen).__mro__
        if isinstance(owner, type) and issubclass(owner, DeskScreen)
        for binding in Binding.make_bindings(vars(owner).get("BINDINGS", ()))
    ]


async def test_the_help_lists_the_keys_of_the_page_and_of_the_line_under_the_cursor(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        for binding in own_bindings(page(pilot)):
            assert binding.id
            assert binding.description
        for name, words in (
            ("acid", "place it on the scale, low to high, and go on"),
            ("climate", "climate: moderate"),
            ("hue", "the hues of rosé wines"),
            ("nose", "take what is marked, or go on"),
        ):
            await go_to(pilot, name)
            await pilot.press("f1")
            text = "\n".join(str(one.content) for one in current(pilot, HelpScreen).query(Static))
            assert words in text
            for said in ("next pour", "what the wine was", "clock on or off", "keep it"):
                assert said in text
            await pilot.press("escape")


async def test_keys_of_ones_own_work_on_the_page(desk: Desk, home: Path) -> None:
    (home / "settings.toml").write_text(
        '[keys]\nturn-on = "f11"\nclimate-hot = "z"\nstep-5 = "9"\n', encoding="utf-8"
    )
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "climate")
        await pilot.press("z")
        assert value(pilot, "climate") == "hot"
        await go_to(pilot, "acid")
        await pilot.press("9", "f11")
        assert page(pilot).sheet.pours[0].levels == {"acid": Level.HIGH}
        assert page(pilot).sheet.at == 1


@pytest.mark.parametrize("theme", ["crosspour-dark", "crosspour-light"])
@pytest.mark.parametrize("size", SIZES)
async def test_the_foot_is_whole_on_every_terminal(
    desk: Desk, home: Path, size: tuple[int, int], theme: str
) -> None:
    (home / "settings.toml").write_text(f'theme = "{theme}"', encoding="utf-8")
    async with opened(desk, home_screen, size=size) as pilot:
        for press in ((), ("n",), ("f2",), ("f5", "f5"), ("escape",), ("f10",)):
            if press == ("n",):
                keep_seen(desk)
            await pilot.press(*press)
            pilot.app.clear_notifications()
            await pilot.pause()
            lines = seen(pilot).splitlines()
            assert all(len(line) <= size[0] for line in lines)
            foot = " ".join(" ".join(lines[-2:]).split())
            line = " ".join(pilot.app.screen.query_one(KeyLine).text.split())
            assert line in foot, (press, line, foot)
