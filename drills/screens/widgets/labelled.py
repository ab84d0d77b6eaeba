"""A line of a page with its label, and a sign beside the label that says what became of it."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

WIDTH = 13


class Labelled(Horizontal):
    """A label, then one widget or more; `tail` stands behind them."""

    DEFAULT_CSS = """
    Labelled {
        height: auto; width: 1fr;
        & > .label { width: 13; color: $text-muted; }
        & > .tail { width: auto; color: $text-muted; padding-left: 1; }
        &:focus-within > .label { color: $text; text-style: bold; }
    }
    """

    def __init__(self, label: str, *inside: Widget, tail: str = "", width: int = WIDTH) -> None:
        super().__init__()
        self._label = label
        self._inside = inside
        self._tail = tail
        self._width = width
        self._words = Static(label, classes="label", markup=False)

    def compose(self) -> ComposeResult:
        """Label, line, tail."""
        self._words.styles.width = self._width
        yield self._words
        yield from self._inside
        if self._tail:
            yield Static(self._tail, classes="tail", markup=False)

    def mark(self, sign: str, style: str = "") -> None:
        """Show a sign at the end of the label; an empty one takes it away."""
        room = self._width - 2
        self._words.update(
            Content.assemble(f"{self._label[:room]:<{room}}", (sign, style)), layout=False
        )

    def name_it(self, label: str) -> None:
        """Change the label."""
        self._label = label
        self.mark("")
