"""A glass: the wine's name above three keys, from sure to guess."""

from __future__ import annotations

from collections.abc import Mapping

from textual.content import Content
from textual.events import Click
from textual.geometry import Offset
from textual.message import Message
from textual.widgets import Static

from drills.grading import Sureness

# The row of the keys inside the border, and the rows above it.
_KEY_ROW = 4


class GlassPanel(Static):
    """The left or right glass. `mark` says after the reveal what became of it.

    One widget draws it all: names, place and keys as widgets of their own made an answer take
    twice as long to be seen.
    """

    DEFAULT_CSS = """
    GlassPanel {
        width: 1fr; height: 7; border: round $foreground 40%; padding: 0 1; margin: 0 1;
        border-title-color: $text-muted; border-subtitle-color: $text;
        &.-true { border: double $success; }
        &.-said { border: dashed $error; }
    }
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
        # From the outer finger to the inner one.
        self._order = [Sureness.SURE, Sureness.LEANING, Sureness.GUESS]
        if side == "right":
            self._order.reverse()

    def on_mount(self) -> None:
        """Say which glass this is."""
        self.border_title = f"{self.side} glass"

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
        self._draw()
        self.mark("")

    def mark(self, words: str, *, true: bool = False, said: bool = False) -> None:
        """Say at the glass's foot what became of it."""
        if self._mark != words:
            self._mark = words
            self.border_subtitle = Content(words)
        before = self.classes
        self.update_classes({"-true": true, "-said": said and not true}, update=False)
        if self.classes != before:
            self.app.stylesheet.update_nodes([self])

    @property
    def told(self) -> str:
        """What stands in the glass, as plain text."""
        return f"{self._wine}\n{self._from}\n" + "  ".join(words for _, words, _ in self._places())

    def _places(self) -> list[tuple[int, str, Sureness]]:
        """Where each key's words begin, the words, and the answer; spread over the width."""
        words = [f"{self._keys.get(one, '')} {one.label}" for one in self._order]
        spare = max(self.content_size.width - sum(map(len, words)), 0)
        gap = max(spare // 4, 1)
        at = max((spare - 2 * gap) // 2, 0)
        places = []
        for one, said in zip(self._order, words, strict=True):
            places.append((at, said, one))
            at += len(said) + gap
        return places

    def _draw(self) -> None:
        width = self.content_size.width
        if not width:
            return
        line = Content("")
        for at, words, _ in self._places():
            key, _, label = words.partition(" ")
            before = " " * (at - line.cell_length)
            line = Content.assemble(line, before, (key, "bold"), (f" {label}", "dim"))
        name, place = (
            Content(text).truncate(width, ellipsis=True) for text in (self._wine, self._from)
        )
        self.update(
            Content("\n").join(
                [
                    Content(""),
                    _centred(name, width).stylize("bold"),
                    _centred(place, width).stylize("dim"),
                    Content(""),
                    line,
                ]
            ),
            layout=False,
        )

    def key_offset(self, sureness: Sureness) -> Offset:
        """Where in the widget an answer can be clicked."""
        at = next(at for at, _, one in self._places() if one is sureness)
        return Offset(at, _KEY_ROW) + self.gutter.top_left

    def on_click(self, event: Click) -> None:
        """Answer, where the click is on one of the keys."""
        spot = event.get_content_offset(self)
        if spot is None or spot.y != _KEY_ROW:
            return
        for at, words, sureness in self._places():
            if at <= spot.x < at + len(words):
                event.stop()
                self.post_message(self.Chosen(self.side, sureness))


def _centred(text: Content, width: int) -> Content:
    return text.pad_left(max((width - text.cell_length) // 2, 0))
