"""The help panel: every key of the screen beneath, read from its live bindings."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static


class HelpScreen(ModalScreen[None]):
    """Lists what the keys do where the taster is."""

    DEFAULT_CSS = """
    HelpScreen { align: center middle; }
    HelpScreen > VerticalScroll {
        width: 64; max-width: 95%; height: auto; max-height: 90%;
        border: round $accent; background: $surface; padding: 0 1;
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,question_mark,f1,q,enter,space", "dismiss", "close", id="close-help"),
    ]

    def __init__(self, about: str, rows: list[tuple[str, str]]) -> None:
        super().__init__()
        self._about = about
        self._rows = rows

    def compose(self) -> ComposeResult:
        """One line a key."""
        with VerticalScroll() as panel:
            panel.border_title = "keys"
            panel.border_subtitle = "escape closes"
            yield Static(Content(self._about + "\n"), markup=False)
            wide = max((len(key) for key, _ in self._rows), default=0)
            yield Static(
                Content("\n").join(
                    Content.assemble((f"{key:>{wide}}  ", "bold"), words)
                    for key, words in self._rows
                ),
                markup=False,
            )
