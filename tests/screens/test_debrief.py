"""The debrief: one sentence on top, the evidence below it, and the way to the drill."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import pytest
from textual.widgets import Static

from cards.scale import Level
from drills.screens.debrief import DebriefScreen
from drills.screens.drill import DrillScreen
from drills.screens.home import HomeScreen
from drills.screens.summary import SummaryScreen
from drills.screens.tasting import TastingScreen
from drills.screens.tasting_draft import half_entered
from drills.screens.tasting_open import OpenFlight
from drills.screens.tasting_sheet import FlightSheet, PourSheet
from drills.screens.widgets.completing_line import PlainLine
from drills.screens.widgets.key_line import KeyLine
from drills.service.desk import Desk
from drills.service.tasting import debrief_pours, find_flight, log_flight
from drills.tastings.debrief import Debrief
from drills.tastings.drafts import Named
from drills.tastings.notes import Candidate, FullFlight, FullPour, Note, Verdict
from tests.screens.terminal import (
    LEAST,
    SIZES,
    Pilot,
    current,
    drilling,
    notices,
    opened,
    seen,
    truth_key,
)

MIXED_UP = FullPour(
    position=1,
    note=Note(
        readings={
            "acid": Level.HIGH,
            "sweetness": Level.LOW,
            "alcohol": 13.5,
            "passion-fruit": True,
            "flint": True,
            "mineral": Level.MED_PLUS,
        },
        free=("[b]odd", "old rope"),
        world="new",
    ),
    candidates=(Candidate("Marlborough Sauvignon", "sauvignon-marlborough", "no [fruit]"),),
    first=Verdict("Marlborough Sauvignon", "sauvignon-marlborough", None, 2),
    final=Verdict("Sancerre", "sauvignon-sancerre", 2018, 3),
    reveal=Named("NZ Sauvignon Blanc", "sauvignon-marlborough"),
    reveal_vintage=2021,
    label_alcohol=12.5,
)
RIGHT = FullPour(
    position=2,
    note=Note(readings={"tannin": Level.HIGH, "tar": True}),
    final=Verdict("Barolo", "nebbiolo-barolo"),
    reveal=Named("Barolo", "nebbiolo-barolo"),
)
UNKNOWN = FullPour(
    position=3, final=Verdict("[/] plonk"), reveal=Named("[link=x]Plonk of the house", None)
)
EMPTY = FullPour(
    position=4,
    final=Verdict("Chinon", "cabernet-franc-chinon"),
    reveal=Named("Barolo", "nebbiolo-barolo"),
)
FLIGHT = FullFlight("[Tuesday]", date(2026, 3, 1), (MIXED_UP, RIGHT, UNKNOWN, EMPTY))


def home_screen() -> HomeScreen:
    return HomeScreen()


async def show(pilot: Pilot[int], desk: Desk, pours: Sequence[FullPour] = FLIGHT.pours) -> None:
    """Open the debrief of pours above the first screen."""
    screen = DebriefScreen(debrief_pours(desk, pours), flight=FLIGHT.name)
    pilot.app.push_screen(screen)
    await pilot.pause()


def told(pilot: Pilot[int]) -> str:
    """All that the debrief says, whether it can be seen without scrolling or not."""
    screen = current(pilot, DebriefScreen)
    texts = [str(screen.query_one(name, Static).content) for name in ("#next-time", "#told")]
    return "\n".join(texts)


def found(desk: Desk, pour: FullPour) -> Debrief:
    (one,) = debrief_pours(desk, [pour])
    assert one.debrief is not None
    return one.debrief


@pytest.mark.parametrize("size", SIZES)
async def test_the_sentence_on_what_to_check_next_time_stands_on_top(
    desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(desk, home_screen, size=size) as pilot:
        await show(pilot, desk)
        sentence = found(desk, MIXED_UP).next_time
        assert sentence.startswith(("Next time", "You had"))
        assert told(pilot).startswith(sentence)
        shown = " ".join(seen(pilot).replace("█", " ").split())
        assert sentence in shown
        assert all(len(line) <= size[0] for line in seen(pilot).splitlines())


async def test_all_that_was_noted_stands_there_strongest_first(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await show(pilot, desk)
        text = told(pilot)
        expected = found(desk, MIXED_UP)
        stories = sorted(
            (*expected.speaks_for, *expected.speaks_against), key=lambda one: -abs(one.weight)
        )
        assert len(stories) >= 4
        places = [text.index(f"{one.words}  {abs(one.weight):.1f} db") for one in stories]
        assert places == sorted(places)
        assert expected.speaks_for
        assert expected.speaks_against


async def test_what_was_missed_and_misread_and_where_the_truth_ranked_is_told(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await show(pilot, desk)
        text = told(pilot)
        expected = found(desk, MIXED_UP)
        assert expected.missed
        for missed in expected.missed:
            assert f"{missed.story.words}" in text
            assert f"{missed.story.weight:.1f} db" in text
        assert "not checked, and would speak for Marlborough Sauvignon" in text
        assert ("would have settled it" in text) == any(one.settles for one in expected.missed)
        for misread in expected.misread:
            assert f"you read {misread.read}, " in text
        assert "you read alcohol 13.5% vol, the label says 12.5% vol\n    1% vol too high" in text
        assert expected.rank is not None
        assert f"of {expected.wines} wines" in text
        assert expected.first is not None
        assert expected.first.words in text
        assert expected.first.better == "first"
        assert "struck off: “no [fruit]”" in text
        assert "The vintage you called is 3 years too old." in text
        assert "“[b]odd”, “old rope”" in text
        assert "called Sancerre 2018, sure   was Marlborough Sauvignon 2021" in text


async def test_causes_and_sources_stand_there_when_asked_for(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await show(pilot, desk)
        expected = found(desk, MIXED_UP)
        causes = [
            one.because for one in (*expected.speaks_for, *expected.speaks_against) if one.because
        ]
        assert causes
        squeezed = " ".join(told(pilot).split())
        assert not any(because in squeezed for because in causes)
        await pilot.press("w")
        squeezed = " ".join(told(pilot).split())
        assert all(because in squeezed for because in causes)
        await pilot.press("w")
        assert not any(because in " ".join(told(pilot).split()) for because in causes)


async def test_the_pair_can_be_drilled_at_once_and_the_way_leads_home(desk: Desk) -> None:
    log_flight(desk, FLIGHT)
    async with opened(desk, home_screen) as pilot:
        await show(pilot, desk)
        assert "drill this pair" in pilot.app.screen.query_one(KeyLine).text
        await pilot.press("d")
        await pilot.pause()
        showing = drilling(pilot).showing
        assert showing is not None
        assert showing.question.contrast.pair == ("sauvignon-marlborough", "sauvignon-sancerre")
        await pilot.press(truth_key(drilling(pilot)), "escape")
        await pilot.pause()
        current(pilot, SummaryScreen)
        await pilot.press("escape")
        await pilot.pause()
        current(pilot, HomeScreen)


async def test_where_there_is_no_pair_nothing_offers_to_drill_it(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await show(pilot, desk)
        await pilot.press("n")
        assert told(pilot).startswith("Right")
        assert "drill" not in pilot.app.screen.query_one(KeyLine).text
        await pilot.press("d")
        current(pilot, DebriefScreen)
        await pilot.press("n")
        assert "No debrief: “[link=x]Plonk of the house” is no wine of the table" in told(pilot)
        assert "called [/] plonk   was [link=x]Plonk of the house" in told(pilot)
        await pilot.press("d", "w")
        current(pilot, DebriefScreen)


async def test_pours_are_gone_through_on_and_back_and_no_further(desk: Desk) -> None:
    async with opened(desk, home_screen, size=LEAST) as pilot:
        await show(pilot, desk)
        screen = current(pilot, DebriefScreen)
        await pilot.press("p")
        assert screen.at == 0
        await pilot.press("n", "space", "enter")
        assert screen.at == 3
        assert "Nothing was noted that a wine could be told by." in told(pilot)
        assert "Nothing that you noted" not in told(pilot)
        await pilot.press("n")
        assert screen.at == 3
        await pilot.press("p")
        assert screen.at == 2
        assert "pour 3 of 4" in seen(pilot)
        await pilot.press("escape")
        current(pilot, HomeScreen)


async def test_a_kept_flight_is_debriefed_as_it_was_entered(desk: Desk) -> None:
    log_flight(desk, FLIGHT)
    async with opened(desk, home_screen) as pilot:
        await show(pilot, desk)
        entered = told(pilot)
        await pilot.press("escape")
        pilot.app.push_screen(DebriefScreen.of_flight(desk, find_flight(desk)))
        await pilot.pause()
        # What was logged is this taster's reading now, so that weights move a little.
        assert told(pilot).splitlines()[1] == entered.splitlines()[1]
        assert "[Tuesday]  2026-03-01" in seen(pilot)


def at_the_table() -> FlightSheet:
    """Two pours, the first one noted, called and revealed."""
    one = PourSheet(
        texts={"final": "Sancerre", "was": "NZ Sauvignon Blanc", "nose": "grapefruit, no grass"},
        levels={"acid": Level.HIGH},
        opened=True,
    )
    return FlightSheet("live", None, [one, PourSheet()])


async def test_from_a_pour_at_the_table_the_way_leads_to_the_next_glass(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        pilot.app.push_screen(TastingScreen(OpenFlight(desk, at_the_table())))
        await pilot.pause()
        await pilot.press("f5")
        await pilot.pause()
        assert told(pilot).startswith("Next time")
        assert "pour 1" in seen(pilot)
        await pilot.press("escape")
        await pilot.pause()
        assert current(pilot, TastingScreen).sheet.at == 0
        await pilot.press("f5")
        await pilot.pause()
        await pilot.press("n")
        await pilot.pause()
        screen = current(pilot, TastingScreen)
        assert screen.sheet.at == 1
        assert screen.focused is not None
        assert screen.focused.name == "hue"


async def test_a_drill_in_the_middle_of_a_flight_leaves_the_flight_half_entered(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen) as pilot:
        pilot.app.push_screen(TastingScreen(OpenFlight(desk, at_the_table())))
        await pilot.pause()
        screen = current(pilot, TastingScreen)
        line = screen.fields["remark"]
        assert isinstance(line, PlainLine)
        line.value = "typed just now"
        await pilot.press("f5")
        await pilot.pause()
        await pilot.press("d")
        await pilot.pause()
        assert isinstance(pilot.app.screen, DrillScreen)
        (half,) = half_entered(desk)
        assert half.sheet.pours[0].text("remark") == "typed just now"


async def test_without_a_reveal_there_is_nothing_to_hold_the_note_against(desk: Desk) -> None:
    sheet = at_the_table()
    sheet.pours[0].type("was", "")
    async with opened(desk, home_screen) as pilot:
        pilot.app.push_screen(TastingScreen(OpenFlight(desk, sheet)))
        await pilot.pause()
        await pilot.press("f5")
        await pilot.pause()
        current(pilot, TastingScreen)
        assert notices(pilot) == ["Say first what the wine was."]


@pytest.mark.parametrize("size", SIZES)
async def test_no_key_is_cut_off_at_the_foot(desk: Desk, size: tuple[int, int]) -> None:
    async with opened(desk, home_screen, size=size) as pilot:
        await show(pilot, desk)
        for _ in FLIGHT.pours:
            foot = " ".join(" ".join(seen(pilot).splitlines()[-2:]).split())
            line = " ".join(pilot.app.screen.query_one(KeyLine).text.split())
            assert line in foot
            assert "keys" in foot
            await pilot.press("n")


async def test_no_line_of_what_was_missed_or_likely_breaks_on_the_smallest_terminal(
    desk: Desk,
) -> None:
    async with opened(desk, home_screen, size=LEAST) as pilot:
        await show(pilot, desk)
        lines = told(pilot).splitlines()
        start = next(n for n, line in enumerate(lines) if line.startswith("not checked"))
        assert all(len(line) <= LEAST[0] - 3 for line in lines[start:]), lines[start:]
