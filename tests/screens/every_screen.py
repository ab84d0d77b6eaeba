"""Every screen of the program, and how it is made."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from textual.screen import Screen
from textual.widgets import Input, TextArea

from cards.scale import Level
from drills.screens.backups import BackupsScreen
from drills.screens.compare import CompareScreen
from drills.screens.correct import CorrectScreen
from drills.screens.debrief import DebriefScreen
from drills.screens.flight import NextFlightScreen
from drills.screens.home import HomeScreen
from drills.screens.imports import ImportsScreen
from drills.screens.intake import IntakeScreen
from drills.screens.opening import drill_screen
from drills.screens.pair import PairScreen
from drills.screens.profile import ProfileScreen
from drills.screens.progress import ProgressScreen
from drills.screens.summary import SummaryScreen
from drills.screens.table import TableScreen
from drills.screens.tasting import TastingScreen
from drills.screens.tasting_cautions import keep_seen
from drills.screens.tasting_open import OpenFlight
from drills.screens.tasting_quick import QuickScreen
from drills.screens.tasting_sheet import FlightSheet, PourSheet
from drills.screens.tasting_start import TastingStartScreen
from drills.screens.tray import TrayScreen
from drills.screens.weak import WeakScreen
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.intake import read_lines, take_in
from drills.service.tasting import debrief_pours
from drills.tastings.drafts import Named
from drills.tastings.notes import FullPour, Note, Verdict

Make = Callable[[Desk], Screen[Any]]


def summary_screen(desk: Desk) -> Screen[None]:
    return SummaryScreen(DrillSession(desk, 60).end())


def start_screen(desk: Desk) -> Screen[Any]:
    # The cautions that stand before the first flight were read.
    keep_seen(desk)
    return TastingStartScreen()


def flight(desk: Desk) -> OpenFlight:
    return OpenFlight(desk, FlightSheet(name="Tuesday", pours=[PourSheet(), PourSheet()]))


def debrief_screen(desk: Desk) -> Screen[Any]:
    called = FullPour(
        position=1,
        note=Note(readings={"acid": Level.HIGH, "grass": True}),
        final=Verdict("Sancerre", "sauvignon-sancerre"),
        reveal=Named("NZ Sauvignon Blanc", "sauvignon-marlborough"),
    )
    return DebriefScreen(debrief_pours(desk, [called, replace(called, position=2)]))


def with_lines(desk: Desk, make: Make) -> Screen[Any]:
    """A screen once lines were taken in, one of them with a name that is not clear."""
    with read_lines(desk, io.StringIO("Barolo > Barolo\nRiesling > Plonk of the house\n")) as lines:
        take_in(desk, lines)
    return make(desk)


SCREENS: dict[str, Make] = {
    "home": lambda _: HomeScreen(),
    "drill": drill_screen,
    "summary": summary_screen,
    "weak": lambda _: WeakScreen(),
    "pair": lambda _: PairScreen("sauvignon-sancerre", "sauvignon-marlborough"),
    "progress": lambda _: ProgressScreen(),
    "intake": lambda _: IntakeScreen(),
    "next flight": lambda _: NextFlightScreen(),
    "backups": lambda _: BackupsScreen(),
    "imports": lambda desk: with_lines(desk, lambda _: ImportsScreen()),
    "tray": lambda desk: with_lines(desk, lambda _: TrayScreen()),
    "tasting start": start_screen,
    "tasting": lambda desk: TastingScreen(flight(desk)),
    "tasting, short": lambda desk: QuickScreen(flight(desk)),
    "debrief": debrief_screen,
    "correct": lambda desk: CorrectScreen(desk, 1, FullPour(position=1)),
    "table": lambda _: TableScreen(),
    "profile": lambda _: ProfileScreen("chardonnay-chablis"),
    "compare": lambda _: CompareScreen("chardonnay-chablis", "chardonnay-meursault"),
}


def types(screen: Screen[Any]) -> bool:
    """Whether keys are letters of a text just now."""
    return isinstance(screen.focused, Input | TextArea)
