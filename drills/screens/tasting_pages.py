"""The two pages of a pour: what is noted of it, and its reveal."""

from __future__ import annotations

from typing import Protocol

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Static

from cards.lexicon import DEPTH
from drills.screens.widgets.candidate_line import CandidateForm, CandidateLine
from drills.screens.widgets.candidate_list import CandidateList
from drills.screens.widgets.choice_row import AgeRow, ClimateRow, HueRow, WorldRow
from drills.screens.widgets.completing_line import PlainLine, WineLine, WordLine
from drills.screens.widgets.form import Form
from drills.screens.widgets.labelled import Labelled
from drills.screens.widgets.scale_row import SURENESS_LABELS, ScaleRow
from drills.service.completing import WineBook, WordBook

# In the order in which a glass answers, nose first, in two columns.
_LEFT = ("intensity", "sweetness", "acid", "tannin", "body")
_RIGHT = ("bitterness", "oak", "mineral", "finish")


class Page(VerticalScroll, inherit_bindings=False, can_focus=False):
    """A page; its keys are those of the screen."""


class NoteForm(CandidateForm, Protocol):
    """The screen of the pages."""

    def wanted(self, what: str, place: int) -> None:
        """Strike, drop or call a candidate."""


class NotePage(Page):
    """What is seen, smelt and tasted, the candidates and the calls."""

    def __init__(self, form: NoteForm, words: WordBook, wines: WineBook, heard: Static) -> None:
        super().__init__(id="note")
        self._form, self._words, self._wines, self._heard = form, words, wines, heard

    def compose(self) -> ComposeResult:
        """The parts of a note, in the order in which a glass is judged."""
        form, words, wines = self._form, self._words, self._wines
        with Vertical(classes="part"):
            yield HueRow(form)
            with Horizontal(classes="row"):
                depth = ScaleRow(form, DEPTH, "depth")
                depth.id = "depth"
                yield depth
                yield Labelled("look", PlainLine(form, "appearance", "what else you see"), width=5)
            yield Labelled(
                "nose",
                WordLine(
                    form,
                    "nose",
                    "what you smell, commas between; “no petrol” or “-petrol” if not there",
                    words,
                ),
            )
            yield Labelled(
                "palate",
                WordLine(form, "palate", "what you taste, commas between", words),
            )
            yield self._heard
        with Horizontal(classes="part"):
            with Vertical(classes="column"):
                for name in _LEFT:
                    yield ScaleRow(form, name, name)
            with Vertical(classes="column"):
                yield Labelled(
                    "alcohol",
                    PlainLine(form, "alcohol", "your guess in % vol, as 13.5"),
                    tail="% vol",
                )
                for name in _RIGHT:
                    yield ScaleRow(form, name, name)
        with Vertical(classes="part"):
            with Horizontal(classes="row"):
                yield WorldRow(form, "world", "world")
                yield ClimateRow(form, "climate", "climate", label_width=8)
            yield AgeRow(form, "age", "age")
        with Vertical(classes="part"):
            yield Labelled("", CandidateList(form.wanted, wines.name))
            yield Labelled("candidates", CandidateLine(form, wines))
        with Vertical(classes="part"):
            for name, label in (("first", "first call"), ("final", "final call")):
                yield Labelled(
                    label,
                    WineLine(
                        form,
                        name,
                        f"{label}: grape and place, and the vintage if you like",
                        wines,
                    ),
                    PlainLine(form, f"{name}-vintage", "vintage, or NV", placeholder="vintage"),
                    ScaleRow(form, f"{name}-sure", "", SURENESS_LABELS, label_width=0),
                )
            yield Labelled(
                "runner-up", WineLine(form, "runner-up", "what it would be if not that", wines)
            )


class RevealPage(Page):
    """What the wine was, and what stands on its label."""

    def __init__(self, form: Form, wines: WineBook) -> None:
        super().__init__(id="reveal")
        self._form, self._wines = form, wines

    def compose(self) -> ComposeResult:
        """What was called, then the lines of the reveal."""
        form, wines = self._form, self._wines
        yield Static("", id="called", markup=False)
        yield Labelled(
            "was",
            WineLine(form, "was", "what the wine was", wines),
            PlainLine(form, "was-vintage", "its vintage, or NV", placeholder="vintage"),
        )
        yield Labelled(
            "label",
            PlainLine(form, "label", "alcohol on the label, % vol", placeholder="13.5"),
            tail="% vol",
        )
        yield Labelled("price", PlainLine(form, "price", "price, as you like to write it"))
        yield Labelled("remark", PlainLine(form, "remark", "anything else; ENTER then debriefs"))
