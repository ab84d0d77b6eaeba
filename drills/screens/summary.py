"""The end of a drill: what comes next and when, and what slipped."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from drills.errors import DrillsError
from drills.phrases import clock, count, days
from drills.screens.base import DeskScreen
from drills.screens.widgets.key_line import KeyLine
from drills.service.resuming import left_over
from drills.service.showing import Summary

if TYPE_CHECKING:
    from drills.screens.drill import DrillScreen
    from drills.service.desk import Desk

_LEVELS = "▁▂▃▄▅▆▇█"


class SummaryScreen(DeskScreen[None]):
    """Shows a finished drill."""

    ABOUT = "This drill is over; everything is kept."
    DEFAULT_CSS = """
    SummaryScreen VerticalScroll { padding: 1 2; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("d", "again", "another drill", id="again"),
        Binding(
            "r", "resume", "go on", id="resume", tooltip="go on with this drill: it has time left"
        ),
        Binding("escape,enter,space", "back", "back", id="back"),
    ]

    def __init__(self, summary: Summary) -> None:
        super().__init__()
        self.summary = summary
        self._left = 0.0

    def compose(self) -> ComposeResult:
        """One column of plain statements."""
        with suppress(DrillsError):
            self._left = left_over(self.desk)
        with VerticalScroll():
            yield Static(self._told(), markup=False)
        yield KeyLine("resume", "again", "back", "help")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool:  # noqa: ARG002
        """Only a drill that was stopped goes on."""
        return action != "resume" or self._left > 0

    def _told(self) -> Content:
        summary = self.summary
        lines: list[Content] = [
            Content.assemble(
                ("drill over  ", "bold $primary"),
                f"{count(summary.answered, 'answer')}, {summary.right} right, "
                f"in {clock(summary.seconds)}",
            ),
            Content(""),
        ]
        if summary.waiting:
            words = (
                f"{count(summary.waiting, 'answer')} kept on this machine: the server is away and"
                " gets them at the next contact"
            )
            lines += [Content.styled(words, "$warning"), Content("")]
        lines.append(Content.styled("what comes next", "bold"))
        if self._left:
            lines.append(Content(f"  {clock(self._left)} are left of this drill"))
        if summary.due_left:
            lines.append(Content(f"  {count(summary.due_left, 'card')} more could be asked today"))
        if summary.next_in is not None and not summary.due_left:
            lines.append(Content(f"  the next card is due {days(summary.next_in)}"))
        lines.append(Content(f"  {count(summary.unseen_left, 'contrast')} still unseen"))
        if any(summary.forecast):
            most = max(summary.forecast)
            drawn = "".join(_LEVELS[round(n / most * 7)] if n else " " for n in summary.forecast)
            numbers = ", ".join(str(n) for n in summary.forecast)
            lines += [
                Content(""),
                Content(f"  due over the next {len(summary.forecast)} days, tomorrow first"),
                Content.assemble("  ", (drawn, "$accent"), f"  {numbers}"),
            ]
        lines.append(Content(""))
        if summary.slips:
            sure = any(slip.dangerous for slip in summary.slips)
            head = "what slipped; ! you were sure" if sure else "what slipped"
            lines.append(Content.styled(head, "bold"))
            for slip in summary.slips:
                lines.append(
                    Content.assemble(
                        ("! " if slip.dangerous else "  ", "bold $error"),
                        f"{slip.truth}, not {slip.other}: ",
                        (slip.cues, "bold"),
                    )
                )
        elif summary.answered:
            lines.append(Content("Nothing slipped."))
        else:
            lines.append(Content("Nothing was answered."))
        return Content("\n").join(lines)

    def action_again(self) -> None:
        """Start another drill."""
        from drills.screens.opening import drill_screen

        self._open(drill_screen)

    def action_resume(self) -> None:
        """Go on with this drill."""
        from drills.screens.opening import resumed_screen

        self._open(resumed_screen)

    def _open(self, make: Callable[[Desk], DrillScreen]) -> None:
        try:
            self.app.switch_screen(make(self.desk))
        except DrillsError as error:
            self.notify(str(error), severity="error", markup=False)

    def action_back(self) -> None:
        """Return to the first screen."""
        from drills.screens.home import HomeScreen

        self.app.switch_screen(HomeScreen())
