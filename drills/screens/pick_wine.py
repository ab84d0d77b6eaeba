"""Picking one wine of the table by typing the beginning of any of its names."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Input, OptionList
from textual.widgets.option_list import Option

from drills.screens.narrowing import NarrowingScreen
from drills.service.completing import WineBook


class PickWineScreen(NarrowingScreen):
    """Gives back the key of the wine picked, None if none was."""

    DEFAULT_CSS = """
    PickWineScreen > Vertical { width: 50; }
    PickWineScreen OptionList { max-height: 10; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss", "close", id="close-pick"),
        Binding("down", "move(1)", "down", show=False, id="pick-down"),
        Binding("up", "move(-1)", "up", show=False, id="pick-up"),
    ]

    def __init__(self, book: WineBook, title: str) -> None:
        super().__init__(title, "enter picks, escape closes", "type a wine of the table")
        self._book = book

    def on_input_changed(self, message: Input.Changed) -> None:
        """Narrow the list."""
        offers = self._book.offers(message.value)
        options = self.query_one(OptionList)
        options.set_options([Option(Content(one.text), f"={one.key}") for one in offers])
        options.highlighted = 0 if offers else None
