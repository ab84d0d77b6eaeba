"""Lines of text that complete what is typed: words of the lexicon, names of wines, or nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.message import Message
from textual.widgets import Input

from drills.service.completing import Offer, WineBook, WordBook, last_piece


class PlainLine(Input):
    """A line of a page; `hint` says what belongs into it. Enter goes on to the next."""

    DEFAULT_CSS = """
    PlainLine {
        width: 1fr; background: $panel;
        &:focus { background: $boost; }
        &.-odd { background: $error 30%; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "enter", "go on", id="line-enter", show=False, tooltip="go on"),
    ]

    class Filled(Message):
        """The taster changed the line; `wine` is set where a wine was taken from a list."""

        def __init__(self, line: PlainLine, text: str, wine: str | None = None) -> None:
            super().__init__()
            self.line = line
            self.text = text
            self.wine = wine

    class Left(Message):
        """The taster is done with the line and goes on."""

        def __init__(self, line: PlainLine) -> None:
            super().__init__()
            self.line = line

    def __init__(self, name: str, hint: str, *, placeholder: str = "") -> None:
        # Tab keeps the text: nothing is selected that the next key would wipe out.
        super().__init__(name=name, placeholder=placeholder, compact=True, select_on_focus=False)
        self.hint = hint

    @property
    def field(self) -> str:
        """The name of the line."""
        return self.name or ""

    def show(self, text: str) -> None:
        """Show what a page holds; nobody is told that it changed."""
        with self.prevent(Input.Changed):
            self.value = text
        self.cursor_position = len(text)

    def on_input_changed(self, message: Input.Changed) -> None:
        """Pass on what was typed."""
        message.stop()
        self.post_message(self.Filled(self, message.value))

    def action_enter(self) -> None:
        """Go on."""
        self.post_message(self.Left(self))


class CompletingLine(PlainLine):
    """A line with offers; `at` is the one under the cursor, None while none is."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "enter",
            "enter",
            "take, go on",
            id="line-enter",
            show=False,
            tooltip="take what is marked, or go on",
        ),
        Binding("down", "move(1)", "next offer", id="offer-next", show=False, tooltip="next offer"),
        Binding(
            "up", "move(-1)", "offer before", id="offer-before", show=False, tooltip="offer before"
        ),
        Binding("escape", "shut", "no offers", id="offer-none", show=False, tooltip="no offers"),
    ]

    class Offered(Message):
        """What the line offers has changed."""

        def __init__(self, line: CompletingLine) -> None:
            super().__init__()
            self.line = line

    def __init__(self, name: str, hint: str, *, placeholder: str = "") -> None:
        super().__init__(name, hint, placeholder=placeholder)
        self.offers: Sequence[Offer] = ()
        self.at: int | None = None

    def find(self) -> Sequence[Offer]:
        """What could be meant by what is typed; subclasses know."""
        raise NotImplementedError

    def first(self, offers: Sequence[Offer]) -> int | None:
        """The offer that Enter takes unless another is chosen; subclasses know."""
        raise NotImplementedError

    def take(self, offer: Offer) -> None:
        """Write an offer into the line; subclasses know how."""
        raise NotImplementedError

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Without offers the arrows and Escape do what they do everywhere on the page."""
        if action in ("move", "shut"):
            return bool(self.offers)
        return super().check_action(action, parameters)

    def show(self, text: str) -> None:
        """Show what a page holds, without offers."""
        super().show(text)
        self._offer(())

    def on_input_changed(self, message: Input.Changed) -> None:
        """Offer what could be meant."""
        super().on_input_changed(message)
        self._offer(self.find())

    def on_blur(self) -> None:
        """Nothing is offered where nobody types."""
        self._offer(())

    def action_move(self, by: int) -> None:
        """Mark another offer; past the first one, none."""
        place = (0 if by > 0 else len(self.offers) - 1) if self.at is None else self.at + by
        self.at = place if 0 <= place < len(self.offers) else None
        self.post_message(self.Offered(self))

    def action_shut(self) -> None:
        """Offer nothing until more is typed."""
        self._offer(())

    def action_enter(self) -> None:
        """Take what is marked, or go on."""
        if self.at is not None:
            self.choose(self.offers[self.at])
        else:
            super().action_enter()

    def choose(self, offer: Offer) -> None:
        """Take an offer, by key or by click."""
        self.take(offer)
        self._offer(())

    def _offer(self, offers: Sequence[Offer]) -> None:
        if offers or self.offers:
            self.offers = offers
            self.at = self.first(offers) if offers else None
            self.post_message(self.Offered(self))


class WordLine(CompletingLine):
    """Words with commas between them, each completed from the lexicon."""

    def __init__(self, name: str, hint: str, book: WordBook) -> None:
        super().__init__(name, hint)
        self._book = book

    def find(self) -> Sequence[Offer]:
        """Descriptors that begin as the word under the cursor does."""
        piece, _ = self._around()
        return self._book.offers(piece) if piece.strip() else ()

    def first(self, offers: Sequence[Offer]) -> int | None:
        """The best one, unless it is only something like what was typed."""
        return None if offers[0].near else 0

    def take(self, offer: Offer) -> None:
        """Write the descriptor in place of what was typed of it."""
        self._replace(offer.text)

    def action_enter(self) -> None:
        """Take what is marked; else end a word that nothing answers to; else go on."""
        piece, _ = self._around()
        if self.at is None and piece.strip():
            self._replace(piece.strip())
            self._offer(())
        else:
            super().action_enter()

    def _around(self) -> tuple[str, str]:
        """The word that ends at the cursor, and what follows; empty inside of a word."""
        before, after = self.value[: self.cursor_position], self.value[self.cursor_position :]
        if after.strip() and not after.lstrip().startswith((",", ";")):
            return "", after
        return last_piece(before)[1], after

    def _replace(self, word: str) -> None:
        head, _ = last_piece(self.value[: self.cursor_position])
        after = self.value[self.cursor_position :].lstrip()
        start = f"{head.rstrip()} {word}" if head.strip() else word
        start += "" if after else ", "
        with self.prevent(Input.Changed):
            self.value = start + after
        self.cursor_position = len(start)
        self.post_message(self.Filled(self, self.value))


class WineLine(CompletingLine):
    """The name of a wine, completed from the table; what the table lacks is kept as typed."""

    def __init__(self, name: str, hint: str, book: WineBook, *, placeholder: str = "") -> None:
        super().__init__(name, hint, placeholder=placeholder)
        self._book = book

    def find(self) -> Sequence[Offer]:
        """Wines whose name may begin so."""
        return self._book.offers(self.value)

    def first(self, offers: Sequence[Offer]) -> int | None:
        """The only one there is; of several, and of a name understood as it stands, none."""
        if self._book.wine(self.value) or sum(not one.near for one in offers) != 1:
            return None
        return None if offers[0].near else 0

    def take(self, offer: Offer) -> None:
        """Write the wine's name, and say which wine it is."""
        with self.prevent(Input.Changed):
            self.value = offer.text
        self.cursor_position = len(offer.text)
        self.post_message(self.Filled(self, offer.text, offer.key))
