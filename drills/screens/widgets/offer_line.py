"""The line above the keys: what can be taken for what is typed, or what the keys do here."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.events import Click
from textual.message import Message
from textual.widget import Widget

from drills.service.completing import Offer


class OfferLine(Widget):
    """Shows offers in a row, the marked one reversed; a click takes one. Else a hint."""

    DEFAULT_CSS = """
    OfferLine { height: 1; padding: 0 1; background: $surface; }
    """

    class Taken(Message):
        """The taster clicked an offer."""

        def __init__(self, offer: Offer) -> None:
            super().__init__()
            self.offer = offer

    def __init__(self) -> None:
        super().__init__()
        self._offers: Sequence[Offer] = ()
        self._at: int | None = None
        self._hint = ""
        self._ends: list[tuple[int, int, Offer]] = []

    def offer(self, offers: Sequence[Offer], at: int | None) -> None:
        """Show offers, the one at `at` marked; an empty row shows the hint again."""
        self._offers, self._at = offers, at
        self.refresh()

    def hint(self, words: str) -> None:
        """Say what belongs here, while nothing is offered."""
        self._hint = words
        self.refresh()

    def render(self) -> Content:
        """The row, moved so that the marked offer can be seen."""
        self._ends = []
        if not self._offers:
            return Content.styled(self._hint, "$text-muted")
        width = self.size.width - 2
        words = [self._words(offer) for offer in self._offers]
        first = 0
        at = self._at or 0
        while first < at and sum(len(word) + 2 for word in words[first : at + 1]) > width:
            first += 1
        parts: list[tuple[str, str]] = []
        column = 0
        if first:
            parts.append(("… ", "dim"))
            column = 2
        for place in range(first, len(words)):
            word = words[place]
            if column + len(word) > width and place > first:
                parts.append(("…", "dim"))
                break
            style = "dim" if self._offers[place].near else ""
            if place == self._at:
                style = "bold reverse"
            parts += [(word, style), ("  ", "")]
            self._ends.append((column, column + len(word), self._offers[place]))
            column += len(word) + 2
        return Content.assemble(*parts)

    def on_click(self, event: Click) -> None:
        """Take the offer under the pointer."""
        for start, end, offer in self._ends:
            # The line is padded by a column.
            if start <= event.x - 1 < end:
                self.post_message(self.Taken(offer))
                return

    @staticmethod
    def _words(offer: Offer) -> str:
        return f"{offer.text} ({offer.hint})" if offer.hint else offer.text
