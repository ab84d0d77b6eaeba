"""What the lines and rows of a page tell the page, and how the cursor moves on a page.

They call it rather than send a message: a message would arrive after the next key, and a page that
was turned in the meantime would take what belongs to the page before.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol

from textual.screen import Screen
from textual.widget import Widget

if TYPE_CHECKING:
    from drills.screens.widgets.choice_row import ChoiceRow
    from drills.screens.widgets.completing_line import CompletingLine, PlainLine
    from drills.screens.widgets.scale_row import ScaleRow


class Form(Protocol):
    """A page that lines and rows stand on."""

    def filled(self, line: PlainLine, text: str, wine: str | None) -> None:
        """A line was changed; `wine` is set where a wine was taken from a list."""

    def left(self, line: PlainLine) -> None:
        """The taster is done with a line and goes on."""

    def offered(self, line: CompletingLine) -> None:
        """What a line offers has changed."""

    def placed(self, row: ScaleRow, value: int | None) -> None:
        """Something was placed on its scale, or left open again."""

    def chosen(self, row: ChoiceRow, value: str) -> None:
        """A value was chosen; it is empty where the choice was left open again."""


def go(screen: Screen[Any], by: int) -> None:
    """Move the cursor so many lines on or back, and no further than the ends."""
    chain = screen.focus_chain
    if screen.focused in chain:
        place = chain.index(screen.focused) + by
        if 0 <= place < len(chain):
            screen.set_focus(chain[place])
    elif chain:
        screen.set_focus(chain[0])


def go_on(widget: Widget) -> None:
    """Move the cursor to what stands after a widget."""
    chain = widget.screen.focus_chain
    if widget in chain and chain.index(widget) + 1 < len(chain):
        widget.screen.set_focus(chain[chain.index(widget) + 1])
