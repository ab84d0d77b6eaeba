"""A question with one line for the answer."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from drills.errors import UsageError


class AskScreen(ModalScreen[str | None]):
    """Asks for a line that `check` accepts; its result is the line, None where it was left."""

    DEFAULT_CSS = """
    AskScreen { align: center middle; }
    AskScreen > Vertical {
        width: 60; max-width: 95%; height: auto;
        border: round $accent; background: $surface; padding: 0 1;
    }
    AskScreen #wrong { color: $error; height: auto; min-height: 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss(None)", "leave it", id="close-ask", tooltip="change nothing"),
    ]

    def __init__(self, question: str, value: str, check: Callable[[str], object]) -> None:
        super().__init__()
        self._question = question
        self._value = value
        self._check = check

    def compose(self) -> ComposeResult:
        """The question, the line, and what is wrong with it."""
        with Vertical() as panel:
            panel.border_subtitle = "enter keeps it, escape leaves it"
            yield Static(Content(self._question), markup=False)
            yield Input(self._value, select_on_focus=True)
            yield Static("", id="wrong", markup=False)

    def on_input_submitted(self, message: Input.Submitted) -> None:
        """Take the line if it can be meant."""
        try:
            self._check(message.value)
        except UsageError as error:
            self.query_one("#wrong", Static).update(Content(str(error)))
        else:
            self.dismiss(message.value)
