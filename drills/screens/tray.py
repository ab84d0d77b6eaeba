"""The tray: names that are not clear wait here; one keystroke says what a name means."""

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
from drills.service.completing import WineBook
from drills.service.tray import (
    Picked,
    Waiting,
    new_wine_command,
    pick,
    places,
    set_lacking,
    take_back,
    waiting,
)

_OFFERED = 5


class TrayScreen(DeskScreen[None]):
    """Lists the names that wait, those in most pours first."""

    ABOUT = (
        "Names from your tastings and your cellar that are no wine of the table, or more than "
        "one. What you pick is remembered as your own name for the wine and holds for every pour "
        "and bottle that waits."
    )
    DEFAULT_CSS = """
    TrayScreen {
        #head { height: auto; min-height: 1; max-height: 4; padding: 0 1; }
        DataTable { height: 1fr; }
        #offers { height: 8; padding: 0 1; border-top: solid $foreground 30%; margin-bottom: 2; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        *(
            Binding(
                f"{number}", f"pick({number})", f"wine {number}", show=False, id=f"pick-{number}",
                tooltip=f"the name means wine {number}",
            )
            for number in range(1, _OFFERED + 1)
        ),
        Binding("slash,enter", "search", "another wine", id="pick-other", tooltip="any other wine"),
        Binding(
            "0", "lacking", "not in the table", id="lacking", tooltip="the table has no such wine"
        ),
        Binding("u", "take_back", "take back", id="undo-pick", tooltip="take the last pick back"),
        Binding("escape", "app.pop_screen", "back", id="back"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self.names: list[Waiting] = []
        self._picked: list[Picked] = []
        self._said = ""

    def compose(self) -> ComposeResult:
        """What waits, and what the name under the cursor could be."""
        yield Static("", id="head", markup=False)
        yield DataTable(cursor_type="row", zebra_stripes=True)
        yield Static("", id="offers", markup=False)
        yield KeyLine("pick-other", "lacking", "undo-pick", "help", "back")

    def on_mount(self) -> None:
        """Name the columns and fill them."""
        table = self.query_one(DataTable)
        for name, width in (("pours", 6), ("as typed", None)):
            table.add_column(name, width=width)
        self._fill()
        table.focus()

    def _fill(self) -> None:
        try:
            self.names = waiting(self.desk)
        except DrillsError as error:
            self._say(str(error))
            return
        table = self.query_one(DataTable)
        place = table.cursor_row
        table.clear()
        for one in self.names:
            style = "dim" if one.lacking else ""
            more = len(one.spellings) - 1
            text = f"{one.text}  (and {count(more, 'other spelling')})" if more else one.text
            if one.cellar:
                text = f"{text}  (in the cellar)"
            if one.lacking:
                text = f"not in the table: {text}"
            table.add_row(Text(f"{one.pours:,}", style=style), Text(text, style=style))
        table.move_cursor(row=min(place, max(len(self.names) - 1, 0)))
        self._say(self._said)
        self._offer()

    def _say(self, words: str) -> None:
        self._said = words
        open_names = [one for one in self.names if not one.lacking]
        lacking = [one for one in self.names if one.lacking]
        stand = places(sum(one.pours for one in open_names), sum(one.cellar for one in open_names))
        parts = [
            f"{count(len(open_names), 'name')} in {stand} to be made clear"
            if open_names
            else "No name waits",
            f"{len(lacking):,} not in the table" if lacking else "",
        ]
        head = "; ".join(part for part in parts if part)
        self.query_one("#head", Static).update(Content(f"{head}\n{words}".strip()))

    def on_data_table_row_highlighted(self) -> None:
        """Another name: other wines it could be."""
        self._offer()

    @property
    def chosen(self) -> Waiting | None:
        """The name under the cursor."""
        place = self.query_one(DataTable).cursor_row
        return self.names[place] if place < len(self.names) else None

    def _offer(self) -> None:
        name = self.chosen
        offers = self.query_one("#offers", Static)
        if name is None:
            offers.update(Content(""))
            return
        lines = [Content(f"“{name.text}” means")]
        if not name.suggestions:
            lines.append(Content("    nothing near it is in the table"))
        for number, wine in enumerate(name.suggestions[:_OFFERED], 1):
            lines.append(
                Content.assemble((f" {number} ", "bold reverse"), f"  {self._described(wine)}")
            )
        if name.lacking:
            lines.append(Content(f"Add it: {new_wine_command(name, name.suggestions)}"))
        offers.update(Content("\n").join(lines))

    def _described(self, wine: str) -> str:
        profile = self.desk.table.profiles.get(wine)
        if profile is None:
            return wine
        return f"{profile.short}  ({profile.region}, {profile.country})"

    def action_pick(self, number: int) -> None:
        """The name means the wine of this number."""
        name = self.chosen
        if name is not None and number <= len(name.suggestions[:_OFFERED]):
            self._take(name, name.suggestions[number - 1])

    def _take(self, name: Waiting, wine: str) -> None:
        try:
            picked = pick(self.desk, name, wine)
        except DrillsError as error:
            self._say(f"Nothing was changed: {error}")
            return
        self._picked.append(picked)
        self._said = (
            f"“{name.text}” is {self.desk.short(wine)} from now on, in "
            f"{places(picked.resolved, name.cellar)}. {self.key_of('undo-pick')} takes it back."
        )
        self._fill()

    def action_search(self) -> None:
        """The name means a wine that is not offered."""
        name = self.chosen
        if name is None:
            return
        from drills.screens.pick_wine import PickWineScreen

        def picked(wine: str | None) -> None:
            if wine:
                self._take(name, wine)

        book = WineBook(self.desk.table, self.desk.names)
        self.app.push_screen(PickWineScreen(book, f"what “{name.text[:30]}” means"), picked)

    def on_data_table_row_selected(self) -> None:
        """Enter and a click on the line under the cursor."""
        self.action_search()

    def action_lacking(self) -> None:
        """The table has no such wine; once more, it may have one."""
        name = self.chosen
        if name is None:
            return
        try:
            set_lacking(self.desk, name, not name.lacking)
        except DrillsError as error:
            self._say(f"Nothing was changed: {error}")
            return
        self._said = (
            f"“{name.text}” waits again."
            if name.lacking
            else f"“{name.text}” is not in the table. Add it: "
            f"{new_wine_command(name, name.suggestions)}"
        )
        self._fill()

    def action_take_back(self) -> None:
        """Take the last pick back."""
        if not self._picked:
            self._say("Nothing was picked here yet.")
            return
        picked = self._picked[-1]
        try:
            take_back(self.desk, picked)
        except DrillsError as error:
            self._say(f"It was not taken back: {error}")
            return
        self._picked.pop()
        self._said = f"“{picked.text}” waits again."
        self._fill()
