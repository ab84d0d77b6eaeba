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
from textual.widgets import Static

from cards.lexicon import HUE
from drills.errors import DrillsError
from drills.screens.in_place import put
from drills.screens.tasting_flight import FlightScreen, OpenFlight
from drills.screens.tasting_pages import NotePage, RevealPage
from drills.screens.tasting_sheet import (
    MOST_POURS,
    REVEAL_TEXTS,
    WINES,
    Fault,
    PourSheet,
    fault_in,
)
from drills.screens.widgets.candidate_line import CandidateLine
from drills.screens.widgets.candidate_list import CandidateList
from drills.screens.widgets.choice_row import ChoiceRow, HueRow
from drills.screens.widgets.completing_line import PlainLine, WordLine
from drills.screens.widgets.form import go_on
from drills.screens.widgets.key_line import KeyLine
from drills.screens.widgets.labelled import Labelled
from drills.screens.widgets.pour_strip import PourStrip
from drills.screens.widgets.scale_row import SURENESS_LABELS, ScaleRow
from drills.tastings.notes import Candidate

_PARTS = ("hue", "nose", "intensity", "candidate", "first")
# From so many lines on, the parts of a page stand apart.
_ROOMY = 32
_NO_REASON = "no reason given"
_NOTING = ("turn-on", "reveal", "keep", "part", "clock", "help", "leave")
_LOCKED = ("reveal", "unlock", "turn-on", "keep", "help", "leave")
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
        Page { height: 1fr; padding: 0 1; scrollbar-size-vertical: 0; }
        .part { height: auto; }
        .row { height: 1; }
        .column { height: auto; width: 1fr; }
        #depth { width: 30; }
        #heard { height: auto; max-height: 3; color: $text-muted; padding-left: 13; }
        .strength { width: 6; }
        .vintage { width: 9; margin-left: 1; }
        .sure { width: 14; margin-left: 1; }
        .world { width: 24; }
        #reveal { display: none; }
        #called { height: auto; margin-bottom: 1; }
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
        self._striking: int | None = None
        self._fields: dict[str, Widget] = {}
        self._strip = PourStrip()
        self._heard = Static("", id="heard", markup=False)
        self._note = NotePage(self, flight.words, flight.wines, self._heard)
        self._reveal = RevealPage(self, flight.wines)
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
        kinds = (PlainLine, ScaleRow, ChoiceRow, CandidateList)
        for widget in self.query("*").results(Widget):
            if isinstance(widget, kinds) and widget.name:
                self._fields[widget.name] = widget
        for name in ("alcohol", "label"):
            self._line(name).add_class("strength")
        for name in ("first", "final", "was"):
            self._line(f"{name}-vintage").add_class("vintage")
        for name in ("first-sure", "final-sure"):
            self._fields[name].add_class("sure")
        self._fields["world"].add_class("world")
        self._revealing = self.sheet.pour.opened
        self.show_page()

    def on_resize(self, event: Resize) -> None:
        """Set the parts apart where there is room."""
        self.set_class(event.size.height >= _ROOMY, "-roomy")
        self.show_clock()

    # ---- showing a page

    def _line(self, name: str) -> PlainLine:
        widget = self._fields[name]
        assert isinstance(widget, PlainLine)
        return widget

    def _scale(self, name: str) -> ScaleRow:
        widget = self._fields[name]
        assert isinstance(widget, ScaleRow)
        return widget

    def show_page(self, field: str = "") -> None:
        """Fill the widgets with the open page, and go to a field, by default the first."""
        pour = self.sheet.pour
        self._unlocked, self._striking = False, None
        for name, widget in self._fields.items():
            if isinstance(widget, PlainLine):
                if name not in REVEAL_TEXTS:
                    self._show_line(widget, pour)
            elif isinstance(widget, ScaleRow):
                call = name.removesuffix("-sure")
                if call != name:
                    sure = pour.sureness.get(call)
                    widget.value = None if sure is None else sure - 1
                else:
                    widget.value = pour.levels.get(name)
            elif isinstance(widget, HueRow):
                widget.show(pour.choices.get(HUE, ""))
            elif isinstance(widget, ChoiceRow):
                widget.value = pour.choices.get(name, "")
        self._show_candidates()
        self._show_heard()
        self._show_head()
        self._show_reveal(revealing=self._revealing and pour.opened, field=field)

    def _show_line(self, line: PlainLine, pour: PourSheet) -> None:
        text = pour.text(line.field)
        line.show(text)
        self._judge(line, text)

    def _judge(self, line: PlainLine, text: str) -> None:
        """Say beside a line what became of it."""
        line.set_class(bool(fault_in(line.field, text, self.flight.this_year)), "-odd")
        if line.field not in WINES:
            return
        parent = line.parent
        assert isinstance(parent, Labelled)
        if not text.strip():
            parent.mark("")
        elif self.sheet.pour.picked.get(line.field) or self.flight.wines.wine(text):
            parent.mark("✓", "$success")
        else:
            parent.mark("?", "bold $warning")

    def _show_candidates(self) -> None:
        widget = self._fields["candidates"]
        assert isinstance(widget, CandidateList)
        widget.show(self.sheet.pour.candidates)
        assert isinstance(widget.parent, Labelled)
        widget.parent.display = bool(self.sheet.pour.candidates)

    def _show_heard(self) -> None:
        """Show what the lexicon made of the words."""
        pour = self.sheet.pour
        heard = self.flight.words.hear(pour.text("nose"), pour.text("palate"))
        name = self.desk.table.lexicon.name_of
        parts: list[tuple[str, str]] = []
        for key, there in heard.noted.items():
            parts += [
                (name(key) if there else f"no {name(key)}", "" if there else "strike"),
                (" · ", "dim"),
            ]
        for word in heard.free:
            parts += [(f"“{word}”", "italic"), (" · ", "dim")]
        put(self._heard, Content.assemble(*parts[:-1]))

    def _show_head(self) -> None:
        sheet = self.sheet
        title = sheet.name.strip() or "flight"
        if sheet.pour.code is not None:
            title = f"{title[:14]} · glass {sheet.pour.code}"
        put(self.title_words, Content(title))
        states = [
            "revealed"
            if pour.opened
            else "called"
            if pour.called
            else "begun"
            if pour.begun
            else ""
            for pour in sheet.pours
        ]
        self._strip.show(states, sheet.at)
        self.show_clock()

    def _show_reveal(self, *, revealing: bool, field: str = "") -> None:
        """Show the note or the reveal of the open page."""
        pour = self.sheet.pour
        assert pour.opened or not revealing
        self._revealing = revealing
        for name in REVEAL_TEXTS:
            line = self._line(name)
            # Before the reveal these lines hold nothing, not even out of sight.
            if revealing:
                self._show_line(line, pour)
            else:
                line.show("")
        if revealing:
            self.query_one("#called", Static).update(self._called())
        self.set_class(revealing, "-revealing")
        locked = pour.opened and not self._unlocked
        self._note.disabled = revealing or locked
        self._reveal.disabled = not revealing
        self.offer_line.hint("revealed: this note is closed" if locked and not revealing else "")
        if revealing:
            self.set_focus(self._fields[field or "was"])
        elif not locked:
            self.set_focus(self._fields[field or HUE])
        else:
            self.set_focus(None)
        self._show_keys()

    def _show_keys(self) -> None:
        locked = self.sheet.pour.opened and not self._unlocked
        keys = _REVEALED if self._revealing else _LOCKED if locked else _NOTING
        self._key_line.show(keys)

    def _called(self) -> Content:
        """What was called, above what it was."""
        pour, reader = self.sheet.pour, self.flight.reader
        parts: list[tuple[str, str]] = [(f"pour {self.sheet.at + 1}   ", "bold")]
        for label, name in (
            ("you called", "final"),
            ("first", "first"),
            ("runner-up", "runner-up"),
        ):
            said = reader.named(pour, name)
            if not said.text:
                continue
            words = self.desk.short(said.wine) if said.wine else said.text
            sure = pour.sureness.get(name)
            after = f" ({SURENESS_LABELS[sure - 1]})" if sure else ""
            parts += [(f"{label} ", "dim"), (words, "bold"), (f"{after}   ", "")]
        if len(parts) == 1:
            parts.append(("no call was made", "dim"))
        return Content.assemble(*parts)

    # ---- what the taster does

    def on_descendant_focus(self, event: DescendantFocus) -> None:
        """Say what belongs here."""
        if event.widget is self.focused:
            self.offer_line.hint(getattr(event.widget, "hint", ""))
            self._show_keys()

    def filled(self, line: PlainLine, text: str, wine: str | None) -> None:
        """Keep what was typed."""
        pour, name = self.sheet.pour, line.field
        if self._striking is not None and isinstance(line, CandidateLine):
            self._strike(self._striking, text.strip() or _NO_REASON)
        elif wine:
            pour.pick(name, text, wine)
        else:
            pour.type(name, text)
        self._judge(line, text)
        if isinstance(line, WordLine):
            self._show_heard()
        self._changed()

    def left(self, line: PlainLine) -> None:
        """Go on to the next line; from the last one of the reveal to the debrief."""
        if line.field == "remark":
            self.action_debrief()
        else:
            go_on(line)

    def placed(self, row: ScaleRow, value: int | None) -> None:
        """Keep a level, or how sure a call is."""
        name = row.name or ""
        call = name.removesuffix("-sure")
        if call != name:
            self.sheet.pour.be_sure(call, None if value is None else value + 1)
        else:
            self.sheet.pour.place(name, value)
        self._changed()

    def chosen(self, row: ChoiceRow, value: str) -> None:
        """Keep a choice."""
        self.sheet.pour.choose(row.name or "", value)
        self._changed()

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
        for name in _PARTS:
            if chain.index(self._fields[name]) > at:
                self.set_focus(self._fields[name])
                return
        self._fields[_PARTS[0]].focus()

    # ---- candidates

    def named(self, text: str, wine: str | None) -> None:
        """Put a candidate into the row."""
        pour = self.sheet.pour
        pour.type("candidate", "")
        pour.candidates.append(Candidate(text, wine))
        self._show_candidates()
        self._changed()

    def reasoned(self, *, given: bool) -> None:
        """The reason is given, or the candidate stands after all."""
        if self._striking is not None and not given:
            self._strike(self._striking, "")
        self._end_striking()
        self._changed()
        self.set_focus(self._fields["candidates"])

    def wanted(self, what: str, place: int) -> None:
        """Do with a candidate what is wanted: strike, drop, or make it a call."""
        pour = self.sheet.pour
        one = pour.candidates[place]
        if what == "drop":
            del pour.candidates[place]
            self._show_candidates()
            if not pour.candidates:
                self.set_focus(self._fields["candidate"])
        elif what == "strike":
            if one.struck:
                self._strike(place, "")
            else:
                self._ask_reason(place)
        else:
            if one.wine:
                pour.pick(what, one.text, one.wine)
            else:
                pour.type(what, one.text)
            self._show_line(self._line(what), pour)
        self._changed()

    def _strike(self, place: int, reason: str) -> None:
        candidates = self.sheet.pour.candidates
        one = candidates[place]
        candidates[place] = Candidate(one.text, one.wine, reason)
        self._show_candidates()

    def _ask_reason(self, place: int) -> None:
        line = self._line("candidate")
        assert isinstance(line, CandidateLine)
        assert isinstance(line.parent, Labelled)
        self._strike(place, _NO_REASON)
        self._striking = place
        line.reason = True
        line.show("")
        line.parent.name_it("why not?")
        line.hint = f"why not {self.sheet.pour.candidates[place].text}?  ENTER strikes off  ESC not"
        self.set_focus(line)

    def _end_striking(self) -> None:
        line = self._line("candidate")
        assert isinstance(line, CandidateLine)
        assert isinstance(line.parent, Labelled)
        self._striking = None
        line.reason = False
        line.hint = line.usual_hint
        line.parent.name_it("candidates")
        line.show(self.sheet.pour.text("candidate"))

    # ---- pages

    def action_turn(self, by: int) -> None:
        """Turn the page."""
        sheet = self.sheet
        place = sheet.at + by
        if place < 0:
            return
        if place == len(sheet.pours):
            if not sheet.pour.begun or place >= MOST_POURS:
                self.notify("This is the last pour.", markup=False)
                return
            sheet.pours.append(PourSheet())
            self.notify(f"Pour {place + 1} is new.", timeout=3, markup=False)
        self._open(place)

    def _open(self, place: int) -> None:
        if self._striking is not None:
            self._end_striking()
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
            question = ("reveal", self.sheet.at)
            if not pour.called and self._warned != question:
                self._warned = question
                key = self.key_of("reveal")
                self.notify(f"No final call yet. {key} again reveals without one.", markup=False)
                return
            if self._striking is not None:
                self._end_striking()
            if not self._open_glass(pour):
                return
            pour.opened, pour.skipped = True, not pour.called
            self.touch()
            self._show_head()
        self._show_reveal(revealing=True)

    def _open_glass(self, pour: PourSheet) -> bool:
        """Write down what the glass of a planned flight held; False where nobody can say."""
        if self.sheet.planned is None or pour.code is None:
            return True
        from drills.service.glasses import named, open_glass

        try:
            held = open_glass(self.desk, self.sheet.planned, pour.code)
        except DrillsError as error:
            self.notify(str(error), severity="error", markup=False)
            return False
        was = named(self.desk, held)
        if was.wine:
            pour.pick("was", was.text, was.wine)
        else:
            pour.type("was", was.text)
        pour.type("was-vintage", str(held.vintage or ""))
        pour.type("price", "" if held.price is None else f"{held.price:g}")
        return True

    def action_debrief(self) -> None:
        """From the reveal to the debrief."""
        from drills.screens.debrief import DebriefScreen
        from drills.service.tasting import debrief_pours

        pour = self.flight.reader.pour(self.sheet.pour, self.sheet.at + 1)
        if not pour.reveal.text:
            self.notify("Say first what the wine was.", markup=False)
            self.set_focus(self._fields["was"])
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
            return self.sheet.pour.opened and not self._unlocked and not self._revealing
        return super().check_action(action, parameters)

    def action_unlock(self) -> None:
        """Let slips of the pen be corrected after the reveal."""
        self._unlocked = True
        self._show_reveal(revealing=False)

    def action_leave(self) -> None:
        """From the reveal back to the note; from there leave."""
        if self._revealing:
            self._show_reveal(revealing=False)
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
            self._show_reveal(revealing=False, field=fault.name)
