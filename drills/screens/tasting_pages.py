"""The two pages of a pour: what is noted of it, and its reveal."""

from __future__ import annotations

from typing import TypeVar

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from cards.lexicon import DEPTH
from drills.screens.in_place import put
from drills.screens.tasting_candidates import CandidateForm, Candidates
from drills.screens.tasting_lines import fault_in
from drills.screens.tasting_open import OpenFlight
from drills.screens.tasting_sheet import WINES, PourSheet
from drills.screens.tasting_words import called_words, heard_words, sign_of
from drills.screens.widgets.choice_row import AgeRow, ChoiceRow, ClimateRow, HueRow, WorldRow
from drills.screens.widgets.completing_line import PlainLine, WineLine, WordLine
from drills.screens.widgets.form import Form
from drills.screens.widgets.labelled import Labelled
from drills.screens.widgets.scale_row import SURENESS_LABELS, ScaleRow

_Field = TypeVar("_Field", bound=Widget)

# In the order in which a glass answers, nose first, in two columns.
_LEFT = ("intensity", "sweetness", "acid", "tannin", "body")
_RIGHT = ("bitterness", "oak", "mineral", "finish")


class Page(VerticalScroll, inherit_bindings=False, can_focus=False):
    """Lines and rows by name; the keys of a page are those of the screen."""

    DEFAULT_CSS = """
    Page {
        height: 1fr; padding: 0 1; scrollbar-size-vertical: 0;
        .part { height: auto; }
        .row { height: 1; }
        .column { height: auto; width: 1fr; }
        .strength { width: 6; }
        .vintage { width: 9; margin-left: 1; }
    }
    """

    def __init__(self, form: Form, flight: OpenFlight, *, id: str) -> None:
        super().__init__(id=id)
        self.fields: dict[str, Widget] = {}
        self._form = form
        self._flight = flight

    def _keep(self, field: _Field, *classes: str) -> _Field:
        # Kept at hand: looking them up costs more than painting them.
        self.fields[field.name or ""] = field
        field.add_class(*classes)
        return field

    def show(self, pour: PourSheet) -> None:
        """Fill every line and row with what stands on a page of the sheet."""
        for name, field in self.fields.items():
            if isinstance(field, PlainLine):
                self.show_line(field, pour)
            elif isinstance(field, ScaleRow):
                field.value = pour.step(name)
            elif isinstance(field, HueRow):
                field.show(pour.choices.get(name, ""))
            elif isinstance(field, ChoiceRow):
                field.value = pour.choices.get(name, "")

    def show_line(self, line: PlainLine, pour: PourSheet) -> None:
        """Fill one line."""
        line.show(pour.text(line.field))
        self.judge(line, pour)

    def judge(self, line: PlainLine, pour: PourSheet) -> None:
        """Say beside a line what became of it."""
        fault = fault_in(line.field, pour.text(line.field), self._flight.this_year)
        line.set_class(bool(fault), "-odd")
        if line.field in WINES:
            assert isinstance(line.parent, Labelled)
            line.parent.mark(*sign_of(self._flight.reader.named(pour, line.field)))


class NotePage(Page):
    """What is seen, smelt and tasted, the candidates and the calls."""

    DEFAULT_CSS = """
    NotePage {
        #depth { width: 30; }
        #heard { height: auto; max-height: 3; color: $text-muted; padding-left: 13; }
        .sure { width: 14; margin-left: 1; }
        .world { width: 24; }
    }
    """

    def __init__(self, form: CandidateForm, flight: OpenFlight) -> None:
        super().__init__(form, flight, id="note")
        self.candidates = Candidates(form, flight.wines)
        self._heard = Static("", id="heard", markup=False)

    def show(self, pour: PourSheet) -> None:
        """Fill the page; the candidates and what was heard follow."""
        super().show(pour)
        self.candidates.show(pour)
        self.hear(pour)

    def hear(self, pour: PourSheet) -> None:
        """Show what the lexicon makes of the words."""
        heard = self._flight.words.hear(pour.text("nose"), pour.text("palate"))
        put(self._heard, heard_words(heard, self._flight.desk.table.lexicon.name_of))

    def compose(self) -> ComposeResult:
        """The parts of a note, in the order in which a glass is judged."""
        form, words, wines, keep = self._form, self._flight.words, self._flight.wines, self._keep
        with Vertical(classes="part"):
            yield keep(HueRow(form))
            with Horizontal(classes="row"):
                depth = keep(ScaleRow(form, DEPTH, "depth"))
                depth.id = "depth"
                yield depth
                look = PlainLine(form, "appearance", "what else you see")
                yield Labelled("look", keep(look), width=5)
            nose = "what you smell, commas between; “no petrol” or “-petrol” if not there"
            palate = "what you taste, commas between"
            for name, hint in (("nose", nose), ("palate", palate)):
                yield Labelled(name, keep(WordLine(form, name, hint, words)))
            yield self._heard
        with Horizontal(classes="part"):
            with Vertical(classes="column"):
                for name in _LEFT:
                    yield keep(ScaleRow(form, name, name))
            with Vertical(classes="column"):
                alcohol = PlainLine(form, "alcohol", "your guess in % vol, as 13.5")
                yield Labelled("alcohol", keep(alcohol, "strength"), tail="% vol")
                for name in _RIGHT:
                    yield keep(ScaleRow(form, name, name))
        with Vertical(classes="part"):
            with Horizontal(classes="row"):
                yield keep(WorldRow(form, "world", "world"), "world")
                yield keep(ClimateRow(form, "climate", "climate", label_width=8))
            yield keep(AgeRow(form, "age", "age"))
        keep(self.candidates.row)
        keep(self.candidates.line)
        yield self.candidates
        with Vertical(classes="part"):
            for name, label in (("first", "first call"), ("final", "final call")):
                hint = f"{label}: grape and place, and the vintage if you like"
                year = PlainLine(form, f"{name}-vintage", "vintage, or NV", placeholder="vintage")
                sure = ScaleRow(form, f"{name}-sure", "", SURENESS_LABELS, label_width=0)
                yield Labelled(
                    label,
                    keep(WineLine(form, name, hint, wines)),
                    keep(year, "vintage"),
                    keep(sure, "sure"),
                )
            runner_up = WineLine(form, "runner-up", "what it would be if not that", wines)
            yield Labelled("runner-up", keep(runner_up))


class RevealPage(Page):
    """What the wine was, and what stands on its label."""

    DEFAULT_CSS = """
    RevealPage {
        #called { height: auto; margin-bottom: 1; }
    }
    """

    def __init__(self, form: Form, flight: OpenFlight) -> None:
        super().__init__(form, flight, id="reveal")
        self._called = Static("", id="called", markup=False)

    def compose(self) -> ComposeResult:
        """What was called, then the lines of the reveal."""
        form, keep = self._form, self._keep
        was = WineLine(form, "was", "what the wine was", self._flight.wines)
        year = PlainLine(form, "was-vintage", "its vintage, or NV", placeholder="vintage")
        label = PlainLine(form, "label", "alcohol on the label, % vol", placeholder="13.5")
        price = PlainLine(form, "price", "price, as you like to write it")
        remark = PlainLine(form, "remark", "anything else; ENTER then debriefs")
        yield self._called
        yield Labelled("was", keep(was), keep(year, "vintage"))
        yield Labelled("label", keep(label, "strength"), tail="% vol")
        yield Labelled("price", keep(price))
        yield Labelled("remark", keep(remark))

    def open(self, pour: PourSheet, position: int) -> None:
        """Fill the page below what was called, once the reveal of the pour is opened."""
        self.show(pour)
        full = self._flight.reader.pour(pour, position)
        self._called.update(called_words(full, self._flight.desk.short))

    def shut(self) -> None:
        """Hold nothing, not even out of sight: so it is before the reveal."""
        for field in self.fields.values():
            assert isinstance(field, PlainLine)
            field.show("")
