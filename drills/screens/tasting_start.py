"""Where a flight begins: a new one, one left half entered, or one kept, for its debrief."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.events import DescendantFocus
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drills.errors import DrillsError
from drills.phrases import count
from drills.screens.base import DeskScreen
from drills.screens.tasting_cautions import CautionsScreen, after_cautions
from drills.screens.tasting_draft import HalfEntered, half_entered
from drills.screens.tasting_flight import FlightScreen
from drills.screens.tasting_open import OpenFlight
from drills.screens.tasting_sheet import (
    MOST_POURS,
    USUAL_POURS,
    FlightSheet,
    PourSheet,
    usual_minutes,
)
from drills.screens.twice import Twice
from drills.screens.widgets.choice_row import ChoiceRow, ClockRow, FormRow
from drills.screens.widgets.completing_line import CompletingLine, PlainLine
from drills.screens.widgets.form import go
from drills.screens.widgets.key_line import KeyLine
from drills.screens.widgets.labelled import Labelled
from drills.screens.widgets.offer_line import OfferLine
from drills.screens.widgets.scale_row import ScaleRow
from drills.storage.records import FlightRecord
from drills.tastings.dates import Either, read_date

_NO_DATE = "no date"


class TastingStartScreen(DeskScreen[None]):
    """Begins a flight, or takes one up again."""

    ABOUT = (
        "Begin a flight with one key, now at the table or later from your notes. What was left "
        "half entered stands in the list below, then the flights that are kept: ENTER opens them."
    )
    DEFAULT_CSS = """
    TastingStartScreen {
        #foot { dock: bottom; height: auto; }
        #foot KeyLine { dock: none; }
        #head { dock: top; height: 1; background: $panel; padding: 0 1; color: $primary;
                text-style: bold; }
        #new { height: auto; padding: 0 1; }
        .row { height: 1; }
        #flights { height: 1fr; border: none; padding: 0; background: $background;
                   scrollbar-size-vertical: 1;
            &:focus { background-tint: transparent; }
            & > .option-list--option { padding: 0 1; }
            & > .option-list--option-highlighted {
                background: $primary 40%; color: $foreground; text-style: bold;
            }
        }
        #listed { height: 1; padding: 0 1; margin-top: 1; color: $text-muted; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2,enter", "begin", "begin", id="begin", tooltip="begin the new flight"),
        Binding("down", "go(1)", "next line", id="start-next", show=False, tooltip="next line"),
        Binding(
            "up", "go(-1)", "line before", id="start-before", show=False, tooltip="line before"
        ),
        Binding(
            "delete",
            "discard",
            "discard",
            id="discard",
            tooltip="discard the half-entered flight under the cursor",
        ),
        Binding(
            "f12", "cautions", "cautions", id="cautions", tooltip="cautions for people who taste"
        ),
        Binding("escape", "app.pop_screen", "back", id="back", key_display="esc"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._half: list[HalfEntered] = []
        self._kept: list[FlightRecord] = []
        self._twice = Twice()

    def compose(self) -> ComposeResult:
        """What a new flight is called and how it is taken down; then the list."""
        yield Static("note a tasting", id="head", markup=False)
        with Vertical(id="new"):
            yield Labelled("flight", PlainLine(self, "name", "what you call it; may stay empty"))
            with Horizontal(classes="row"):
                yield Labelled(
                    "date", PlainLine(self, "date", "the day, as 2026-03-14; empty if unknown")
                )
                yield Labelled("pours", PlainLine(self, "pours", "how many wines"), width=7)
            with Horizontal(classes="row"):
                yield FormRow(self, "form", "form")
                yield ClockRow(self, "clock", "clock", label_width=7)
        yield Static("", id="listed", markup=False)
        flights = OptionList(id="flights", markup=False)
        yield flights
        with Vertical(id="foot"):
            yield OfferLine()
            yield KeyLine("begin", "discard", "cautions", "help", "back")

    def on_mount(self) -> None:
        """Fill in what is usual, so that one key begins."""
        self._line("date").show(self.desk.clock.now().astimezone().date().isoformat())
        self._line("pours").show(str(USUAL_POURS))
        self.query_one(FormRow).value = "full"
        self.query_one(ClockRow).value = "off"
        after_cautions(self)

    def on_screen_resume(self) -> None:
        """List anew whenever the taster comes back."""
        try:
            self._half = half_entered(self.desk)
            self._kept = self.desk.repository.flights(self.desk.taster.id)
        except DrillsError as error:
            self.notify(str(error), severity="error", markup=False)
        self._list()
        flights = self.query_one(OptionList)
        if self._half:
            flights.highlighted = 0
            flights.focus()
        else:
            self._line("name").focus()

    def _list(self) -> None:
        self._twice.forget()
        options = [
            Option(self._half_told(half), f"half-{place}") for place, half in enumerate(self._half)
        ]
        options += [
            Option(_kept_told(flight), f"kept-{place}") for place, flight in enumerate(self._kept)
        ]
        flights = self.query_one(OptionList)
        flights.set_options(options)
        flights.can_focus = bool(options)
        told = "half entered, then kept" if self._half else "kept flights" if self._kept else ""
        self.query_one("#listed", Static).update(Content(told))

    def _half_told(self, half: HalfEntered) -> Content:
        sheet = half.sheet
        saved = half.saved_at.astimezone()
        today = saved.date() == self.desk.clock.now().astimezone().date()
        when = saved.strftime("%H:%M") if today else saved.strftime("%Y-%m-%d %H:%M")
        return Content.assemble(
            ("half entered  ", "italic"),
            (f"{sheet.title}  ", "bold"),
            f"{_day(sheet.tasted_on)}  pour {sheet.at + 1} of {len(sheet.pours)}, {when}",
        )

    def _line(self, name: str) -> PlainLine:
        return next(line for line in self.query(PlainLine) if line.name == name)

    # ---- a new flight

    def filled(self, line: PlainLine, _text: str, _wine: str | None) -> None:
        """Mark what cannot be read as soon as it stands there."""
        line.set_class(bool(self._fault(line.field)), "-odd")

    def left(self, _: PlainLine) -> None:
        """Enter begins, wherever one types."""
        self.action_begin()

    def offered(self, line: CompletingLine) -> None:
        """Nothing is completed here."""

    def placed(self, row: ScaleRow, value: int | None) -> None:
        """Nothing is placed here."""

    def chosen(self, row: ChoiceRow, value: str) -> None:
        """The choices are read when the flight begins."""

    def on_descendant_focus(self, event: DescendantFocus) -> None:
        """Say what belongs here."""
        listed = "ENTER opens   DEL discards what is half entered"
        hint = listed if isinstance(event.widget, OptionList) else getattr(event.widget, "hint", "")
        self.query_one(OfferLine).hint(hint)
        self.query_one(KeyLine).redraw()

    def action_go(self, by: int) -> None:
        """Go to the next line or the one before."""
        go(self, by)

    def _fault(self, name: str) -> str:
        text = self._line(name).value.strip()
        if name == "pours":
            right = text.isdecimal() and 1 <= int(text) <= MOST_POURS
            return "" if right else f"“{text}” should be a number of wines, 1 to {MOST_POURS}"
        if name == "date":
            try:
                self._date()
            except ValueError as error:
                return str(error)
        return ""

    def _date(self) -> date | None:
        text = self._line("date").value.strip()
        if not text:
            return None
        try:
            found = read_date(text)
        except ValueError as error:
            raise ValueError(f"“{text}” {error}") from None
        if isinstance(found, Either):
            raise ValueError(f"“{text}” could be {found.day_first} or {found.month_first}")
        return found

    def action_begin(self) -> None:
        """Begin the new flight."""
        for name in ("date", "pours"):
            if words := self._fault(name):
                self.notify(words, severity="warning", markup=False)
                self._line(name).focus()
                return
        pours = int(self._line("pours").value)
        clocked = self.query_one(ClockRow).value == "on"
        sheet = FlightSheet(
            name=self._line("name").value,
            tasted_on=self._date(),
            pours=[PourSheet() for _ in range(pours)],
            minutes=float(usual_minutes(pours)) if clocked else None,
            quick=self.query_one(FormRow).value == "short",
        )
        self.app.push_screen(flight_screen(OpenFlight(self.desk, sheet)))

    # ---- the list

    def on_option_list_option_selected(self, message: OptionList.OptionSelected) -> None:
        """Open what was chosen."""
        kind, _, place = (message.option_id or "").partition("-")
        if kind == "half":
            half = self._half[int(place)]
            self.app.push_screen(flight_screen(OpenFlight.resumed(self.desk, half)))
        elif kind == "kept":
            self._open_kept(self._kept[int(place)])

    @work(thread=True, exclusive=True)
    def _open_kept(self, flight: FlightRecord) -> None:
        from drills.screens.debrief import DebriefScreen

        try:
            screen = DebriefScreen.of_flight(self.desk, flight)
        except DrillsError as error:
            self.app.call_from_thread(self.notify, str(error), severity="error", markup=False)
        else:
            self.app.call_from_thread(self._call_up, screen)

    def _call_up(self, screen: DeskScreen[None]) -> None:
        # Weighing a long flight takes a moment: what was opened meanwhile stays on top.
        if self.app.screen is self:
            self.app.push_screen(screen)

    def action_discard(self) -> None:
        """Discard a half-entered flight, having asked."""
        flights = self.query_one(OptionList)
        place = flights.highlighted
        if not flights.has_focus or place is None or place >= len(self._half):
            return
        half = self._half[place]
        if not self._twice.again(half.draft_id):
            key = self.key_of("discard")
            told = count(half.sheet.begun, "pour")
            self.notify(f"{key} again discards it with {told} for good.", markup=False)
            return
        try:
            self.desk.repository.drop_draft(half.draft_id)
        except DrillsError as error:
            self.notify(str(error), severity="error", markup=False)
            return
        self.on_screen_resume()

    def action_cautions(self) -> None:
        """Show the cautions again."""
        self.app.push_screen(CautionsScreen())


def flight_screen(flight: OpenFlight) -> FlightScreen:
    """The screen of a flight in the form in which it is taken down."""
    if flight.sheet.quick:
        from drills.screens.tasting_quick import QuickScreen

        return QuickScreen(flight)
    from drills.screens.tasting import TastingScreen

    return TastingScreen(flight)


def _kept_told(flight: FlightRecord) -> Content:
    return Content.assemble(
        (f"{_day(flight.tasted_on):<12}", "dim"),
        f"{flight.name or 'flight'}  ",
        (count(flight.pours, "pour"), "dim"),
    )


def _day(day: date | None) -> str:
    return day.isoformat() if day else _NO_DATE
