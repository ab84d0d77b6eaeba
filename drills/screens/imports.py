"""Earlier imports: when, from where, how many pours; one can be taken back whole."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import DataTable, Static

from drills.errors import DrillsError
from drills.phrases import count
from drills.screens.base import DeskScreen
from drills.screens.widgets.key_line import KeyLine
from drills.service.imports import imports, take_back
from drills.storage.records import IntakeRecord


class ImportsScreen(DeskScreen[None]):
    """Lists the imports, the newest first."""

    ABOUT = (
        "Each line is a file or a list that was taken in. Taking one back removes all its pours; "
        "the file itself is not touched and may be taken in again."
    )
    DEFAULT_CSS = """
    ImportsScreen {
        #told { height: auto; min-height: 2; max-height: 4; padding: 0 1; }
        DataTable { height: 1fr; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("u", "take_back", "take back", id="undo-import", tooltip="take this import back"),
        Binding("escape", "app.pop_screen", "back", id="back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.imports: list[IntakeRecord] = []
        self._sure_of: int | None = None

    def compose(self) -> ComposeResult:
        """What the keys do, and the list."""
        yield Static("", id="told", markup=False)
        yield DataTable(cursor_type="row", zebra_stripes=True)
        yield KeyLine("undo-import", "help", "back")

    def on_mount(self) -> None:
        """Name the columns and fill them."""
        table = self.query_one(DataTable)
        for name, width in (("no", 5), ("on", 16), ("pours", 7), ("from", None)):
            table.add_column(name, width=width)
        self._fill()
        table.focus()

    def _fill(self) -> None:
        try:
            self.imports = imports(self.desk)
        except DrillsError as error:
            self._say(str(error))
            return
        table = self.query_one(DataTable)
        place = table.cursor_row
        table.clear()
        for one in self.imports:
            undone = one.undone_at is not None
            style = "dim strike" if undone else ""
            when = one.made_at.astimezone()
            cells = (f"{one.id}", f"{when:%Y-%m-%d %H:%M}", f"{one.pours:,}", one.source)
            table.add_row(*(Text(cell, style=style) for cell in cells))
        table.move_cursor(row=min(place, max(len(self.imports) - 1, 0)))
        self._say(
            f"{self.key_of('undo-import')} takes the import under the cursor back."
            if self.imports
            else "Nothing was imported yet."
        )

    def on_data_table_row_highlighted(self) -> None:
        """Another line: what was asked about the one before no longer holds."""
        if self._sure_of is not None:
            self._sure_of = None
            self._say(f"{self.key_of('undo-import')} takes the import under the cursor back.")

    def action_take_back(self) -> None:
        """Ask once, then take the import back."""
        if not self.imports:
            return
        one = self.imports[self.query_one(DataTable).cursor_row]
        if one.undone_at is not None:
            self._say(f"Import {one.id} was taken back already.")
            return
        if self._sure_of != one.id:
            self._sure_of = one.id
            self._say(
                f"Take out the {count(one.pours, 'pour')} of “{one.source}”? "
                f"{self.key_of('undo-import')} once more does it; another line leaves it."
            )
            return
        self._sure_of = None
        try:
            _, gone = take_back(self.desk, one.id)
        except DrillsError as error:
            self._say(f"Nothing was taken back: {error}")
            return
        self._fill()
        self._say(f"{count(gone, 'pour')} of “{one.source}” taken out; it may be taken in again.")

    def _say(self, words: str) -> None:
        self.query_one("#told", Static).update(Content(words))
