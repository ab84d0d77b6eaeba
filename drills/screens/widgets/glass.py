"""A glass: the wine's name above three keys, from sure to guess."""

from __future__ import annotations

from collections.abc import Mapping

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.events import Click
from textual.message import Message
from textual.widgets import Static

from drills.grading import Sureness


class SurenessKey(Static):
    """One of the three answers under a glass; a click answers as the key does."""

    DEFAULT_CSS = """
    SurenessKey {
        width: 1fr; height: 1; text-align: center; color: $text-muted;
        &:hover { background: $boost; color: $text; }
    }
    """

    class Chosen(Message):
        """The taster clicked an answer."""

        def __init__(self, side: str, sureness: Sureness) -> None:
            super().__init__()
            self.side = side
            self.sureness = sureness

    def __init__(self, side: str, sureness: Sureness) -> None:
        super().__init__(markup=False)
        self.side = side
        self.sureness = sureness

    def show_key(self, key: str) -> None:
        """Show the key that gives this answer."""
        words = Content.assemble((f"{key} ", "bold"), self.sureness.label)
        # On a narrow terminal the longest word takes its room from the others.
        self.styles.min_width = words.cell_length
        self.update(words)

    def on_click(self, event: Click) -> None:
        """Answer."""
        event.stop()
        self.post_message(self.Chosen(self.side, self.sureness))


class GlassPanel(Vertical):
    """The left or right glass. `mark` says after the reveal what became of it."""

    DEFAULT_CSS = """
    GlassPanel {
        width: 1fr; height: 7; border: round $foreground 40%; padding: 0 1; margin: 0 1;
        border-title-color: $text-muted; border-subtitle-color: $text;
        #name { height: 2; text-style: bold; text-align: center; content-align: center bottom; }
        #place { height: 1; color: $text-muted; text-align: center; }
        #keys { height: 1; margin-top: 1; }
        &.-true { border: double $success; }
        &.-said { border: dashed $error; }
    }
    """

    def __init__(self, side: str) -> None:
        super().__init__(id=side)
        self.side = side
        self._wine = Static("", id="name", markup=False)
        self._place = Static("", id="place", markup=False)

    def compose(self) -> ComposeResult:
        """Name, place, and the keys from the outer finger to the inner one."""
        yield self._wine
        yield self._place
        order = [Sureness.SURE, Sureness.LEANING, Sureness.GUESS]
        if self.side == "right":
            order.reverse()
        with Horizontal(id="keys"):
            for sureness in order:
                yield SurenessKey(self.side, sureness)

    def on_mount(self) -> None:
        """Say which glass this is."""
        self.border_title = f"{self.side} glass"

    def show_keys(self, keys: Mapping[Sureness, str]) -> None:
        """Show which key gives which answer."""
        for widget in self.query(SurenessKey):
            widget.show_key(keys[widget.sureness])

    def pour(self, name: str, place: str) -> None:
        """Put a wine into the glass and clear what the last reveal said."""
        self._wine.update(Content(name), layout=False)
        self._place.update(Content(place), layout=False)
        self.mark("")

    def mark(self, words: str, *, true: bool = False, said: bool = False) -> None:
        """Say at the glass's foot what became of it."""
        self.border_subtitle = Content(words)
        before = self.classes
        self.update_classes({"-true": true, "-said": said and not true}, update=False)
        if self.classes != before:
            # Only the border follows from these: what stands inside need not be styled again.
            self.app.stylesheet.update_nodes([self])
