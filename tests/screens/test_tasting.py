"""Taking a flight down: speed, everything by keyboard, in either form."""

from __future__ import annotations

import pytest
from textual.events import Key

from cards.scale import Level
from drills.screens.debrief import DebriefScreen
from drills.screens.home import HomeScreen
from drills.screens.tasting_draft import half_entered
from drills.screens.tasting_quick import QuickScreen
from drills.service.desk import Desk
from drills.tastings.drafts import Named
from drills.tastings.notes import Candidate, FullPour, Note, Verdict
from tests.screens.sitting import (
    begin,
    focused,
    go_to,
    home_screen,
    kept,
    page,
    typed,
    until,
    value,
)
from tests.screens.terminal import SIZES, current, notices, opened, seen

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
        assert f"{number_of}  cards of pairs mixed up in tastings" in seen(pilot)


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
        blind = set(screen.fields) - {"candidates", "was", "was-vintage", "label", "price"}
        assert set(visited) == blind - {"remark"}


async def test_one_key_leads_from_part_to_part(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        found = []
        for _ in range(5):
            await pilot.press("f2")
            found.append(focused(pilot))
        assert found == ["nose", "intensity", "candidate", "first", "hue"]


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
