"""The next flight on a screen: planned by keys, sealed until it is revealed, tasted by code."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from drills.errors import StorageError
from drills.screens.ask import AskScreen
from drills.screens.debrief import DebriefScreen
from drills.screens.flight import NextFlightScreen
from drills.screens.home import HomeScreen
from drills.screens.tasting import TastingScreen
from drills.screens.tasting_cautions import CautionsScreen, keep_seen
from drills.screens.tasting_draft import half_entered
from drills.screens.widgets.key_line import KeyLine
from drills.service.desk import Desk
from drills.service.flight_showing import Asked, Contents, PlannedFlight
from drills.service.glasses import log_planned
from drills.service.planned_flights import find_record, look, planned_flights, reveal_codes
from drills.service.pouring import plan
from drills.tastings.notes import FullFlight, FullPour, Verdict
from tests.desks import Watch, mix_up
from tests.screens.terminal import SIZES, current, notices, opened, seen, settled, text_of

Terminal = Pilot[int]
PAIR = ("sauvignon-sancerre", "sauvignon-marlborough")


@pytest.fixture
def desk(open_desk: Callable[[], Desk]) -> Desk:
    desk = open_desk()
    mix_up(desk, *PAIR, times=2)
    keep_seen(desk)
    return desk


@pytest.fixture
def flight(desk: Desk) -> PlannedFlight:
    return plan(desk, Asked(bottles=2, decoys=0, seed=1))


def screen() -> NextFlightScreen:
    return NextFlightScreen()


def held(desk: Desk) -> dict[int, Contents]:
    record = look(find_record(desk, 1), unsealed=True)
    return {one.code: one.contents for one in record.glasses if one.contents is not None}


def names(desk: Desk) -> list[str]:
    return [name for one in held(desk).values() for name in (one.text, desk.short(one.wine))]


async def say(pilot: Terminal, key: str, text: str) -> None:
    """Answer the question that a key asks."""
    await pilot.press(key)
    await pilot.pause()
    current(pilot, AskScreen).query_one(Input).value = text
    await pilot.press("enter")
    await pilot.pause()


async def test_the_foot_offers_what_is_done_with_a_flight_once_there_is_one(desk: Desk) -> None:
    async with opened(desk, NextFlightScreen) as pilot:
        foot = current(pilot, NextFlightScreen).query_one(KeyLine)
        assert foot.text.split() == ["p", "plan", "?", "keys", "esc", "back"]
        await pilot.press("p")
        await settled(pilot)
        for words in ("taste", "reveal", "sheets", "debrief"):
            assert words in foot.text


async def test_a_key_shares_the_wines_out_among_the_tasters(desk: Desk) -> None:
    async with opened(desk, NextFlightScreen) as pilot:
        assert "all wines" in seen(pilot)
        await pilot.press("e", *["plus"] * 6)
        await say(pilot, "a", "Ada, Ben, Cleo")
        assert "some of the wines" in seen(pilot)
        await pilot.press("p")
        await settled(pilot)
        (flight,) = planned_flights(desk)
        assert [len(flight.in_order(name)) for name in ("Ada", "Ben", "Cleo")] == [8, 8, 8]
        assert all(str(glass.code) in seen(pilot) for glass in flight.glasses)


async def test_keys_ask_for_a_flight_and_one_key_plans_it(desk: Desk) -> None:
    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("f")
        await pilot.pause()
        assert "No flight is planned yet: P plans one like this." in seen(pilot)
        await pilot.press("minus", "minus", "o", "w")
        await say(pilot, "b", "95,50")
        await say(pilot, "u", "20")
        await say(pilot, "a", "Ada, Ben")
        asked = Asked(
            bottles=4,
            decoys=2,
            white_first=True,
            budget=95.5,
            usual_price=20.0,
            tasters=("Ada", "Ben"),
        )
        assert current(pilot, NextFlightScreen).asked == asked
        await pilot.press("p")
        await settled(pilot)
        (flight,) = planned_flights(desk)
        assert replace(flight.asked, seed=None) == asked
        said = seen(pilot)
        assert all(str(glass.code) in said for glass in flight.glasses)
        assert "covers 1 of 1 weak pair" in said
        assert not [name for name in names(desk) if name in said]


async def test_what_cannot_be_poured_or_meant_is_answered_in_a_sentence(desk: Desk) -> None:
    async with opened(desk, screen) as pilot:
        for key in ("r", "s", "d", "enter", "n"):
            await pilot.press(key)
            await pilot.pause()
            assert notices(pilot)[-1] == "No flight is planned yet: P plans one."
        await pilot.press("c", "p")
        await settled(pilot)
        assert "the cellar holds no bottle" in notices(pilot)[-1]
        await say(pilot, "b", "plenty")
        ask = current(pilot, AskScreen)
        assert text_of(pilot, "#wrong") == "“plenty” is no number"
        ask.dismiss(None)
        await say(pilot, "a", "Ada, ada")
        assert text_of(pilot, "#wrong") == "two tasters have the same name"
    assert planned_flights(desk) == []


async def test_a_glass_is_revealed_only_when_asked_twice(desk: Desk, flight: PlannedFlight) -> None:
    async with opened(desk, screen) as pilot:
        await pilot.press("r")
        await pilot.pause()
        first = flight.glasses[0].code
        assert notices(pilot)[-1] == f"R again reveals glass {first} for good."
        assert planned_flights(desk)[0].sealed == 2
        await pilot.press("r")
        await pilot.pause()
        assert planned_flights(desk)[0].sealed == 1
        said = seen(pilot)
        assert held(desk)[first].text in said
        # The other wine of the pair is not given away by the reason for this one.
        assert held(desk)[flight.glasses[1].code].text not in said
        assert "mixed up" not in said
        await pilot.press("r", "r")
        await pilot.pause()
        assert "mixed up 2 times" in seen(pilot)
        await pilot.press("r")
        await pilot.pause()
        assert notices(pilot)[-1] == "Every glass of Flight 1 is revealed."


async def test_a_flight_is_tasted_by_code_and_each_reveal_opens_one_glass(
    desk: Desk, flight: PlannedFlight
) -> None:
    first, second = (glass.code for glass in flight.glasses)
    async with opened(desk, screen) as pilot:
        await pilot.press("enter")
        await settled(pilot)
        page = current(pilot, TastingScreen)
        assert f"Flight 1 · glass {first}" in seen(pilot)
        page.sheet.pour.pick("final", "Sancerre", "sauvignon-sancerre")
        assert not [name for name in names(desk) if name in seen(pilot)]
        await pilot.press("f5")
        await settled(pilot)
        assert page.sheet.pour.text("was") == held(desk)[first].text
        assert held(desk)[first].text in seen(pilot)
        assert [one.revealed_at is not None for one in find_record(desk).pours].count(True) == 1
        await pilot.press("pagedown")
        await pilot.pause()
        assert f"glass {second}" in seen(pilot)
        page.sheet.pour.pick("final", "Sancerre", "sauvignon-sancerre")
        # Kept without a reveal: the key is opened with it, once that was said.
        await pilot.press("f9")
        await pilot.pause()
        assert notices(pilot)[-1] == "1 pour is not revealed. F9 again opens the key and keeps it."
        await pilot.press("f9")
        await settled(pilot)
        current(pilot, DebriefScreen)
    pours = desk.repository.pours(desk.taster.id)[-2:]
    assert {one.draft.was_wine for one in pours} == set(PAIR)
    assert [one.draft.called_wine for one in pours] == ["sauvignon-sancerre"] * 2
    assert planned_flights(desk)[0].state == "done"


async def test_a_glass_that_is_in_the_log_is_not_asked_for_again(
    desk: Desk, flight: PlannedFlight
) -> None:
    first, second = (glass.code for glass in flight.glasses)
    async with opened(desk, screen) as pilot:
        for code in (first, second):
            await pilot.press("enter")
            await settled(pilot)
            page = current(pilot, TastingScreen)
            assert page.sheet.codes[1] == code
            page.sheet.pour.pick("final", "Sancerre", "sauvignon-sancerre")
            await pilot.press("f5")
            await settled(pilot)
            await pilot.press("f9")
            await settled(pilot)
            current(pilot, DebriefScreen)
            await pilot.press("escape")
            await settled(pilot)
        await pilot.press("enter")
        await pilot.pause()
        assert notices(pilot)[-1] == "Every glass of Flight 1 is in the log: D debriefs it."
        current(pilot, NextFlightScreen)
    pours = desk.repository.pours(desk.taster.id)[-2:]
    assert {one.draft.was_wine for one in pours} == set(PAIR)


async def test_another_tasters_flight_is_tasted_here_and_its_key_stays_with_them(
    desk: Desk, watch: Watch, tmp_path: Path
) -> None:
    plan(desk, Asked(bottles=2, decoys=0, seed=1, tasters=("Ada", "Ben")))
    desk.repository.taster("Ada")
    ada = Desk(clock=watch.clock, taster="Ada")
    ada.table, ada.cellar = desk.table, desk.cellar
    keep_seen(ada)
    async with opened(ada, screen) as pilot:
        assert "Flight 1 planned by “me”" in seen(pilot)
        await pilot.press("r")
        await pilot.pause()
        assert "planned by “me”, who keeps its key" in notices(pilot)[-1]
        await pilot.press("s")
        await pilot.pause()
        assert "Blank sheets only: “me” keeps" in seen(pilot)
        current(pilot, AskScreen).query_one(Input).value = str(tmp_path / "sheets")
        await pilot.press("enter")
        await pilot.pause()
        assert not [one for one in (tmp_path / "sheets").iterdir() if "helper" in one.name]
        await pilot.press("enter")
        await settled(pilot)
        page = current(pilot, TastingScreen)
        page.sheet.pour.pick("final", "Sancerre", "sauvignon-sancerre")
        await pilot.press("f5")
        await settled(pilot)
        assert page.sheet.pour.text("was") == held(desk)[page.sheet.codes[1]].text
        await pilot.press("f9")
        await settled(pilot)
    assert [one.sealed for one in (*planned_flights(ada), *planned_flights(desk))] == [1, 2]
    ada.close()


@pytest.mark.parametrize("named", [False, True])
async def test_sealed_codes_stand_in_the_order_in_which_they_are_opened(
    desk: Desk, named: bool
) -> None:
    names = ("Ada", desk.taster.name) if named else ("Ada", "Ben")
    flight = plan(desk, Asked(bottles=4, seed=1, tasters=names))
    own, adas = (
        [str(glass.code) for glass in flight.in_order(name)] for name in (names[1], names[0])
    )
    assert own != adas
    async with opened(desk, NextFlightScreen) as pilot:
        told = text_of(pilot, "#told").splitlines()
        line = next(line for line in told if line.startswith("sealed"))
        expected = ["sealed", *own] if named else ["sealed,", "as", "Ada", "is", "served", *adas]
        assert line.split() == expected


async def test_a_half_tasted_flight_is_taken_up_again(desk: Desk, flight: PlannedFlight) -> None:
    async with opened(desk, screen) as pilot:
        await pilot.press("n")
        await settled(pilot)
        page = current(pilot, TastingScreen)
        page.sheet.pour.type("nose", "lemon")
        page.touch()
        await pilot.press("escape")
        await settled(pilot)
        await pilot.press("n")
        await settled(pilot)
        again = current(pilot, TastingScreen).sheet
        assert again is not page.sheet
        assert again.pour.text("nose") == "lemon"
        assert again.codes == {place: glass.code for place, glass in enumerate(flight.glasses, 1)}
    assert find_record(desk).state == "planned"


async def test_what_was_typed_of_a_glass_that_was_taken_in_meanwhile_is_added_to_it(
    desk: Desk, flight: PlannedFlight
) -> None:
    code = flight.glasses[0].code
    async with opened(desk, screen) as pilot:
        await pilot.press("n")
        await settled(pilot)
        page = current(pilot, TastingScreen)
        page.sheet.pour.type("nose", "lemon [peel]")
        page.touch()
        sheet = FullPour(1, final=Verdict("Chablis", "chardonnay-chablis"))
        log_planned(desk, FullFlight("Flight 1", None, (sheet,)), 1, {1: code})
        before = len(desk.repository.pours(desk.taster.id))
        await pilot.press("f9", "f9")
        await settled(pilot)
        current(pilot, DebriefScreen)
        said = f"Glass {code} was in the log already; what you typed was added there."
        assert said in notices(pilot)
    rows = desk.repository.pours(desk.taster.id, full=True)
    assert len(rows) == before
    assert [row.draft.called_text for row in rows if "lemon" in row.draft.nose] == ["Chablis"]
    assert half_entered(desk) == []


async def test_a_key_that_cannot_be_opened_leaves_the_note_open(
    desk: Desk, flight: PlannedFlight, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise StorageError("the disk is away")

    monkeypatch.setattr("drills.service.glasses.open_glass", refuse)
    async with opened(desk, screen) as pilot:
        await pilot.press("n")
        await settled(pilot)
        await pilot.press("f5", "f5")
        await pilot.pause()
        assert notices(pilot)[-1] == "the disk is away"
        assert not current(pilot, TastingScreen).sheet.pour.opened
    assert planned_flights(desk)[0].sealed == len(flight.glasses)


async def test_sheets_are_written_where_the_taster_says(
    desk: Desk, flight: PlannedFlight, tmp_path: Path
) -> None:
    folder = tmp_path / "sheets [bold]"
    async with opened(desk, screen) as pilot:
        await say(pilot, "s", str(folder))
        assert notices(pilot)[-1] == f"6 files written to {folder}"
        await say(pilot, "s", str(folder))
        assert "is there already" in notices(pilot)[-1]
    assert len(list(folder.iterdir())) == 6
    assert flight.number == 1


async def test_a_flight_is_debriefed_once_it_is_in_the_log(
    desk: Desk, flight: PlannedFlight
) -> None:
    async with opened(desk, screen) as pilot:
        await pilot.press("d")
        await pilot.pause()
        assert notices(pilot)[-1].startswith("Flight 1 is not in the log yet")
        mix_up(desk, *PAIR, flight=flight.name)
        await pilot.press("d")
        await settled(pilot)
        current(pilot, DebriefScreen)


async def test_cautions_stand_before_the_first_flight(open_desk: Callable[[], Desk]) -> None:
    desk = open_desk()
    plan(desk, Asked(bottles=2, decoys=0, seed=1))
    async with opened(desk, screen) as pilot:
        await pilot.press("enter")
        await pilot.pause()
        current(pilot, CautionsScreen)
        await pilot.press("enter")
        await settled(pilot)
        current(pilot, TastingScreen)


@pytest.mark.parametrize("size", SIZES)
async def test_what_was_asked_and_the_codes_are_seen_on_every_terminal(
    desk: Desk, size: tuple[int, int]
) -> None:
    flight = plan(desk, Asked(bottles=12, seed=1, tasters=("Ada", "Ben")))
    reveal_codes(desk, flight.number, [glass.code for glass in flight.glasses[:3]])
    async with opened(desk, screen, size=size) as pilot:
        said = seen(pilot)
        for words in ("bottles", "decoys", "budget", "Flight 1", "plan", "taste", "keys"):
            assert words in said
        assert all(str(glass.code) in said for glass in flight.glasses[3:])
