"""Correcting a kept pour: its calls, what it was, the label, the remark."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.events import DescendantFocus
from textual.widgets import Static

from drills.errors import DrillsError
from drills.screens.base import DeskScreen
from drills.screens.tasting_lines import fault_in, strength, vintage
from drills.screens.widgets.choice_row import ChoiceRow
from drills.screens.widgets.completing_line import CompletingLine, PlainLine, WineLine
from drills.screens.widgets.form import go, go_on
from drills.screens.widgets.key_line import KeyLine
from drills.screens.widgets.labelled import Labelled
from drills.screens.widgets.offer_line import OfferLine
from drills.screens.widgets.scale_row import ScaleRow
from drills.service.completing import WineBook
from drills.service.desk import Desk
from drills.service.tasting import change_pour
from drills.tastings.drafts import NOTHING, Named
from drills.tastings.notes import FullPour, Verdict

# The lines that hold a wine, and what belongs into them.
_WINES = {
    "first": ("first call", "what you thought first"),
    "final": ("called", "your final call"),
    "runner-up": ("runner-up", "what it would have been if not that"),
    "was": ("was", "what the wine was"),
}


class CorrectScreen(DeskScreen[FullPour | None]):
    """Changes what is kept of a pour; gives back the pour as it is kept now, or None."""

    ABOUT = (
        "Correct what was typed of a kept pour. What it held before stays in its history; the "
        "structure and the words noted stay as they were. A pour that becomes a confusion brings "
        "its pair to the head of the next drill."
    )
    AUTO_FOCUS = "WineLine"
    DEFAULT_CSS = """
    CorrectScreen {
        #foot { dock: bottom; height: auto; }
        #foot KeyLine { dock: none; }
        #head { dock: top; height: 1; background: $panel; padding: 0 1; color: $primary;
                text-style: bold; }
        #lines { height: auto; padding: 1; }
        .vintage { width: 9; margin-left: 1; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f9", "keep", "keep", id="keep", tooltip="keep the pour as it stands here"),
        Binding("down", "go(1)", "next line", id="line-next", show=False, tooltip="next line"),
        Binding("up", "go(-1)", "line before", id="line-before", show=False, tooltip="line before"),
        Binding(
            "escape", "dismiss", "back", id="back", key_display="esc", tooltip="change nothing"
        ),
    ]

    def __init__(self, desk: Desk, pour_id: int, pour: FullPour) -> None:
        super().__init__()
        self._pour_id = pour_id
        self._pour = pour
        self._wines = WineBook(desk.table, desk.names)
        self._this_year = desk.clock.now().astimezone().year
        self._picked: dict[str, str] = {}
        self._lines: dict[str, PlainLine] = {}

    def compose(self) -> ComposeResult:
        """A line for each thing that can be corrected."""
        yield Static(f"correct pour {self._pour.position}", id="head", markup=False)
        with Vertical(id="lines"):
            for name, (label, hint) in _WINES.items():
                line = self._line(WineLine(self, name, hint, self._wines))
                years = []
                if name != "runner-up":
                    year = PlainLine(
                        self, f"{name}-vintage", "its vintage, or NV", placeholder="vintage"
                    )
                    year.add_class("vintage")
                    years.append(self._line(year))
                yield Labelled(label, line, *years)
            yield Labelled(
                "label",
                self._line(PlainLine(self, "label", "alcohol on the label, % vol")),
                tail="% vol",
            )
            yield Labelled(
                "remark", self._line(PlainLine(self, "remark", "anything else; F9 then keeps"))
            )
        with Vertical(id="foot"):
            yield OfferLine()
            yield KeyLine("keep", "help", "back")

    def on_mount(self) -> None:
        """Show what is kept."""
        pour = self._pour
        texts = {
            "first": pour.first.text,
            "first-vintage": _year(pour.first.vintage),
            "final": pour.final.text,
            "final-vintage": _year(pour.final.vintage),
            "runner-up": pour.runner_up.text,
            "was": pour.reveal.text,
            "was-vintage": _year(pour.reveal_vintage),
            "label": "" if pour.label_alcohol is None else f"{pour.label_alcohol:g}",
            "remark": pour.remark,
        }
        for name, text in texts.items():
            self._lines[name].show(text)

    def _line(self, line: PlainLine) -> PlainLine:
        self._lines[line.field] = line
        return line

    # ---- what the lines tell

    def filled(self, line: PlainLine, text: str, wine: str | None) -> None:
        """Remember a wine that was taken from the offers, and mark what cannot be read."""
        self._picked.pop(line.field, None)
        if wine is not None:
            self._picked[line.field] = wine
        line.set_class(bool(fault_in(line.field, text, self._this_year)), "-odd")

    def left(self, line: PlainLine) -> None:
        """Go on to the next line."""
        go_on(line)

    def offered(self, line: CompletingLine) -> None:
        """Show what is offered."""
        self.query_one(OfferLine).offer(line.offers, line.at)

    def on_offer_line_taken(self, message: OfferLine.Taken) -> None:
        """A click on an offer."""
        if isinstance(self.focused, CompletingLine):
            self.focused.choose(message.offer)

    def placed(self, row: ScaleRow, value: int | None) -> None:
        """Nothing is placed here."""

    def chosen(self, row: ChoiceRow, value: str) -> None:
        """Nothing is chosen here."""

    def on_descendant_focus(self, event: DescendantFocus) -> None:
        """Say what belongs here."""
        self.query_one(OfferLine).hint(getattr(event.widget, "hint", ""))
        self.query_one(KeyLine).redraw()

    def action_go(self, by: int) -> None:
        """Go to the next line or the one before."""
        go(self, by)

    # ---- the end

    def action_keep(self) -> None:
        """Keep the pour as it stands on the lines."""
        for name, line in self._lines.items():
            if words := fault_in(name, line.value, self._this_year):
                self.notify(words, severity="warning", markup=False)
                line.focus()
                return
        after = self._read()
        try:
            change_pour(self.desk, self._pour_id, after)
        except DrillsError as error:
            self.notify(f"Not kept: {error}", severity="error", markup=False)
            return
        self.dismiss(after)

    def _read(self) -> FullPour:
        pour = self._pour
        return replace(
            pour,
            first=self._verdict("first", pour.first),
            final=self._verdict("final", pour.final),
            runner_up=self._named("runner-up", pour.runner_up),
            reveal=self._named("was", pour.reveal),
            reveal_vintage=vintage(self._text("was-vintage"), self._this_year),
            label_alcohol=strength(self._text("label")) if self._text("label") else None,
            remark=self._text("remark"),
        )

    def _text(self, name: str) -> str:
        return self._lines[name].value.strip()

    def _named(self, name: str, before: Named) -> Named:
        text = self._text(name)
        # What was not touched keeps what it was understood as, however it was settled.
        if text == before.text.strip() and name not in self._picked:
            return before
        return Named(text, self._picked.get(name) or self._wines.wine(text)) if text else NOTHING

    def _verdict(self, name: str, before: Verdict) -> Verdict:
        named = self._named(name, before.named)
        year = vintage(self._text(f"{name}-vintage"), self._this_year)
        if not named.text and year is None:
            return Verdict()
        return Verdict(named.text, named.wine, year, before.sureness)


def _year(vintage: int | None) -> str:
    return "" if vintage is None else str(vintage)
