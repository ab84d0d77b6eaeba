"""A glass: the wine's name above three keys, from sure to guess."""

from __future__ import annotations

from collections.abc import Mapping

from textual.content import Content
from textual.events import Click
from textual.geometry import Offset
from textual.message import Message
from textual.widgets import Static

from drills.grading import Sureness

# The row of the keys in the widget.
_KEY_ROW = 5
# The frame of a glass: corners, then the lines that run across and down; and its colour.
_PLAIN = (("╭", "╮", "╰", "╯", "─", "│"), "dim")
_TRUE = (("╔", "╗", "╚", "╝", "═", "║"), "$success")
_SAID = (("┏", "┓", "┗", "┛", "╍", "╏"), "$error")


class GlassPanel(Static):
    """The left or right glass. `mark` says after the reveal what became of it.

    One widget draws it all, its frame too: names, place and keys as widgets of their own, and a
    border that is styled anew, made an answer take twice as long to be seen.
    """

    DEFAULT_CSS = """
    GlassPanel { width: 1fr; height: 7; margin: 0 1; }
    """

    class Chosen(Message):
        """The taster clicked an answer."""

        def __init__(self, side: str, sureness: Sureness) -> None:
            super().__init__()
            self.side = side
            self.sureness = sureness

    def __init__(self, side: str) -> None:
        super().__init__(id=side, markup=False)
        self.side = side
        self._keys: Mapping[Sureness, str] = {}
        self._wine = self._from = self._mark = ""
        self._frame = _PLAIN
        # From the outer finger to the inner one.
        self._order = [Sureness.SURE, Sureness.LEANING, Sureness.GUESS]
        if side == "right":
            self._order.reverse()

    def on_resize(self) -> None:
        """Spread the keys over the new width."""
        self._draw()

    def show_keys(self, keys: Mapping[Sureness, str]) -> None:
        """Show which key gives which answer."""
        self._keys = keys
        self._draw()

    def pour(self, name: str, place: str) -> None:
        """Put a wine into the glass and clear what the last reveal said."""
        self._wine, self._from = name, place
        self.mark("")

    def mark(self, words: str, *, true: bool = False, said: bool = False) -> None:
        """Say at the glass's foot what became of it."""
        self._mark = words
        self._frame = _TRUE if true else _SAID if said else _PLAIN
        self._draw()

    @property
    def poured(self) -> bool:
        """Whether the glass is marked as the one that is poured."""
        return self._frame is _TRUE

    @property
    def told(self) -> str:
        """What stands in the glass, as plain text."""
        return f"{self._wine}\n{self._from}\n" + "  ".join(words for _, words, _ in self._places())

    @property
    def _inside(self) -> int:
        """Columns between the frame and a blank on either side."""
        return max(self.size.width - 4, 0)

    def _places(self) -> list[tuple[int, str, Sureness]]:
        """Where inside each key's words begin, the words, and the answer; spread over the width."""
        words = [f"{self._keys.get(one, '')} {one.label}" for one in self._order]
        spare = max(self._inside - sum(map(len, words)), 0)
        gap = max(spare // 4, 1)
        at = max((spare - 2 * gap) // 2, 0)
        places = []
        for one, said in zip(self._order, words, strict=True):
            places.append((at, said, one))
            at += len(said) + gap
        return places

    def _draw(self) -> None:
        width = self._inside
        if not width:
            return
        keys = Content("")
        for at, words, _ in self._places():
            key, _, label = words.partition(" ")
            before = " " * (at - keys.cell_length)
            keys = Content.assemble(keys, before, (key, "bold"), (f" {label}", "dim"))
        name, place = (
            Content(text).truncate(width, ellipsis=True) for text in (self._wine, self._from)
        )
        inner = [
            Content(""),
            _centred(name, width).stylize("bold"),
            _centred(place, width).stylize("dim"),
            Content(""),
            keys,
        ]
        (top_left, top_right, low_left, low_right, across, down), colour = self._frame
        head = f" {self.side} glass "
        foot = f" {self._mark} " if self._mark else ""
        lines = [
            Content.assemble(
                (f"{top_left}{across}", colour),
                (head, "dim"),
                (across * (width + 1 - len(head)) + top_right, colour),
            )
        ]
        for line in inner:
            rest = " " * (width - line.cell_length)
            lines.append(Content.assemble((f"{down} ", colour), line, rest, (f" {down}", colour)))
        lines.append(
            Content.assemble(
                (low_left + across * (width + 1 - len(foot)), colour),
                foot,
                (across + low_right, colour),
            )
        )
        self.update(Content("\n").join(lines), layout=False)

    def key_offset(self, sureness: Sureness) -> Offset:
        """Where in the widget an answer can be clicked."""
        at = next(at for at, _, one in self._places() if one is sureness)
        return Offset(at + 2, _KEY_ROW)

    def on_click(self, event: Click) -> None:
        """Answer, where the click is on one of the keys."""
        if event.y != _KEY_ROW:
            return
        for at, words, sureness in self._places():
            if at <= event.x - 2 < at + len(words):
                event.stop()
                self.post_message(self.Chosen(self.side, sureness))


def _centred(text: Content, width: int) -> Content:
    return text.pad_left(max((width - text.cell_length) // 2, 0))
