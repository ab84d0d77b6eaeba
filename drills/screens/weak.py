"""Weak pairs: which wines are still taken for which, and how sure the log is of it."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import DataTable, Static

from cards.errors import CardsError
from drills.confusions import WeakPair
from drills.errors import DrillsError
from drills.screens.base import DeskScreen
from drills.screens.widgets.key_line import KeyLine
from drills.service.weak import weak

_WIDE = 20


def interval(pair: WeakPair) -> str:
    """The credible interval as a bar from 0 to 100%, the rate marked on it."""
    low, high, at = (round(value * (_WIDE - 1)) for value in (pair.low, pair.high, pair.rate))
    return "".join(
        "●" if place == at else "─" if low <= place <= high else "·" for place in range(_WIDE)
    )


class WeakScreen(DeskScreen[None]):
    """Lists the weak pairs, the most costly first."""

    ABOUT = "Each line: what was called, what it was, how often, and the rate with its interval."
    DEFAULT_CSS = """
    WeakScreen {
        #head { height: 2; padding: 0 1; }
        DataTable { height: 1fr; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("d,enter", "drill_pair", "drill this pair", id="drill-pair"),
        Binding("c", "compare", "compare", id="compare-pair", tooltip="the two side by side"),
        Binding("escape", "app.pop_screen", "back", id="back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.pairs: list[WeakPair] = []

    def compose(self) -> ComposeResult:
        """A sentence and a list."""
        yield Static("counting…", id="head", markup=False)
        yield DataTable(cursor_type="row", zebra_stripes=True)
        yield KeyLine("drill-pair", "compare-pair", "help", "back")

    def on_mount(self) -> None:
        """Count in the background: the statistics library takes a moment to load."""
        table = self.query_one(DataTable)
        table.add_columns("called", "was", "times", "rate", "0% 90% interval 100%")
        self._count()

    @work(thread=True, exclusive=True)
    def _count(self) -> None:
        try:
            pairs = weak(self.desk)
        except DrillsError as error:
            self.app.call_from_thread(self._say, str(error))
        else:
            self.app.call_from_thread(self._show, pairs)

    def _say(self, words: str) -> None:
        self.query_one("#head", Static).update(Content(words))

    def _show(self, pairs: list[WeakPair]) -> None:
        self.pairs = pairs
        if not pairs:
            self._say("No confusion is logged yet. Add a tasting: what you mixed up stands here.")
            return
        self._say("Weak pairs, the most costly first. Their cards come first in the next drill.")
        table = self.query_one(DataTable)
        for pair in pairs:
            table.add_row(
                Text(self.desk.short(pair.called)),
                Text(self.desk.short(pair.was)),
                f"{pair.times}",
                f"{pair.rate:.0%}",
                interval(pair),
            )
        table.focus()

    def on_data_table_row_selected(self) -> None:
        """Enter on a line."""
        self.action_drill_pair()

    def action_drill_pair(self) -> None:
        """Drill the pair under the cursor."""
        from drills.screens.opening import drill_screen

        row = self.query_one(DataTable).cursor_row
        if 0 <= row < len(self.pairs):
            pair = self.pairs[row]
            try:
                screen = drill_screen(self.desk, pair=(pair.called, pair.was))
            except (CardsError, DrillsError) as error:
                self.notify(str(error), severity="error", markup=False)
            else:
                self.app.switch_screen(screen)

    def action_compare(self) -> None:
        """Set the pair under the cursor side by side."""
        from drills.screens.compare import CompareScreen

        row = self.query_one(DataTable).cursor_row
        if 0 <= row < len(self.pairs):
            pair = self.pairs[row]
            self.app.push_screen(CompareScreen(pair.called, pair.was))
