"""Lines of text that complete what is typed: words of the lexicon, names of wines, or nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widgets import Input

from drills.screens.widgets.form import Form
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

    def __init__(self, form: Form, name: str, hint: str, *, placeholder: str = "") -> None:
        # Tab keeps the text: nothing is selected that the next key would wipe out.
        super().__init__(name=name, placeholder=placeholder, compact=True, select_on_focus=False)
        self._form = form
        self._shown = ""
        self.hint = hint

    @property
    def field(self) -> str:
        """The name of the line."""
        return self.name or ""

    def validate_value(self, value: str) -> str:
        """Leave out what has no picture: pasted control signs would reach the terminal."""
        return value if value.isprintable() else "".join(filter(str.isprintable, value))

    def show(self, text: str) -> None:
        """Show what a page holds; nobody is told that it changed."""
        self._shown = self.validate_value(text)
        self.value = text
        self.cursor_position = len(text)

    def watch_value(self, value: str) -> None:
        """Tell what was typed."""
        if value != self._shown:
            self._shown = value
            self.typed()
            self._form.filled(self, value, None)

    def typed(self) -> None:
        """The taster typed something; for lines that do more with it."""

    def action_enter(self) -> None:
        """Go on."""
        self._form.left(self)


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

    def __init__(self, form: Form, name: str, hint: str, *, placeholder: str = "") -> None:
        super().__init__(form, name, hint, placeholder=placeholder)
        self.offers: Sequence[Offer] = ()
        self.at: int | None = None
        self._stale = False

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
            self.renew()
            return bool(self.offers)
        return super().check_action(action, parameters)

    def show(self, text: str) -> None:
        """Show what a page holds, without offers."""
        super().show(text)
        self._offer(())

    def typed(self) -> None:
        """What is offered speaks of another text now; the cursor is not where it will be yet."""
        self._stale = True

    def on_input_changed(self) -> None:
        """Offer what could be meant."""
        self.renew()

    def renew(self) -> None:
        """Bring the offers up to what is typed."""
        if self._stale:
            self._stale = False
            self._offer(self.find())

    def on_blur(self) -> None:
        """Nothing is offered where nobody types."""
        self._offer(())

    def action_move(self, by: int) -> None:
        """Mark another offer; past the first one, none."""
        place = (0 if by > 0 else len(self.offers) - 1) if self.at is None else self.at + by
        self.at = place if 0 <= place < len(self.offers) else None
        self._form.offered(self)

    def action_shut(self) -> None:
        """Offer nothing until more is typed."""
        self._offer(())

    def action_enter(self) -> None:
        """Take what is marked, or go on."""
        self.renew()
        if self.at is not None:
            self.choose(self.offers[self.at])
        else:
            super().action_enter()

    def choose(self, offer: Offer) -> None:
        """Take an offer, by key or by click."""
        self.take(offer)
        self._offer(())

    def _write(self, text: str, cursor: int, wine: str | None = None) -> None:
        """Write what was taken; it was not typed, so that nothing more is offered for it."""
        self._shown = text
        self.value = text
        self.cursor_position = cursor
        self._form.filled(self, text, wine)

    def _offer(self, offers: Sequence[Offer]) -> None:
        self._stale = False
        if offers or self.offers:
            self.offers = offers
            self.at = self.first(offers) if offers else None
            self._form.offered(self)


class WordLine(CompletingLine):
    """Words with commas between them, each completed from the lexicon."""

    def __init__(self, form: Form, name: str, hint: str, book: WordBook) -> None:
        super().__init__(form, name, hint)
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
        self.renew()
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
        self._write(start + after, len(start))


class WineLine(CompletingLine):
    """The name of a wine, completed from the table; what the table lacks is kept as typed."""

    def __init__(
        self, form: Form, name: str, hint: str, book: WineBook, *, placeholder: str = ""
    ) -> None:
        super().__init__(form, name, hint, placeholder=placeholder)
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
        self._write(offer.text, len(offer.text), offer.key)
