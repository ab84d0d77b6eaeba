"""The candidates of a pour in a row: those that stand, and those struck off with the reason."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widget import Widget

from drills.tastings.notes import Candidate


class CandidateList(Widget, can_focus=True):
    """Shows candidates in the order in which they came up, one of them under the cursor."""

    DEFAULT_CSS = """
    CandidateList {
        height: auto; max-height: 3; width: 1fr;
        &:focus { background: $boost; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "move(-1)", "before", id="candidate-before", show=False),
        Binding("right", "move(1)", "after", id="candidate-after", show=False),
        Binding(
            "x",
            "do('strike')",
            "strike off",
            id="candidate-strike",
            show=False,
            tooltip="strike the candidate off, with a reason, or let it stand again",
        ),
        Binding(
            "enter",
            "do('final')",
            "final call",
            id="candidate-final",
            show=False,
            tooltip="make the candidate the final call",
        ),
        Binding(
            "f",
            "do('first')",
            "first call",
            id="candidate-first",
            show=False,
            tooltip="make the candidate the first call",
        ),
        Binding(
            "r",
            "do('runner-up')",
            "runner-up",
            id="candidate-runner",
            show=False,
            tooltip="make the candidate the runner-up",
        ),
        Binding(
            "delete,backspace",
            "do('drop')",
            "take out",
            id="candidate-drop",
            show=False,
            tooltip="take the candidate out of the row",
        ),
    ]
    hint = "X strike off  ENTER final  F first  R runner-up  DEL out"

    def __init__(self, wanted: Callable[[str, int], None], named: Callable[[str], str]) -> None:
        """`wanted` is told strike, drop or a call, and the place; `named` names wines."""
        super().__init__(name="candidates")
        self._wanted = wanted
        self._named = named
        self._candidates: Sequence[Candidate] = ()
        self._at = 0

    def show(self, candidates: Sequence[Candidate]) -> None:
        """Show these; an empty row cannot be entered."""
        self._candidates = tuple(candidates)
        self._at = min(self._at, max(len(candidates) - 1, 0))
        self.can_focus = bool(candidates)
        self.refresh(layout=True)

    def render(self) -> Content:
        """The candidates with marks: “?” for one that the table lacks, “✗” and why."""
        parts: list[tuple[str, str]] = []
        for place, one in enumerate(self._candidates):
            here = self.has_focus and place == self._at
            name = self._named(one.wine) if one.wine else f"{one.text}?"
            style = "dim strike" if one.struck else "bold"
            parts.append((name, "bold reverse" if here else style))
            if one.struck:
                parts.append((f" ✗ {one.struck}", "dim"))
            parts.append(("   ", ""))
        return Content.assemble(*parts[:-1]) if parts else Content("")

    def action_move(self, by: int) -> None:
        """Move the cursor."""
        self._at = min(max(self._at + by, 0), len(self._candidates) - 1)
        self.refresh()

    def action_do(self, what: str) -> None:
        """Ask for it to be done."""
        if self._candidates:
            self._wanted(what, self._at)

    def on_focus(self) -> None:
        """Show the cursor."""
        self.refresh()

    def on_blur(self) -> None:
        """Hide the cursor."""
        self.refresh()
