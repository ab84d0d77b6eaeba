"""The next flight: plan it, write its sheets, taste it by code, reveal it glass by glass."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drills.errors import DrillsError, NotPossibleError, UsageError
from drills.phrases import count
from drills.screens.ask import AskScreen
from drills.screens.base import DeskScreen
from drills.screens.flight_words import folder_asked, glasses_of, row_of
from drills.screens.in_place import put
from drills.screens.tasting_cautions import CautionsScreen, after_cautions
from drills.screens.tasting_open import OpenFlight
from drills.screens.twice import Twice
from drills.screens.widgets.flight_wishes import FlightWishes
from drills.screens.widgets.key_line import KeyLine
from drills.service.flight_showing import Asked, PlannedFlight
from drills.service.planned_flights import own_record, planned_flights, reveal_next

_PLANNING = ("plan-flight",)
_PLANNED = (*_PLANNING, "taste-flight", "reveal-glass", "write-sheets", "debrief-flight")
_ALWAYS = ("help", "back")


class NextFlightScreen(DeskScreen[None]):
    """Plans flights and opens them; a sealed glass is a code here and nothing else."""

    ABOUT = (
        "Choose the wines of the next flight from your weak pairs; they stay sealed, and you see "
        "codes. A helper writes the sheets and pours; taste by code, each reveal opens one glass."
    )
    DEFAULT_CSS = """
    NextFlightScreen {
        #head { dock: top; height: 1; background: $panel; padding: 0 1; color: $primary;
                text-style: bold; }
        #asked { height: auto; padding: 0 1; }
        #flights { height: 1fr; min-height: 3; border: none; padding: 0; margin-top: 1;
                   background: $background; scrollbar-size-vertical: 1;
            &:focus { background-tint: transparent; }
            & > .option-list--option { padding: 0 1; }
            & > .option-list--option-highlighted {
                background: $primary 40%; color: $foreground; text-style: bold;
            }
        }
        #glasses { height: auto; max-height: 45%; padding: 0 1; margin-top: 1;
                   scrollbar-size-vertical: 1; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("p", "plan", "plan", id="plan-flight", tooltip="choose and seal a flight"),
        Binding(
            "enter,n", "taste", "taste", id="taste-flight", tooltip="take this flight down by code"
        ),
        Binding(
            "r",
            "reveal",
            "reveal",
            id="reveal-glass",
            tooltip="reveal the next glass",
        ),
        Binding(
            "s", "sheets", "sheets", id="write-sheets", tooltip="write the sheets of this flight"
        ),
        Binding(
            "d",
            "debrief",
            "debrief",
            id="debrief-flight",
            tooltip="debrief it, once tasted",
        ),
        Binding(
            "plus,equals_sign", "bottles(1)", "more", id="more-bottles", tooltip="a bottle more"
        ),
        Binding("minus", "bottles(-1)", "fewer", id="fewer-bottles", tooltip="a bottle fewer"),
        Binding(
            "o", "decoys", "decoys", id="decoys", tooltip="more decoys, from the most back to none"
        ),
        Binding("b", "budget", "budget", id="budget", tooltip="what bottles to buy may cost"),
        Binding("u", "usual", "price", id="usual-price", tooltip="the price where none is known"),
        Binding("c", "cellar_only", "cellar", id="cellar-only", tooltip="only your own bottles"),
        Binding("w", "white_first", "order", id="white-first", tooltip="serve by style, or mixed"),
        Binding(
            "e", "share", "each", id="share-wines", tooltip="each taster tastes all wines, or some"
        ),
        Binding("a", "tasters", "tasters", id="tasters", tooltip="who tastes: a number, or names"),
        Binding("f12", "cautions", "cautions", id="cautions", tooltip="cautions for tasting"),
        Binding("escape", "app.pop_screen", "back", id="back", key_display="esc"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.wishes = FlightWishes(id="asked")
        self.flights: list[PlannedFlight] = []
        self._twice = Twice()
        self._planning = False

    def compose(self) -> ComposeResult:
        """What is asked, the flights, the glasses of the one under the cursor."""
        yield Static("next flight", id="head", markup=False)
        yield self.wishes
        yield OptionList(id="flights", markup=False)
        with VerticalScroll(id="glasses"):
            yield Static("", id="told", markup=False)
        yield KeyLine(*_PLANNING, *_ALWAYS)

    def on_screen_resume(self) -> None:
        """List anew whenever the taster comes back."""
        self._list()

    # ---- what is asked for

    @property
    def asked(self) -> Asked:
        """What the next flight should be like."""
        return self.wishes.asked

    def action_bottles(self, by: int) -> None:
        """A bottle more or fewer."""
        self.wishes.change_bottles(by)

    def action_decoys(self) -> None:
        """A decoy more; after the most none."""
        self.wishes.change_decoys()

    def action_cellar_only(self) -> None:
        """Only the cellar, or anything."""
        self.wishes.change(cellar_only=not self.asked.cellar_only)

    def action_white_first(self) -> None:
        """By style, or mixed."""
        self.wishes.change(white_first=not self.asked.white_first)

    def action_share(self) -> None:
        """All wines for each taster, or some."""
        self.wishes.change(shared=not self.asked.shared)

    def action_budget(self) -> None:
        """Ask for the budget."""
        self.wishes.ask_budget()

    def action_usual(self) -> None:
        """Ask what a bottle of unknown price costs."""
        self.wishes.ask_usual_price()

    def action_tasters(self) -> None:
        """Ask who tastes."""
        self.wishes.ask_tasters()

    # ---- the flights

    def _list(self, number: int | None = None) -> None:
        try:
            self.flights = planned_flights(self.desk)
        except DrillsError as error:
            self.notify(str(error), severity="error", markup=False)
        options = self.query_one(OptionList)
        at = options.highlighted or 0
        if number is not None:
            at = next((p for p, one in enumerate(self.flights) if one.number == number), 0)
        options.set_options(Option(row_of(one)) for one in self.flights)
        options.can_focus = bool(self.flights)
        if self.flights:
            options.highlighted = min(at, len(self.flights) - 1)
            options.focus()
        wanted = _PLANNED if self.flights else _PLANNING
        self.query_one(KeyLine).show((*wanted, *_ALWAYS))
        self._show_glasses()

    @property
    def flight(self) -> PlannedFlight | None:
        """The flight under the cursor."""
        at = self.query_one(OptionList).highlighted
        return self.flights[at] if at is not None and at < len(self.flights) else None

    def on_option_list_option_highlighted(self) -> None:
        """Another flight."""
        self._twice.forget()
        self._show_glasses()

    def on_option_list_option_selected(self) -> None:
        """Enter tastes."""
        self.action_taste()

    def _show_glasses(self) -> None:
        flight = self.flight
        target = self.query_one("#told", Static)
        if flight is None:
            key = self.key_of("plan-flight")
            put(target, Content(f"No flight is planned yet: {key} plans one like this."))
            return
        put(target, glasses_of(flight, self.desk.taster.name))

    # ---- what is done with them

    def action_plan(self) -> None:
        """Choose a flight like the one asked for."""
        if self._planning:
            return
        self._planning = True
        put(self.query_one("#told", Static), Content("choosing the wines ..."))
        self._plan(self.asked)

    @work(thread=True, group="plan")
    def _plan(self, asked: Asked) -> None:
        from drills.service.pouring import plan

        try:
            flight = plan(self.desk, asked)
        except DrillsError as error:
            self.app.call_from_thread(self._planned, None, str(error))
        else:
            self.app.call_from_thread(self._planned, flight.number, "")

    def _planned(self, number: int | None, problem: str) -> None:
        self._planning = False
        if problem:
            self.notify(problem, severity="warning", markup=False)
        self._list(number)

    def action_sheets(self) -> None:
        """Ask for the folder, then write the sheets."""
        flight = self.flight
        if flight is None:
            self._nothing()
            return

        def keep(said: str | None) -> None:
            if said is not None:
                self._write(flight, said)

        usual = str(Path.home() / f"flight-{flight.number}")
        self.app.push_screen(AskScreen(folder_asked(flight), usual, _read_folder), keep)

    def _write(self, flight: PlannedFlight, folder: str) -> None:
        from drills.service.flight_sheets import write_sheets

        try:
            written = write_sheets(
                self.desk, flight.number, folder.strip(), only_tasters=bool(flight.planner)
            )
        except DrillsError as error:
            self.notify(str(error), severity="error", markup=False)
            return
        files = count(len(written.helper) + len(written.tasters), "file")
        self.notify(f"{files} written to {written.folder}", markup=False)

    def action_reveal(self) -> None:
        """Ask once, then reveal the next glass."""
        flight = self.flight
        if flight is None:
            self._nothing()
            return
        try:
            own_record(self.desk, flight.number)
        except DrillsError as error:
            self.notify(str(error), severity="warning", markup=False)
            return
        shut = next((glass for glass in flight.glasses if glass.contents is None), None)
        if shut is None:
            self.notify(f"Every glass of {flight.name} is revealed.", markup=False)
            return
        if not self._twice.again((flight.number, shut.code)):
            key = self.key_of("reveal-glass")
            self.notify(f"{key} again reveals glass {shut.code} for good.", markup=False)
            return
        self._twice.forget()
        try:
            reveal_next(self.desk, flight.number, shut.code)
        except DrillsError as error:
            self.notify(str(error), severity="error", markup=False)
        self._list(flight.number)

    def action_taste(self) -> None:
        """Take the flight down by code, the cautions before the first one."""
        if self.flight is None:
            self._nothing()
        else:
            after_cautions(self, self._taste)

    def _taste(self) -> None:
        from drills.screens.tasting_start import flight_screen

        flight = self.flight
        if flight is None:
            return
        try:
            opened = OpenFlight.planned(self.desk, flight)
        except DrillsError as error:
            self.notify(str(error), severity="error", markup=False)
            return
        if opened is None:
            key = self.key_of("debrief-flight")
            told = f"Every glass of {flight.name} is in the log: {key} debriefs it."
            self.notify(told, markup=False)
        else:
            self.app.push_screen(flight_screen(opened))

    def action_debrief(self) -> None:
        """Debrief the flight, once it is in the log."""
        from drills.screens.debrief import DebriefScreen
        from drills.service.tasting import find_flight

        flight = self.flight
        if flight is None:
            self._nothing()
            return
        try:
            screen = DebriefScreen.of_flight(self.desk, find_flight(self.desk, flight.name))
        except NotPossibleError:
            self.notify(
                f"{flight.name} is not in the log yet: taste it here, or import its sheet.",
                markup=False,
            )
        except DrillsError as error:
            self.notify(str(error), severity="error", markup=False)
        else:
            self.app.push_screen(screen)

    def action_cautions(self) -> None:
        """Show the cautions again."""
        self.app.push_screen(CautionsScreen())

    def _nothing(self) -> None:
        key = self.key_of("plan-flight")
        self.notify(f"No flight is planned yet: {key} plans one.", markup=False)


def _read_folder(said: str) -> None:
    if not said.strip():
        raise UsageError("name a folder")
