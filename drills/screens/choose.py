"""A small list to choose one value from; typing narrows it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList
from textual.widgets.option_list import Option

from cards.naming.folding import words
from drills.service.browsing import Choice


class ChooseScreen(ModalScreen[str | None]):
    """Gives back the key chosen, an empty one for “any”, None if nothing was chosen."""

    DEFAULT_CSS = """
    ChooseScreen { align: center middle; }
    ChooseScreen > Vertical {
        width: 44; max-width: 95%; height: auto; max-height: 90%;
        border: round $accent; background: $surface; padding: 0 1;
        Input { background: $panel; }
        OptionList {
            height: auto; max-height: 20; border: none; padding: 0; background: $surface;
            scrollbar-size-vertical: 1;
            & > .option-list--option { padding: 0 1; }
            & > .option-list--option-highlighted {
                background: $primary 40%; color: $foreground; text-style: bold;
            }
        }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss", "close", id="close-choose"),
        Binding("down", "move(1)", "down", show=False, id="choose-down"),
        Binding("up", "move(-1)", "up", show=False, id="choose-up"),
        Binding("pagedown", "move(10)", "page down", show=False, id="choose-page-down"),
        Binding("pageup", "move(-10)", "page up", show=False, id="choose-page-up"),
    ]

    def __init__(self, title: str, choices: Sequence[Choice], chosen: str) -> None:
        super().__init__()
        self._title = title
        self._choices = choices
        self._chosen = chosen

    def compose(self) -> ComposeResult:
        """A line to type in, and the list."""
        with Vertical() as panel:
            panel.border_title = Content(self._title)
            panel.border_subtitle = "enter chooses, escape closes"
            yield Input(placeholder="type to narrow the list", compact=True)
            # The line above keeps the keys; the list follows them.
            options = OptionList(markup=False)
            options.can_focus = False
            yield options

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
        """A click takes an option."""
        if message.option_id is not None:
            self.dismiss(message.option_id[1:])
