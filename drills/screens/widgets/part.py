"""One part of the progress screen: a title, a picture and the numbers beside or below it."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Container
from textual.content import Content
from textual.widgets import Static


class Part(Container):
    """A part with its title; `plotted` leaves room for a plot."""

    DEFAULT_CSS = """
    Part {
        height: auto; layout: vertical; padding: 0 1; margin-bottom: 1;
        .title { height: 1; text-style: bold; color: $primary; }
        .body { height: auto; layout: vertical; }
        .picture { height: auto; width: 1fr; }
        .picture.plot { height: 13; }
        .numbers { height: auto; width: 1fr; }
        &.beside .body { layout: horizontal; }
        &.beside.plotted .numbers { width: 32; padding-left: 2; }
    }
    """

    def __init__(self, name: str, title: str, *, plotted: bool = False) -> None:
        super().__init__(id=name, classes="plotted" if plotted else None)
        self._title, self._plotted = title, plotted

    def compose(self) -> ComposeResult:
        """Title, picture, numbers."""
        yield Static(self._title, classes="title", markup=False)
        with Container(classes="body"):
            if self._plotted:
                yield Container(classes="picture plot")
            yield Static("counting…", classes="numbers", markup=False)

    def tell(self, words: Content) -> None:
        """Show the numbers."""
        self.query_one(".numbers", Static).update(words)
