"""The wines considered for a pour: their row, the line that names them, and why one is struck."""

from __future__ import annotations

from typing import Protocol

from textual.app import ComposeResult
from textual.containers import Vertical

from drills.screens.tasting_sheet import PourSheet
from drills.screens.widgets.candidate_line import CandidateLine
from drills.screens.widgets.candidate_list import CandidateList
from drills.screens.widgets.form import Form
from drills.screens.widgets.labelled import Labelled
from drills.service.completing import WineBook

_LABEL, _WHY = "candidates", "why not?"
_NO_REASON = "no reason given"


class CandidateForm(Form, Protocol):
    """A page on which wines are considered."""

    def considered(self) -> None:
        """The candidates have changed."""

    def called(self, name: str) -> None:
        """A candidate was made the first call, the final one or the runner-up."""


class Candidates(Vertical):
    """Names, strikes, drops and calls. While it asks why, its line takes the reason instead."""

    def __init__(self, form: CandidateForm, wines: WineBook) -> None:
        super().__init__(classes="part")
        self.row = CandidateList(self.do, wines.name)
        self.line = CandidateLine(form, self, wines)
        self._form = form
        self._pour = PourSheet()
        self._striking: int | None = None
        self._rows = Labelled("", self.row)
        self._lines = Labelled(_LABEL, self.line)

    def compose(self) -> ComposeResult:
        """The row, then the line."""
        yield self._rows
        yield self._lines

    def show(self, pour: PourSheet) -> None:
        """Show the candidates of a page."""
        self._pour = pour
        self.ask_no_more()
        self._show_row()

    def _show_row(self) -> None:
        self.row.show(self._pour.candidates)
        self._rows.display = bool(self._pour.candidates)

    def named(self, text: str, wine: str | None) -> None:
        """One more is considered."""
        self._pour.consider(text, wine)
        self._show_row()
        self._form.considered()

    def do(self, what: str, place: int) -> None:
        """Do with a candidate what is wanted: strike, drop, or make it a call."""
        pour = self._pour
        if what == "drop":
            # A place that is asked about may be another's now.
            self.ask_no_more()
            pour.drop(place)
            self._show_row()
            if not pour.candidates:
                self.screen.set_focus(self.line)
        elif what != "strike":
            pour.call(what, place)
            self._form.called(what)
        elif pour.candidates[place].struck:
            self._strike(place, "")
        else:
            self._ask_why(place)
        self._form.considered()

    # ---- the reason

    @property
    def asking(self) -> bool:
        """Whether the line takes a reason now."""
        return self._striking is not None

    def give_reason(self, text: str) -> None:
        """Keep what is typed of the reason."""
        assert self._striking is not None
        self._strike(self._striking, text.strip() or _NO_REASON)

    def reasoned(self, *, given: bool) -> None:
        """The reason is given, or the candidate stands after all."""
        if self._striking is not None and not given:
            self._strike(self._striking, "")
        self.ask_no_more()
        self._form.considered()
        self.screen.set_focus(self.row)

    def ask_no_more(self) -> None:
        """Let the line name candidates again; what was said of the reason stands."""
        if self._striking is not None:
            self._striking = None
            self.line.reason = False
            self.line.hint = self.line.usual_hint
            self._lines.name_it(_LABEL)
            self.line.show(self._pour.text(self.line.field))

    def _ask_why(self, place: int) -> None:
        self._strike(place, _NO_REASON)
        self._striking = place
        self.line.reason = True
        self.line.show("")
        self._lines.name_it(_WHY)
        name = self._pour.candidates[place].text
        self.line.hint = f"why not {name}?  ENTER strikes off  ESC not"
        self.screen.set_focus(self.line)

    def _strike(self, place: int, reason: str) -> None:
        self._pour.strike(place, reason)
        self._show_row()
