"""A small list to choose one value from; typing narrows it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Input, OptionList
from textual.widgets.option_list import Option

from cards.naming.folding import words
from drills.screens.narrowing import NarrowingScreen
from drills.service.browsing import Choice


class ChooseScreen(NarrowingScreen):
    """Gives back the key chosen, an empty one for “any”, None if nothing was chosen."""

    DEFAULT_CSS = """
    ChooseScreen > Vertical { width: 44; }
    ChooseScreen OptionList { max-height: 20; scrollbar-size-vertical: 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss", "close", id="close-choose"),
        Binding("down", "move(1)", "down", show=False, id="choose-down"),
        Binding("up", "move(-1)", "up", show=False, id="choose-up"),
        Binding("pagedown", "move(10)", "page down", show=False, id="choose-page-down"),
        Binding("pageup", "move(-10)", "page up", show=False, id="choose-page-up"),
    ]

    def __init__(self, title: str, choices: Sequence[Choice], chosen: str) -> None:
        super().__init__(title, "enter chooses, escape closes", "type to narrow the list")
        self._choices = choices
        self._chosen = chosen

    def on_mount(self) -> None:
        """Show everything; Enter alone lets go of what is set now."""
        self._show("")

    def on_input_changed(self, message: Input.Changed) -> None:
        """Narrow the list."""
        self._show(message.value)

    def _show(self, text: str) -> None:
        said = words(text)
        options = self.query_one(OptionList)
        found = [
            Option(self._line(one), f"={one.key}")
            for one in self._choices
            if all(any(part.startswith(word) for part in words(one.words)) for word in said)
        ]
        if not said:
            found.insert(0, Option(f"  any {self._title}", "="))
        options.set_options(found)
        options.highlighted = 0 if found else None

    def _line(self, one: Choice) -> Content:
        sign = "● " if one.key == self._chosen else "  "
        return Content.assemble(sign, f"{one.words:<28}", (f"{one.wines:>5}", "dim"))
