"""Picking one wine of the table by typing the beginning of any of its names."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList
from textual.widgets.option_list import Option

from drills.service.completing import WineBook


class PickWineScreen(ModalScreen[str | None]):
    """Gives back the key of the wine picked, None if none was."""

    DEFAULT_CSS = """
    PickWineScreen { align: center middle; }
    PickWineScreen > Vertical {
        width: 50; max-width: 95%; height: auto; max-height: 90%;
        border: round $accent; background: $surface; padding: 0 1;
        Input { background: $panel; }
        OptionList {
            height: auto; max-height: 10; border: none; padding: 0; background: $surface;
            & > .option-list--option { padding: 0 1; }
            & > .option-list--option-highlighted {
                background: $primary 40%; color: $foreground; text-style: bold;
            }
        }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss", "close", id="close-pick"),
        Binding("down", "move(1)", "down", show=False, id="pick-down"),
        Binding("up", "move(-1)", "up", show=False, id="pick-up"),
    ]

    def __init__(self, book: WineBook, title: str) -> None:
        super().__init__()
        self._book = book
        self._title = title

    def compose(self) -> ComposeResult:
        """A line to type in, and the wines that it may begin."""
        with Vertical() as panel:
            panel.border_title = Content(self._title)
            panel.border_subtitle = "enter picks, escape closes"
            yield Input(placeholder="type a wine of the table", compact=True)
            # The line above keeps the keys; the list follows them.
            options = OptionList(markup=False)
            options.can_focus = False
            yield options

    def on_input_changed(self, message: Input.Changed) -> None:
        """Narrow the list."""
        offers = self._book.offers(message.value)
        options = self.query_one(OptionList)
        options.set_options([Option(Content(one.text), f"={one.key}") for one in offers])
        options.highlighted = 0 if offers else None

    def action_move(self, by: int) -> None:
        """Move the cursor of the list."""
        options = self.query_one(OptionList)
        if options.highlighted is not None:
            options.highlighted = min(max(options.highlighted + by, 0), options.option_count - 1)

    def on_input_submitted(self) -> None:
        """Enter takes what is under the cursor."""
        option = self.query_one(OptionList).highlighted_option
        if option is not None and option.id is not None:
            self.dismiss(option.id[1:])

    def on_option_list_option_selected(self, message: OptionList.OptionSelected) -> None:
        """A click takes a wine."""
        if message.option_id is not None:
            self.dismiss(message.option_id[1:])
