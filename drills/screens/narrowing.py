"""A list that typing narrows, over the screen that asks: what all such lists share."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList


class NarrowingScreen(ModalScreen[str | None]):
    """Gives back what stands behind the sign of the option taken, None if none was.

    Subclasses bind the keys that move and close, and fill the list as is typed; the id of an option
    is “=” and what it gives back, since an id may not be empty.
    """

    DEFAULT_CSS = """
    NarrowingScreen { align: center middle; }
    NarrowingScreen > Vertical {
        max-width: 95%; height: auto; max-height: 90%;
        border: round $accent; background: $surface; padding: 0 1;
        Input { background: $panel; }
        OptionList {
            height: auto; border: none; padding: 0; background: $surface;
            & > .option-list--option { padding: 0 1; }
            & > .option-list--option-highlighted {
                background: $primary 40%; color: $foreground; text-style: bold;
            }
        }
    }
    """

    def __init__(self, title: str, subtitle: str, placeholder: str) -> None:
        super().__init__()
        self._title = title
        self._subtitle = subtitle
        self._placeholder = placeholder

    def compose(self) -> ComposeResult:
        """A line to type in, and the list."""
        with Vertical() as panel:
            panel.border_title = Content(self._title)
            panel.border_subtitle = self._subtitle
            yield Input(placeholder=self._placeholder, compact=True)
            # The line above keeps the keys; the list follows them.
            options = OptionList(markup=False)
            options.can_focus = False
            yield options

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
