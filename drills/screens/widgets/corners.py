"""Theory against glass: every confused pair as a letter between four corners."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.events import Click
from textual.message import Message
from textual.widget import Widget

from drills.service.picturing import MARKS, cells_apart
from drills.service.weak import Corner

# What each corner asks for, left to right and top to bottom.
_WORDS = (("cards lag behind", "resolved"), ("more cards", "pour side by side"))
_LEAST = 12


class CornersPicture(Widget, can_focus=True):
    """A picture of pairs; the arrows go from point to point, Enter or a click opens one."""

    DEFAULT_CSS = """
    CornersPicture {
        height: 1fr; min-height: 9; padding: 0 1;
        &:focus { background-tint: $foreground 4%; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "go(-1, 0)", "point left", id="point-left"),
        Binding("right", "go(1, 0)", "point right", id="point-right"),
        Binding("up", "go(0, -1)", "point above", id="point-up"),
        Binding("down", "go(0, 1)", "point below", id="point-down"),
        Binding("enter", "open", "open the pair", id="point-open"),
    ]

    @dataclass
    class Moved(Message):
        """Another point is marked."""

        corner: Corner

    @dataclass
    class Opened(Message):
        """A point was asked for."""

        corner: Corner

    def __init__(self) -> None:
        super().__init__()
        self.corners: list[Corner] = []
        self.at = 0

    def show(self, corners: Sequence[Corner]) -> None:
        """Show these pairs, marked by letters in their order."""
        self.corners = list(corners)[: len(MARKS)]
        self.at = min(self.at, max(len(self.corners) - 1, 0))
        self.refresh()

    def mark(self, corner: Corner | None) -> None:
        """Mark the point of a pair."""
        if corner in self.corners:
            self.at = self.corners.index(corner)
            self.refresh()

    def places(self) -> dict[tuple[int, int], int]:
        """The cell of each point by its number; two that would share a cell stand side by side."""
        cells = cells_apart(self.corners, *self._inside())
        return {cell: number for number, cell in enumerate(cells)}

    def _inside(self) -> tuple[int, int]:
        return max(self.size.width - 4, _LEAST), max(self.size.height - 4, 5)

    def render(self) -> Content:
        """Draw a frame with a cross in it, and the letters."""
        wide, high = self._inside()
        middle, waist = (wide - 1) // 2, (high - 1) // 2
        cells = [[" "] * wide for _ in range(high)]
        cells[waist] = ["┈"] * wide
        for row in cells:
            row[middle] = "┊"
        for place, (left, right) in zip((0, high - 1), _WORDS, strict=True):
            room = middle - 2
            cells[place][1 : 1 + min(len(left), room)] = left[:room]
            right = right[:room]
            cells[place][wide - 1 - len(right) : wide - 1] = right
        lines = [Content.styled("glass ↑ told apart".ljust(wide + 2), "$text-muted")]
        lines.append(Content("┌" + "─" * wide + "┐"))
        places = self.places()
        for y in range(high):
            parts: list[Content | str | tuple[str, str]] = ["│"]
            for x in range(wide):
                number = places.get((x, y))
                if number is None:
                    parts.append((cells[y][x], "dim"))
                    continue
                style = "bold reverse" if number == self.at else "bold"
                parts.append((MARKS[number], style))
            parts.append("│")
            lines.append(Content.assemble(*parts))
        lines.append(Content("└" + "─" * wide + "┘"))
        lines.append(Content.styled("theory → known on the cards".rjust(wide + 2), "$text-muted"))
        return Content("\n").join(lines)

    def action_go(self, across: int, down: int) -> None:
        """Go to the nearest point that way, or to the next in order where there is none."""
        places = {number: cell for cell, number in self.places().items()}
        here = places.get(self.at)
        if here is None:
            return
        ahead = []
        for number, (x, y) in places.items():
            dx, dy = x - here[0], 2 * (y - here[1])
            along, aside = (dx * across, abs(dy)) if across else (dy * down, abs(dx))
            if along > 0:
                ahead.append((along + 2 * aside, number))
        if ahead:
            self._go(min(ahead)[1])

    def _go(self, number: int) -> None:
        self.at = number
        self.refresh()
        self.post_message(self.Moved(self.corners[number]))

    def action_open(self) -> None:
        """Open the marked point."""
        if self.corners:
            self.post_message(self.Opened(self.corners[self.at]))

    def on_click(self, event: Click) -> None:
        """Mark the point under the mouse; open it where it was marked already."""
        # The frame and the words above it come before the first cell.
        x, y = event.get_content_offset_capture(self)
        near = {
            number: abs(cell[0] - (x - 1)) + 2 * abs(cell[1] - (y - 2))
            for cell, number in self.places().items()
        }
        if not near:
            return
        number = min(near, key=lambda n: (near[n], n))
        if near[number] > 2:
            return
        if number == self.at:
            self.post_message(self.Opened(self.corners[number]))
        else:
            self._go(number)
