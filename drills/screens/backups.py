"""The daily backups: what each holds, and one put back in the place of the database."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import DataTable, Static

from drills.errors import DrillsError
from drills.phrases import count
from drills.screens.base import DeskScreen
from drills.screens.widgets.key_line import KeyLine
from drills.service import keeping_safe
from drills.storage.rotation import Backup

_USUAL = "puts the backup under the cursor in the place of your answers and tastings."


class BackupsScreen(DeskScreen[None]):
    """Lists the backups, the newest first. `damage` says what is wrong with the database, if so."""

    ABOUT = (
        "Each line is a whole copy of your answers and tastings. What stood in its place before "
        "keeps another name, so that putting one back can be taken back too."
    )
    DEFAULT_CSS = """
    BackupsScreen {
        #told { height: auto; min-height: 2; max-height: 8; padding: 0 1; }
        DataTable { height: 1fr; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("r", "restore", "put back", id="restore", tooltip="put this backup back"),
        Binding("b", "back_up", "back up now", id="back-up", tooltip="make a backup now"),
        Binding("escape", "leave", "back", id="leave-backups", tooltip="leave all as it is"),
    ]

    def __init__(self, damage: str = "") -> None:
        super().__init__()
        self.damage = damage
        self.backups: list[Backup] = []
        self._sure_of: Backup | None = None

    def compose(self) -> ComposeResult:
        """What is wrong and what the keys do, and the list."""
        yield Static("", id="told", markup=False)
        yield DataTable(cursor_type="row", zebra_stripes=True)
        yield KeyLine("restore", "back-up", "help", "leave-backups")

    def on_mount(self) -> None:
        """Name the columns, and look at the backups beside the screen: they may be large."""
        table = self.query_one(DataTable)
        for name, width in (("day", 11), ("made", 17), ("answers", 10), ("pours", 7), ("", None)):
            table.add_column(name, width=width)
        table.focus()
        self._say("Looking at the backups.")
        self._look()

    @work(thread=True, exclusive=True)
    def _look(self, first: Callable[[], object] | None = None) -> None:
        call = self.app.call_from_thread
        try:
            if first is not None:
                first()
            found = keeping_safe.backups(self.desk)
        except DrillsError as error:
            call(self._say, str(error))
        else:
            call(self._fill, found)

    def _fill(self, found: list[Backup]) -> None:
        self.backups = found
        table = self.query_one(DataTable)
        table.clear()
        for one in found:
            style = "dim strike" if one.problem else ""
            state = "cannot be put back" if one.problem else f"{one.size / 1e6:,.1f} MB"
            cells = (
                one.day.isoformat(),
                f"{one.made_at.astimezone():%Y-%m-%d %H:%M}",
                f"{one.answers:,}",
                f"{one.pours:,}",
                state,
            )
            table.add_row(*(Text(cell, style=style) for cell in cells))
        sound = [row for row, one in enumerate(found) if not one.problem]
        if sound:
            table.move_cursor(row=sound[0])
            self._say(f"{self.key_of('restore')} {_USUAL}")
        else:
            self._say("There is no backup that could be put back.")
        self.query_one(KeyLine).redraw()

    def on_data_table_row_highlighted(self) -> None:
        """Another line: what was asked about the one before no longer holds."""
        if self._sure_of is not None and self._sure_of is not self._chosen:
            self._sure_of = None
            self._say(f"{self.key_of('restore')} {_USUAL}")

    @property
    def _chosen(self) -> Backup | None:
        row = self.query_one(DataTable).cursor_row
        return self.backups[row] if 0 <= row < len(self.backups) else None

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only what can be done stands at the foot."""
        if action == "restore":
            return bool(self.backups)
        return super().check_action(action, parameters)

    def action_restore(self) -> None:
        """Ask once, then put the backup back and begin anew on the first screen."""
        one = self._chosen
        if one is None:
            return
        if one.problem:
            self._say(one.problem)
            return
        if self._sure_of is not one:
            self._sure_of = one
            held = f"{count(one.answers, 'answer')} and {count(one.pours, 'pour')}"
            self._say(
                f"Go back to {one.day}, with {held}? What there is now keeps another name. "
                f"{self.key_of('restore')} once more does it; another line leaves it."
            )
            return
        self._sure_of = None
        try:
            done = keeping_safe.restore(self.desk, one.file)
            _ = self.desk.taster
        except DrillsError as error:
            self._say(f"Nothing was put back: {error}")
            return
        from drills.screens.opening import go_home

        go_home(self.app)
        kept = f" The file from before is {done.kept}." if done.kept else ""
        self.app.notify(f"The backup of {one.day} is in place.{kept}", timeout=15, markup=False)

    def action_back_up(self) -> None:
        """Make a backup now."""
        self._say("Backing up.")
        self._look(lambda: keeping_safe.back_up_now(self.desk))

    def action_leave(self) -> None:
        """Go back, or leave the program where nothing stands below."""
        if len(self.app.screen_stack) > 2:
            self.app.pop_screen()
        else:
            self.app.exit(return_code=1 if self.damage else 0)

    def _say(self, words: str) -> None:
        parts = [Content.styled(f"{self.damage}.\n", "bold $error")] if self.damage else []
        self.query_one("#told", Static).update(Content.assemble(*parts, words))
