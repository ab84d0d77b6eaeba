"""The full reason of one cue: cause, concentrations, and what all of it rests on."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from drills.screens.widgets.bars import strength
from drills.screens.widgets.cue_line import NO_CAUSE
from drills.service.comparing import ComparedCue, Comparison


class ReasonScreen(ModalScreen[None]):
    """Shows all that the table knows of one cue of two wines."""

    DEFAULT_CSS = """
    ReasonScreen { align: center middle; }
    ReasonScreen > VerticalScroll {
        width: 76; max-width: 95%; height: auto; max-height: 90%;
        border: round $accent; background: $surface; padding: 0 1;
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter,space,q", "dismiss", "close", id="close-reason"),
    ]

    def __init__(self, comparison: Comparison, cue: ComparedCue) -> None:
        super().__init__()
        self._comparison = comparison
        self._cue = cue

    def compose(self) -> ComposeResult:
        """A paragraph for the weight, one for the cause, one for what they rest on."""
        with VerticalScroll() as panel:
            panel.border_title = "why"
            panel.border_subtitle = "escape closes"
            yield Static(self._told(), markup=False)

    def _told(self) -> Content:
        cue, story, (left, right) = self._cue, self._cue.story, self._comparison.names
        lines = [
            Content.assemble(
                (story.words, "bold"),
                f": {strength(story.weight)} for {left if cue.points_left else right}",
            ),
            Content(f"{left}: {story.left}"),
            Content(f"{right}: {story.right}"),
            Content.styled(f"the fact rests on: {cue.source}", "dim"),
            Content(""),
            Content(story.because or NO_CAUSE),
        ]
        if cue.threshold:
            lines.append(Content(f"detected from: {cue.threshold}"))
        if cue.typical:
            lines.append(Content(f"met at: {cue.typical}"))
        if cue.cause_source:
            lines.append(Content.styled(f"the cause rests on: {cue.cause_source}", "dim"))
        return Content("\n").join(lines)
