"""Two wines side by side: every cue drawn to the wine it points to, strongest first."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.events import Resize
from textual.widgets import OptionList, Static

from cards.errors import CardsError
from drills.errors import DrillsError
from drills.phrases import count
from drills.screens.base import DeskScreen
from drills.screens.in_place import put
from drills.screens.reason import ReasonScreen
from drills.screens.widgets.cue_line import CueColumns, cue_line, names_line
from drills.screens.widgets.key_line import KeyLine
from drills.service.comparing import ComparedCue, Comparison, compare

if TYPE_CHECKING:
    from cards.tables import Table

# Everything of the line that holds no text: the padding of an option and the scroll bar.
_EDGES = 3


class CompareScreen(DeskScreen[None]):
    """Compares two wines. `swap` changes sides, never what the cues say."""

    ABOUT = (
        "Every cue of two wines, strongest first. The bar points to the wine that shows more of "
        "it; on the other side stands what that wine's profile says. Weights are in decibans "
        "(db): 5 make the wine three times as likely, 10 ten times."
    )
    DEFAULT_CSS = """
    CompareScreen {
        #names { dock: top; height: 1; background: $panel; padding: 0 1; }
        #told { height: 1; padding: 0 1; color: $text-muted; }
        OptionList {
            height: 1fr; border: none; padding: 0; background: $background;
            scrollbar-size-vertical: 1;
            &:focus { border: none; background-tint: $foreground 0%; }
            & > .option-list--option { padding: 0 1; }
            & > .option-list--option-highlighted,
            &:focus > .option-list--option-highlighted {
                background: $panel; color: $foreground; text-style: none;
            }
            & > .option-list--option-hover { background: $boost; }
        }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("d", "drill_pair", "drill", id="drill-pair", tooltip="drill this pair"),
        Binding("s", "swap", "swap", id="swap", tooltip="swap the sides"),
        Binding("o", "strong", "strong", id="strong", tooltip="only strong cues, or all"),
        Binding(
            "w,enter",
            "reason",
            "why",
            id="reason",
            tooltip="why: cause, sources",
        ),
        Binding("x", "dispute", "dispute", id="dispute", tooltip="dispute this fact"),
        Binding("escape", "app.pop_screen", "back", id="back"),
    ]

    def __init__(self, left: str, right: str) -> None:
        super().__init__()
        self._wines = (left, right)
        self._strong = False
        self.comparison: Comparison | None = None
        self.shown: list[ComparedCue] = []
        self._told_at: int | None = None
        self._table: Table | None = None

    def compose(self) -> ComposeResult:
        """The names, a sentence, and the cues."""
        yield Static("", id="names", markup=False)
        yield Static("", id="told", markup=False)
        yield OptionList(markup=False)
        yield KeyLine("drill-pair", "swap", "strong", "reason", "dispute", "help", "back")

    def on_mount(self) -> None:
        """Weigh the cues."""
        self._weigh()
        self.query_one(OptionList).focus()

    def on_screen_resume(self) -> None:
        """Weigh anew if a fact has changed meanwhile."""
        if self._table is not self.desk.table:
            self._weigh()

    def on_resize(self, event: Resize) -> None:
        """Share the line out anew."""
        if self.comparison is not None and event.size.width:
            self._draw(self.query_one(OptionList).highlighted or 0)

    def _weigh(self) -> None:
        table = self._table = self.desk.table
        if not all(wine in table.profiles for wine in self._wines):
            self.comparison, self.shown = None, []
            self.query_one(OptionList).clear_options()
            self.query_one("#told", Static).update("The table no longer holds both wines.")
            return
        self.comparison = compare(self.desk, *self._wines)
        self._draw(0)

    @property
    def _columns(self) -> CueColumns:
        return CueColumns.of(self.size.width - _EDGES)

    def _draw(self, at: int) -> None:
        """Show the cues with the one in place `at` told in full."""
        comparison, columns = self.comparison, self._columns
        if comparison is None:
            return
        strong = [cue for cue in comparison.cues if cue.strong]
        self.shown = strong if self._strong else list(comparison.cues)
        put(self.query_one("#names", Static), names_line(comparison, columns))
        told = count(len(comparison.cues), "cue") + f", {len(strong)} of them strong"
        if self._strong:
            told = f"the {count(len(strong), 'strong cue')} of {len(comparison.cues)}"
        told = f"{told}; strongest first".center(columns.width)
        put(self.query_one("#told", Static), Content(told))
        options = self.query_one(OptionList)
        at = min(at, len(self.shown) - 1)
        self._told_at = at
        options.set_options(
            cue_line(cue, columns, told=place == at) for place, cue in enumerate(self.shown)
        )
        options.highlighted = at if self.shown else None

    def on_option_list_option_highlighted(self, message: OptionList.OptionHighlighted) -> None:
        """Tell the cause of the cue under the cursor."""
        options, columns = message.option_list, self._columns
        for place in {self._told_at, options.highlighted} - {None}:
            if place is not None and place < len(self.shown):
                told = place == options.highlighted
                line = cue_line(self.shown[place], columns, told=told)
                options.replace_option_prompt_at_index(place, line)
        self._told_at = options.highlighted

    def on_option_list_option_selected(self) -> None:
        """Enter or a click on a cue."""
        self.action_reason()

    def action_reason(self) -> None:
        """Show the full reason of the cue under the cursor."""
        place = self.query_one(OptionList).highlighted
        if self.comparison is not None and place is not None:
            self.app.push_screen(ReasonScreen(self.comparison, self.shown[place]))

    def action_swap(self) -> None:
        """Swap the sides; the cursor stays on its cue."""
        self._wines = (self._wines[1], self._wines[0])
        if self.comparison is not None:
            self.comparison = compare(self.desk, *self._wines)
            self._draw(self.query_one(OptionList).highlighted or 0)

    def action_strong(self) -> None:
        """Show only strong cues, or all of them again."""
        self._strong = not self._strong
        self._draw(0)

    def action_drill_pair(self) -> None:
        """Drill these two wines."""
        from drills.screens.opening import drill_screen, go_drilling

        if self.comparison is None:
            return
        try:
            screen = drill_screen(self.desk, pair=self._wines)
        except (CardsError, DrillsError) as error:
            self.notify(str(error), severity="error", markup=False)
            return
        go_drilling(self.app, screen)

    def action_dispute(self) -> None:
        """Say what the table should say of the cue under the cursor."""
        place = self.query_one(OptionList).highlighted
        if self.comparison is None or place is None:
            return
        from drills.screens.dispute import DisputeScreen, OneCue
        from drills.service.showing import Glass

        left, right = (
            Glass(wine, name, self.desk.table.profiles[wine].region)
            for wine, name in zip(self._wines, self.comparison.names, strict=True)
        )
        cue = OneCue(left, right, self.shown[place].story.attribute)
        # What changed is weighed anew as soon as this screen is on top again.
        self.app.push_screen(DisputeScreen(self.desk, cue))
