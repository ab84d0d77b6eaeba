"""The pours of a flight in a row, each with what became of it; a click opens its page."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.events import Click
from textual.message import Message
from textual.widget import Widget

# What stands beside a pour's number.
MARKS = {"": " ", "begun": "·", "called": "✓", "revealed": "●"}


class PourStrip(Widget):
    """Shows numbers from 1, the page that lies open reversed."""

    DEFAULT_CSS = """
    PourStrip { width: 1fr; height: 1; }
    """

    class Opened(Message):
        """The taster clicked a pour."""

        def __init__(self, place: int) -> None:
            super().__init__()
            self.place = place

    def __init__(self) -> None:
        super().__init__()
        self._states: Sequence[str] = ()
        self._at = 0
        self._ends: list[tuple[int, int]] = []

    def show(self, states: Sequence[str], at: int) -> None:
        """Show the pours; each state is a key of `MARKS`."""
        if (tuple(states), at) != (self._states, self._at):
            self._states, self._at = tuple(states), at
            self.refresh()

    def render(self) -> Content:
        """As many pours round the open one as there is room for."""
        room = max((self.size.width - 4) // 4, 1)
        first = min(max(self._at - room // 2, 0), max(len(self._states) - room, 0))
        last = min(first + room, len(self._states))
        parts: list[tuple[str, str]] = [("… ", "dim")] if first else []
        column = 2 if first else 0
        self._ends = []
        for place in range(first, last):
            words = f" {place + 1}{MARKS[self._states[place]]}"
            parts.append((words, "bold reverse" if place == self._at else ""))
            column += len(words)
            self._ends.append((column, place))
        if last < len(self._states):
            parts.append((" …", "dim"))
        return Content.assemble(*parts)

    def on_click(self, event: Click) -> None:
        """Open the page under the pointer."""
        for end, place in self._ends:
            if event.x < end:
                self.post_message(self.Opened(place))
                return
