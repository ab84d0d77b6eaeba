"""The tasting screen: one pour a page, everything by keyboard, the reveal behind the final call.

Built once: turning the page fills the same widgets anew. What a pour was is read from the sheet
only after its reveal was opened, so nothing here can hint at it before.
"""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.events import DescendantFocus, Resize
from textual.widget import Widget

from cards.lexicon import HUE
from drills.errors import DrillsError
from drills.screens.in_place import put
from drills.screens.tasting_flight import FlightScreen
from drills.screens.tasting_open import OpenFlight
from drills.screens.tasting_pages import NotePage, Page, RevealPage
from drills.screens.tasting_reader import Fault
from drills.screens.tasting_sheet import REVEAL_TEXTS
from drills.screens.widgets.choice_row import ChoiceRow
from drills.screens.widgets.completing_line import PlainLine, WordLine
from drills.screens.widgets.form import go_on
from drills.screens.widgets.key_line import KeyLine
from drills.screens.widgets.pour_strip import PourStrip
from drills.screens.widgets.scale_row import ScaleRow

_PARTS = ("hue", "nose", "intensity", "candidate", "first")
# From so many lines on, the parts of a page stand apart.
_ROOMY = 32
_NOTING = ("turn-on", "reveal", "keep", "part", "clock", "help", "leave")
_CLOSED = ("reveal", "unlock", "turn-on", "keep", "help", "leave")
_REVEALED = ("debrief", "turn-on", "keep", "help", "leave")


class TastingScreen(FlightScreen):
    """Takes a flight down, pour by pour."""

    ABOUT = (
        "One pour a page. Digits place a level and go on; ENTER takes what is offered or goes on; "
        "arrows and TAB move. Words have commas between them; “no petrol” or “-petrol” says that "
        "you looked and it is not there. Everything is on disk within a second: leave when you "
        "like. What the wine was is asked after the final call."
    )
    DEFAULT_CSS = """
    TastingScreen {
        #foot { dock: bottom; height: auto; }
        #foot KeyLine { dock: none; }
        #head { dock: top; height: 1; background: $panel; padding: 0 1; }
        #title { width: auto; max-width: 26; padding-right: 1; color: $primary; text-style: bold; }
        #clock { width: auto; color: $text-muted; }
        #reveal { display: none; }
        &.-revealing #reveal { display: block; }
        &.-revealing #note { display: none; }
        &.-roomy .part { margin-top: 1; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "pagedown,f8",
            "turn(1)",
            "next pour",
            id="turn-on",
            key_display="PgDn",
            tooltip="next pour; after the last one, a pour more",
        ),
        Binding("pageup,f7", "turn(-1)", "pour before", id="turn-back", key_display="PgUp"),
        Binding("down", "go(1)", "next line", id="line-next", show=False, tooltip="next line"),
        Binding("up", "go(-1)", "line before", id="line-before", show=False, tooltip="line before"),
        Binding("f2", "part", "next part", id="part", tooltip="nose, structure, candidates, calls"),
        Binding("f3", "clock", "clock", id="clock", tooltip="clock on or off"),
        Binding("f5", "reveal", "reveal", id="reveal", tooltip="what the wine was"),
        Binding("f5", "debrief", "debrief", id="debrief", tooltip="debrief this pour"),
        Binding("f6", "unlock", "correct", id="unlock", tooltip="correct a note after its reveal"),
        Binding("f9", "keep", "keep", id="keep", tooltip="the flight is over: keep it"),
        Binding("f10,ctrl+t", "short", "short form", id="short", tooltip="only called and was"),
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

    def __init__(self, flight: OpenFlight) -> None:
        super().__init__(flight)
        self._revealing = False
        self._unlocked = False
        self._strip = PourStrip()
        self._note = NotePage(self, flight)
        self._reveal = RevealPage(self, flight)
        self._key_line = KeyLine(*_NOTING)

    def compose(self) -> ComposeResult:
        """Everything there will ever be on a page."""
        with Horizontal(id="head"):
            yield self.title_words
            yield self._strip
            yield self.clock_words
        yield self._note
        yield self._reveal
        with Vertical(id="foot"):
            yield self.offer_line
            yield self._key_line

    def on_mount(self) -> None:
        """Open the page that lay open last."""
        self._revealing = self.sheet.pour.opened
        self.show_page()

    def on_resize(self, event: Resize) -> None:
        """Set the parts apart where there is room."""
        self.set_class(event.size.height >= _ROOMY, "-roomy")
        self.show_clock()

    # ---- showing a page

    @property
    def fields(self) -> dict[str, Widget]:
        """The lines and rows of both pages by name."""
        return self._note.fields | self._reveal.fields

    @property
    def _page(self) -> Page:
        return self._reveal if self._revealing else self._note

    @property
    def _note_closed(self) -> bool:
        """Whether the note is closed, since the wine is known."""
        return self.sheet.pour.opened and not self._unlocked

    def show_page(self, field: str = "") -> None:
        """Fill the widgets with the open page, and go to a field, by default the first."""
        pour = self.sheet.pour
        self._unlocked = False
        self._note.show(pour)
        self._show_head()
        self._turn_to(revealing=self._revealing and pour.opened, field=field)

    def _show_head(self) -> None:
        sheet = self.sheet
        title = sheet.title
        if sheet.pour.code is not None:
            title = f"{title[:14]} · glass {sheet.pour.code}"
        put(self.title_words, Content(title))
        self._strip.show([pour.state for pour in sheet.pours], sheet.at)
        self.show_clock()

    def _turn_to(self, *, revealing: bool, field: str = "") -> None:
        """Show the note or the reveal of the open page."""
        pour = self.sheet.pour
        assert pour.opened or not revealing
        self._revealing = revealing
        if revealing:
            self._reveal.open(pour, self.sheet.at + 1)
        else:
            self._reveal.shut()
        self.set_class(revealing, "-revealing")
        closed = self._note_closed and not revealing
        self._note.disabled = revealing or closed
        self._reveal.disabled = not revealing
        self.offer_line.hint("revealed: this note is closed" if closed else "")
        first = "was" if revealing else HUE
        self.set_focus(None if closed else self.fields[field or first])
        self._show_keys()

    def _show_keys(self) -> None:
        keys = _REVEALED if self._revealing else _CLOSED if self._note_closed else _NOTING
        self._key_line.show(keys)

    # ---- what the taster does

    def on_descendant_focus(self, event: DescendantFocus) -> None:
        """Say what belongs here."""
        if event.widget is self.focused:
            self.offer_line.hint(getattr(event.widget, "hint", ""))
            self._show_keys()

    def filled(self, line: PlainLine, text: str, wine: str | None) -> None:
        """Keep what was typed."""
        pour, candidates = self.sheet.pour, self._note.candidates
        if candidates.asking and line is candidates.line:
            candidates.give_reason(text)
        else:
            pour.write(line.field, text, wine)
            self._page.judge(line, pour)
        if isinstance(line, WordLine):
            self._note.hear(pour)
        self._changed()

    def left(self, line: PlainLine) -> None:
        """Go on to the next line; from the last one of the reveal to the debrief."""
        if line.field == "remark":
            self.action_debrief()
        else:
            go_on(line)

    def placed(self, row: ScaleRow, value: int | None) -> None:
        """Keep a level, or how sure a call is."""
        self.sheet.pour.place(row.name or "", value)
        self._changed()

    def chosen(self, row: ChoiceRow, value: str) -> None:
        """Keep a choice."""
        self.sheet.pour.choose(row.name or "", value)
        self._changed()

    def considered(self) -> None:
        """Keep the candidates."""
        self._changed()

    def called(self, name: str) -> None:
        """Show a call that a candidate was made."""
        line = self.fields[name]
        assert isinstance(line, PlainLine)
        self._note.show_line(line, self.sheet.pour)

    def on_pour_strip_opened(self, message: PourStrip.Opened) -> None:
        """A click on a pour."""
        self._open(message.place)

    def _changed(self) -> None:
        self.touch()
        self._show_head()

    def action_part(self) -> None:
        """Go to the next part of the page."""
        if self._revealing or self._note.disabled:
            return
        chain = self.focus_chain
        at = chain.index(self.focused) if self.focused in chain else -1
        parts = [self.fields[name] for name in _PARTS]
        self.set_focus(next((part for part in parts if chain.index(part) > at), parts[0]))

    # ---- pages

    def action_turn(self, by: int) -> None:
        """Turn the page."""
        sheet = self.sheet
        place = sheet.at + by
        if place < 0:
            return
        if place == len(sheet.pours):
            if not sheet.pour.begun or not sheet.add_pour():
                self.notify("This is the last pour.", markup=False)
                return
            self.notify(f"Pour {place + 1} is new.", timeout=3, markup=False)
        self._open(place)

    def _open(self, place: int) -> None:
        self.sheet.at = place
        self.show_page()
        self._note.scroll_home(animate=False)
        self.touch()

    def counts(self) -> bool:
        """Time runs while a note is open, and stands still once the wine is known."""
        return super().counts() and not self.sheet.pour.opened

    def action_reveal(self) -> None:
        """From the note to the reveal."""
        pour = self.sheet.pour
        if not pour.opened:
            if not pour.called and not self.twice.again(("reveal", self.sheet.at)):
                key = self.key_of("reveal")
                self.notify(f"No final call yet. {key} again reveals without one.", markup=False)
                return
            self._note.candidates.ask_no_more()
            try:
                self.flight.reveal(pour)
            except DrillsError as error:
                self.notify(str(error), severity="error", markup=False)
                return
            self.touch()
            self._show_head()
        self._turn_to(revealing=True)

    def action_debrief(self) -> None:
        """From the reveal to the debrief."""
        from drills.screens.debrief import DebriefScreen
        from drills.service.tasting import debrief_pours

        pour = self.flight.reader.pour(self.sheet.pour, self.sheet.at + 1)
        if not pour.reveal.text:
            self.notify("Say first what the wine was.", markup=False)
            self.set_focus(self.fields["was"])
            return
        self.flush()
        try:
            shown = debrief_pours(self.desk, [pour])
        except DrillsError as error:
            self.notify(str(error), severity="error", markup=False)
            return
        screen = DebriefScreen(shown, flight=self.sheet.name.strip(), live=True)
        self.app.push_screen(screen, self._debriefed)

    def _debriefed(self, result: str | None) -> None:
        """Back from the debrief, perhaps to the next pour."""
        if result == "next":
            if self.sheet.at + 1 < len(self.sheet.pours):
                self._open(self.sheet.at + 1)
            else:
                key = self.key_of("keep")
                self.notify(f"That was the last pour: {key} keeps the flight.", markup=False)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A note is debriefed from its reveal, and corrected only once it is closed."""
        if action in ("reveal", "debrief"):
            return self._revealing == (action == "debrief")
        if action == "unlock":
            return self._note_closed and not self._revealing
        return super().check_action(action, parameters)

    def action_unlock(self) -> None:
        """Let slips of the pen be corrected after the reveal."""
        self._unlocked = True
        self._turn_to(revealing=False)

    def action_leave(self) -> None:
        """From the reveal back to the note; from there leave."""
        if self._revealing:
            self._turn_to(revealing=False)
        else:
            super().action_leave()

    def action_short(self) -> None:
        """Go on in the short form."""
        from drills.screens.tasting_quick import QuickScreen

        self.sheet.quick = True
        self.touch()
        self.app.switch_screen(QuickScreen(self.flight))

    def show_fault(self, fault: Fault) -> None:
        """Lead to the line that cannot be read."""
        self.sheet.at = fault.at
        revealing = fault.name in REVEAL_TEXTS
        self._revealing = revealing
        self.show_page(fault.name if revealing or not self.sheet.pour.opened else "")
        if not revealing and self.sheet.pour.opened:
            self._unlocked = True
            self._turn_to(revealing=False, field=fault.name)
