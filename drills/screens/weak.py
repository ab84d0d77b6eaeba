"""Weak pairs: which wines are still taken for which, and whether it is theory or the glass."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.events import Resize
from textual.widgets import DataTable, Static

from cards.contrasts import ordered_pair
from cards.errors import CardsError
from drills.confusions import WeakPair
from drills.errors import DrillsError
from drills.phrases import count
from drills.screens.base import DeskScreen
from drills.screens.widgets.corners import CornersPicture
from drills.screens.widgets.key_line import KeyLine
from drills.service.picturing import MARKS
from drills.service.weak import Corner, Overview, overview, weakest

_WIDE = 17
# From this width on list and picture stand side by side.
_BOTH = 130
# Columns of the list up to the rate beside the two names, and how many a name may have.
_BESIDE, _SHORTEST, _LONGEST = 22, 12, 24


def interval(pair: WeakPair) -> str:
    """The credible interval as a bar from 0 to 100%, the rate marked on it."""
    low, high, at = (round(value * (_WIDE - 1)) for value in (pair.low, pair.high, pair.rate))
    return "".join(
        "●" if place == at else "─" if low <= place <= high else "·" for place in range(_WIDE)
    )


def _cut(name: str, width: int) -> Text:
    text = Text(name)
    text.truncate(width, overflow="ellipsis")
    return text


class WeakScreen(DeskScreen[None]):
    """Lists the weak pairs, the most costly first, or shows them between theory and glass."""

    ABOUT = (
        "Each line: what was called, what it was, how often, the rate with its 90% interval. In "
        "the picture each pair is a letter: the further right the better you know its cards, the "
        "higher the better you tell it apart in the glass; on a middle line not enough is known."
    )
    DEFAULT_CSS = """
    WeakScreen {
        #head { height: 2; padding: 0 1; }
        #advice {
            dock: bottom; height: auto; min-height: 3; max-height: 5; padding: 0 1;
            margin-bottom: 1;
        }
        &.crowded #advice { margin-bottom: 2; }
        Horizontal { height: 1fr; }
        DataTable { width: 1fr; height: 1fr; }
        CornersPicture { width: 1fr; }
        &.list CornersPicture, &.picture DataTable { display: none; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("o,enter", "open", "open", id="open-pair", tooltip="history, cards and advice"),
        Binding("d", "drill_pair", "drill this pair", id="drill-pair"),
        Binding(
            "w", "drill_weakest", "drill the weakest", id="drill-weakest",
            tooltip="drill the weakest pairs together",
        ),
        Binding("c", "compare", "compare", id="compare-pair", tooltip="the two side by side"),
        Binding(
            "v", "view", "picture", id="corners", tooltip="theory against glass, or the list"
        ),
        Binding("escape", "app.pop_screen", "back", id="back"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self.pairs: list[WeakPair] = []
        self.found: Overview | None = None
        self._picture = False
        self._cut_at = 0

    def compose(self) -> ComposeResult:
        """A sentence, a list and a picture, and what to do about the pair under the cursor."""
        yield Static("counting…", id="head", markup=False)
        with Horizontal():
            yield DataTable(cursor_type="row", zebra_stripes=True)
            yield CornersPicture()
        yield Static("", id="advice", markup=False)
        yield KeyLine(
            "open-pair", "drill-pair", "drill-weakest", "compare-pair", "corners", "help", "back"
        )

    def on_mount(self) -> None:
        """Count in the background: the statistics library takes a moment to load."""
        self._arrange()
        self._count()

    def on_resize(self, event: Resize) -> None:
        """Show list and picture side by side where both have room."""
        self._arrange(event.size.width)

    def _arrange(self, width: int | None = None) -> None:
        both = (width or self.size.width) >= _BOTH
        self.set_class(not both and not self._picture, "list")
        self.set_class(not both and self._picture, "picture")
        self.set_class((width or self.size.width) < 100, "crowded")
        self._fill((width or self.size.width) // (2 if both else 1))

    def _fill(self, width: int) -> None:
        """List the pairs, names cut so that the rate always has room."""
        name = min(max((width - _BESIDE) // 2, _SHORTEST), _LONGEST)
        table = self.query_one(DataTable)
        if name == self._cut_at:
            return
        self._cut_at, at = name, table.cursor_row
        table.clear(columns=True)
        table.add_columns("", "called", "was", "times", "rate", "0% 90% range 100%")
        corners = self.found.corners if self.found else ()
        marks = dict(zip((one.wines for one in corners), MARKS, strict=False))
        for pair in self.pairs:
            table.add_row(
                marks.get(ordered_pair(pair.called, pair.was), ""),
                *(_cut(self.desk.short(wine), name) for wine in (pair.called, pair.was)),
                f"{pair.times}",
                f"{pair.rate:.0%}",
                interval(pair),
            )
        table.move_cursor(row=at)

    @work(thread=True, exclusive=True)
    def _count(self) -> None:
        try:
            found = overview(self.desk)
        except DrillsError as error:
            self.app.call_from_thread(self._say, str(error))
        else:
            self.app.call_from_thread(self._show, found)

    def _say(self, words: str) -> None:
        self.query_one("#head", Static).update(Content(words))

    def _show(self, found: Overview) -> None:
        self.found = found
        self.pairs = list(found.weak)
        resolved = count(len(found.resolved), "pair")
        self.query_one(CornersPicture).show([*found.corners, *found.resolved])
        if not self.pairs:
            if found.resolved:
                self._say(f"No pair is weak now; {resolved} resolved in the glass (v shows them).")
            else:
                self._say(
                    "No confusion is logged yet. Add a tasting: what you mixed up stands here."
                )
            return
        head = "Weak pairs, the most costly first."
        if found.resolved:
            head += f" {resolved} resolved in the glass left the list."
        self._say(head)
        self._cut_at = 0
        self._arrange()
        if not self._picture:
            self.query_one(DataTable).focus()
        self._advise(self.corner)

    @property
    def corner(self) -> Corner | None:
        """The pair under the cursor."""
        picture = self.query_one(CornersPicture)
        if self._picture or picture.has_focus:
            return picture.corners[picture.at] if picture.corners else None
        row = self.query_one(DataTable).cursor_row
        if self.found is None or not 0 <= row < len(self.pairs):
            return None
        return self.found.corner(self.pairs[row].called, self.pairs[row].was)

    @property
    def wines(self) -> tuple[str, str] | None:
        """The two wines under the cursor; in the list the called one first."""
        row = self.query_one(DataTable).cursor_row
        if not self._picture and not self.query_one(CornersPicture).has_focus:
            if 0 <= row < len(self.pairs):
                return self.pairs[row].called, self.pairs[row].was
            return None
        return self.corner.wines if self.corner else None

    def _advise(self, corner: Corner | None) -> None:
        advice = Content("")
        if corner is not None:
            one, other = map(self.desk.short, corner.wines)
            advice = Content.assemble(
                (f"{one} / {other}: ", "bold"),
                f"theory {corner.verdict.theory}, glass {corner.verdict.glass}. ",
                corner.verdict.sentence,
            )
        self.query_one("#advice", Static).update(advice)

    def on_data_table_row_highlighted(self) -> None:
        """The cursor moved in the list."""
        corner = self.corner
        self.query_one(CornersPicture).mark(corner)
        self._advise(corner)

    def on_data_table_row_selected(self) -> None:
        """Enter or a click on a line."""
        self.action_open()

    def on_corners_picture_moved(self, message: CornersPicture.Moved) -> None:
        """Another point is marked: its line in the list as well."""
        for row, pair in enumerate(self.pairs):
            if {pair.called, pair.was} == set(message.corner.wines):
                with self.prevent(DataTable.RowHighlighted):
                    self.query_one(DataTable).move_cursor(row=row)
                break
        self._advise(message.corner)

    def on_corners_picture_opened(self, message: CornersPicture.Opened) -> None:
        """A point was opened."""
        self._open(message.corner.wines)

    def action_open(self) -> None:
        """Open the pair under the cursor."""
        if (wines := self.wines) is not None:
            self._open(wines)

    def _open(self, wines: tuple[str, str]) -> None:
        from drills.screens.pair import PairScreen

        self.app.push_screen(PairScreen(*wines))

    def action_view(self) -> None:
        """Go from the list to the picture, or back."""
        self._picture = not self._picture
        self._arrange()
        if self._picture:
            self.query_one(CornersPicture).focus()
        else:
            self.query_one(DataTable).focus()
        self._advise(self.corner)

    def action_drill_pair(self) -> None:
        """Drill the pair under the cursor."""
        if (wines := self.wines) is not None:
            self._drill([wines])

    def action_drill_weakest(self) -> None:
        """Drill the weakest pairs, one after the other by turns."""
        if self.found is not None and self.found.corners:
            self._drill(weakest(self.found))

    def _drill(self, pairs: list[tuple[str, str]]) -> None:
        from drills.screens.opening import drill_screen, go_drilling, pairs_screen

        try:
            if len(pairs) == 1:
                screen = drill_screen(self.desk, pair=pairs[0])
            else:
                screen = pairs_screen(self.desk, pairs)
        except (CardsError, DrillsError) as error:
            self.notify(str(error), severity="error", markup=False)
        else:
            go_drilling(self.app, screen)

    def action_compare(self) -> None:
        """Set the pair under the cursor side by side."""
        from drills.screens.compare import CompareScreen

        if (wines := self.wines) is not None:
            self.app.push_screen(CompareScreen(*wines))
