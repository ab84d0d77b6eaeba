"""At the table: a flight begun, its page, and what is kept of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from textual.events import Key
from textual.keys import _character_to_key
from textual.pilot import Pilot
from textual.widgets import Static

from drills.screens.home import HomeScreen
from drills.screens.tasting import TastingScreen
from drills.screens.tasting_cautions import keep_seen
from drills.screens.tasting_draft import half_entered
from drills.screens.tasting_sheet import FlightSheet, PourSheet
from drills.screens.tasting_start import TastingStartScreen
from drills.screens.widgets.choice_row import ChoiceRow
from drills.screens.widgets.completing_line import PlainLine
from drills.screens.widgets.offer_line import OfferLine
from drills.screens.widgets.scale_row import ScaleRow
from drills.service.desk import Desk
from drills.service.pours import full_pour
from drills.tastings.notes import FullPour
from tests.screens.terminal import current

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
    screen.set_focus(screen.fields[name])
    await pilot.pause()


def offers(pilot: Terminal) -> str:
    """What the line above the keys says."""
    return str(pilot.app.screen.query_one(OfferLine).render())


def value(pilot: Terminal, name: str) -> Any:
    """What a line, scale or choice of the page holds."""
    widget = page(pilot).fields[name]
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


def clock_line(pilot: Terminal) -> str:
    return str(page(pilot).query_one("#clock", Static).content)


async def until(pilot: Terminal, true: Callable[[], bool]) -> None:
    """Wait until something has come true, for a few seconds at most."""
    for _ in range(100):
        await pilot.pause(0.05)
        await pilot.app.workers.wait_for_complete()
        if true():
            return
    raise AssertionError("it never came true")
