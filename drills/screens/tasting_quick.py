"""The short form of a flight, for people in a hurry: what was called and what it was."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.events import DescendantFocus
from textual.widgets import Static

from drills.screens.in_place import put
from drills.screens.tasting_flight import FlightScreen
from drills.screens.tasting_reader import Fault
from drills.screens.tasting_sheet import PourSheet
from drills.screens.tasting_words import sign_of
from drills.screens.widgets.choice_row import ChoiceRow
from drills.screens.widgets.completing_line import PlainLine, WineLine
from drills.screens.widgets.form import go_on
from drills.screens.widgets.key_line import KeyLine
from drills.screens.widgets.scale_row import ScaleRow

_KEYS = ("keep", "more", "full", "help", "leave")


class QuickRow(Horizontal):
    """One pour: its number, or the code of its glass, what was called, what it was."""

    DEFAULT_CSS = """
    QuickRow {
        height: 1;
        & > .number { width: 5; color: $text-muted; text-align: right; padding-right: 1; }
        & > .sign { width: 2; text-align: center; }
        &:focus-within > .number { color: $text; text-style: bold; }
    }
    """

    def __init__(self, form: QuickScreen, place: int) -> None:
        super().__init__()
        self._form = form
        self._flight = form.flight
        self.place = place
        self._signs = {name: Static("", classes="sign", markup=False) for name in ("final", "was")}

    def compose(self) -> ComposeResult:
        """Number, two lines, and a sign behind each."""
        code = self.sheet.code
        yield Static(f"{code or self.place + 1}", classes="number", markup=False)
        was = "what it was" if code is None else "sealed: leave it empty, and the key says it"
        for name, hint in (("final", "what you called it"), ("was", was)):
            line = WineLine(self._form, name, hint, self._flight.wines)
            line.show(self.sheet.text(name))
            yield line
            yield self._signs[name]

    def on_mount(self) -> None:
        """Show what became of what is there."""
        for name in self._signs:
            self.judge(name)

    @property
    def sheet(self) -> PourSheet:
        """The page of this pour."""
        return self._flight.sheet.pours[self.place]

    def judge(self, name: str) -> None:
        """Say behind a line whether it is a wine of the table."""
        sign = sign_of(self._flight.reader.named(self.sheet, name))
        self._signs[name].update(Content.assemble(sign), layout=False)


class QuickScreen(FlightScreen):
    """All pours of a flight on one page, two names a pour."""

    ABOUT = (
        "One line a pour: what you called it, and what it was. ENTER takes what is offered or goes "
        "on. A name that the table does not know is kept as typed."
    )
    DEFAULT_CSS = """
    QuickScreen {
        #foot { dock: bottom; height: auto; }
        #foot KeyLine { dock: none; }
        #head { dock: top; height: 1; background: $panel; padding: 0 1; }
        #title { width: 1fr; color: $primary; text-style: bold; }
        #clock { width: auto; color: $text-muted; }
        #heads { height: 1; color: $text-muted; padding: 0 1; }
        #rows { height: 1fr; padding: 0 1; overflow-y: auto; scrollbar-size-vertical: 1; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "go(2)", "pour below", id="row-next", show=False, tooltip="pour below"),
        Binding("up", "go(-2)", "pour above", id="row-before", show=False, tooltip="pour above"),
        Binding("f8", "more", "one pour more", id="more", tooltip="one pour more"),
        Binding("f9", "keep", "keep", id="keep", tooltip="the flight is over: keep it"),
        Binding(
            "f10,ctrl+t", "full", "full form", id="full", tooltip="one pour a page, with notes"
        ),
        Binding(
            "f12", "cautions", "cautions", id="cautions", tooltip="cautions for people who taste"
        ),
        Binding(
            "escape",
            "leave",
            "leave",
            id="leave",
            key_display="esc",
            tooltip="leave; what is entered stays",
        ),
    ]

    def compose(self) -> ComposeResult:
        """A row for each pour."""
        with Horizontal(id="head"):
            yield self.title_words
            yield self.clock_words
        yield Static("", id="heads", markup=False)
        # Not a container that scrolls by keys: up and down go from pour to pour.
        with Vertical(id="rows"):
            for place in range(len(self.sheet.pours)):
                yield QuickRow(self, place)
        with Vertical(id="foot"):
            yield self.offer_line
            yield KeyLine(*_KEYS)

    def on_mount(self) -> None:
        """Go to the first line that is empty."""
        lines = list(self.query(WineLine))
        empty = next((line for line in lines if not line.value), lines[0])
        self.set_focus(empty)

    def on_resize(self) -> None:
        """Put the heads above their lines."""
        self._show_head()

    def _show_head(self) -> None:
        put(self.title_words, Content(f"{self.sheet.title}: short form"))
        half = max((self.size.width - 2 - 5 - 4) // 2, 8)
        self.query_one("#heads", Static).update(Content(f"{'':5}{'called':<{half + 2}}{'was'}"))

    def counts(self) -> bool:
        """No time runs: the short form is for afterwards."""
        return False

    def on_descendant_focus(self, event: DescendantFocus) -> None:
        """Say what belongs here."""
        self.offer_line.hint(getattr(event.widget, "hint", ""))
        self.query_one(KeyLine).redraw()

    def filled(self, line: PlainLine, text: str, wine: str | None) -> None:
        """Keep what was typed. Who writes down what it was has opened it."""
        row, name = line.parent, line.field
        assert isinstance(row, QuickRow)
        row.sheet.write(name, text, wine)
        if name == "was":
            row.sheet.opened = bool(text.strip())
        self.sheet.at = row.place
        row.judge(name)
        self.touch()

    def left(self, line: PlainLine) -> None:
        """Go on to the next line; after the last, there is a pour more."""
        if line is self.focus_chain[-1]:
            self.call_next(self.action_more)
        else:
            go_on(line)

    def placed(self, row: ScaleRow, value: int | None) -> None:
        """The short form has no scales."""

    def chosen(self, row: ChoiceRow, value: str) -> None:
        """The short form has no choices."""

    async def action_more(self) -> None:
        """Add a pour."""
        if not self.sheet.add_pour():
            self.notify("This is the last pour.", markup=False)
            return
        row = QuickRow(self, len(self.sheet.pours) - 1)
        await self.query_one("#rows").mount(row)
        row.query(WineLine).first().focus()
        self.touch()

    def show_fault(self, fault: Fault) -> None:
        """Lines that the short form lacks are put right in the full one."""
        self.sheet.at = fault.at
        self.action_full()

    def action_full(self) -> None:
        """Go on in the full form."""
        from drills.screens.tasting import TastingScreen

        self.sheet.quick = False
        self.touch()
        self.app.switch_screen(TastingScreen(self.flight))
