"""The line in which candidates are named, and in which the reason is given for striking one off."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from drills.screens.widgets.completing_line import WineLine
from drills.screens.widgets.form import Form
from drills.service.completing import Offer, WineBook


class Naming(Protocol):
    """What takes the candidates that are named."""

    def named(self, text: str, wine: str | None) -> None:
        """A candidate was named; `wine` is None where the table has none of that name."""

    def reasoned(self, *, given: bool) -> None:
        """The reason is given, or the candidate stands after all."""


class CandidateLine(WineLine):
    """Takes one wine after another. While `reason` is set, it takes words instead."""

    def __init__(self, form: Form, naming: Naming, book: WineBook) -> None:
        super().__init__(form, "candidate", "a wine, then ENTER; as many as you consider", book)
        self._naming = naming
        self.usual_hint = self.hint
        self.reason = False

    def find(self) -> Sequence[Offer]:
        """Wines whose name may begin so; reasons are free."""
        return () if self.reason else super().find()

    def take(self, offer: Offer) -> None:
        """Name the wine and clear the line for the next."""
        self.show("")
        self._naming.named(offer.text, offer.key)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """While a reason is asked, Escape leaves the candidate standing."""
        return (
            True if action == "shut" and self.reason else super().check_action(action, parameters)
        )

    def action_shut(self) -> None:
        """Offer nothing; or let the candidate stand."""
        if self.reason:
            self._naming.reasoned(given=False)
        else:
            super().action_shut()

    def action_enter(self) -> None:
        """Name what is typed, end the reason, or go on from an empty line."""
        self.renew()
        text = self.value.strip()
        if self.reason:
            self._naming.reasoned(given=True)
        elif self.at is None and text:
            self.show("")
            self._naming.named(text, self._book.wine(text))
        else:
            super().action_enter()
