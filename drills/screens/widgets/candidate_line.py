"""The line in which candidates are named, and in which the reason is given for striking one off."""

from __future__ import annotations

from collections.abc import Sequence

from textual.message import Message

from drills.screens.widgets.completing_line import WineLine
from drills.service.completing import Offer, WineBook


class CandidateLine(WineLine):
    """Takes one wine after another. While `reason` is set, it takes words instead."""

    class Named(Message):
        """The taster named a candidate; `wine` is None where the table has none of that name."""

        def __init__(self, text: str, wine: str | None) -> None:
            super().__init__()
            self.text = text
            self.wine = wine

    class Reasoned(Message):
        """The taster has given the reason, or thought better of striking the candidate off."""

        def __init__(self, *, given: bool) -> None:
            super().__init__()
            self.given = given

    def __init__(self, book: WineBook) -> None:
        super().__init__("candidate", "a wine, then ENTER; as many as you consider", book)
        self.reason = False

    def find(self) -> Sequence[Offer]:
        """Wines whose name may begin so; reasons are free."""
        return () if self.reason else super().find()

    def take(self, offer: Offer) -> None:
        """Name the wine and clear the line for the next."""
        self.show("")
        self.post_message(self.Named(offer.text, offer.key))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """While a reason is asked, Escape leaves the candidate standing."""
        return (
            True if action == "shut" and self.reason else super().check_action(action, parameters)
        )

    def action_shut(self) -> None:
        """Offer nothing; or let the candidate stand."""
        if self.reason:
            self.post_message(self.Reasoned(given=False))
        else:
            super().action_shut()

    def action_enter(self) -> None:
        """Name what is typed, end the reason, or go on from an empty line."""
        text = self.value.strip()
        if self.reason:
            self.post_message(self.Reasoned(given=True))
        elif self.at is None and text:
            self.show("")
            self.post_message(self.Named(text, self._book.wine(text)))
        else:
            super().action_enter()
