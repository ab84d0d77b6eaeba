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
        cells = [f" {n}{MARKS[state]}" for n, state in enumerate(self._states, 1)]
        room = self.size.width - 4
        first = last = self._at
        # Grow to both sides of the open page as long as it fits.
        width = len(cells[first]) if cells else 0
        while True:
            left = len(cells[first - 1]) if first else room
            right = len(cells[last + 1]) if last + 1 < len(cells) else room
            if width + min(left, right) > room:
                break
            if right <= left:
                last += 1
                width += right
            else:
                first -= 1
                width += left
        parts: list[tuple[str, str]] = [("… ", "dim")] if first else []
        column = 2 if first else 0
        self._ends = []
        for place in range(first, last + 1):
            parts.append((cells[place], "bold reverse" if place == self._at else ""))
            column += len(cells[place])
            self._ends.append((column, place))
        if last + 1 < len(cells):
            parts.append((" …", "dim"))
        return Content.assemble(*parts)

    def on_click(self, event: Click) -> None:
        """Open the page under the pointer."""
        for end, place in self._ends:
            if event.x < end:
                self.post_message(self.Opened(place))
                return
