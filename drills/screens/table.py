"""The table: search as you type, filters by key, and from each wine to its profile."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.coordinate import Coordinate
from textual.events import Click, DescendantBlur, DescendantFocus, Resize
from textual.message import Message
from textual.widgets import DataTable, Input, Static

from drills.screens.base import DeskScreen
from drills.screens.in_place import put
from drills.screens.widgets.bars import cut
from drills.screens.widgets.key_line import KeyLine
from drills.service.browsing import Browser, Filters, WineRow

# The filters with their keys, in the order in which they stand in the line.
_FILTERS: Mapping[str, str] = {
    "style": "f5",
    "world": "f6",
    "country": "f7",
    "grape": "f2",
    "cue": "f3",
}
# Few values are gone through by the key itself; many are chosen from a list.
_CYCLED = ("style", "world")
_BROWSING = ("search", "open", "mark", "compare", "clear", "help", "back")
_SEARCHING = ("to-list", "clear", "help", "back")
# On fewer columns the words of filters and marks are cut short.
_NARROW = 80
# From so many columns on the grapes have a column too.
_ROOMY = 140
_LEAST_TELLING = 12
# No search needs more signs; what is pasted by mistake may be a whole file.
_LONGEST = 200
# The search index is built so long after the screen stands, in seconds.
_WARM_AFTER = 0.3


class SearchLine(Input):
    """The line that the words are typed in."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "screen.to_list", "list", id="to-list", tooltip="go on to the list"),
    ]


class FilterWord(Static):
    """A filter in words with its key; a click does what the key does."""

    DEFAULT_CSS = """
    FilterWord {
        width: auto; height: 1; padding: 0 1; color: $text-muted;
        &:hover { background: $boost; }
        &.-set { color: $secondary; text-style: bold; }
    }
    """

    class Clicked(Message):
        """The taster clicked the filter."""

        def __init__(self, name: str) -> None:
            super().__init__()
            self.filter = name

    def __init__(self, name: str) -> None:
        super().__init__(markup=False, id=f"filter-{name}")
        self.filter = name

    def show(self, key: str, words: str, *, is_set: bool) -> None:
        """Show the filter's value, or its name where it is not set."""
        self.set_class(is_set, "-set")
        self.update(Content.assemble((f"{key.lower()} ", "bold"), words))

    def on_click(self, event: Click) -> None:
        """Change it."""
        event.stop()
        self.post_message(self.Clicked(self.filter))


class TableScreen(DeskScreen[None]):
    """Lists the wines that answer to the words and filters. Built once, updated in place."""

    ABOUT = (
        "Every wine of the table. Type after “/”: names, grapes and places in any language, "
        "countries, new world, high acid, 13.5%, or what you smell; every word must be found. "
        "Mark one wine, then another, to see them side by side."
    )
    DEFAULT_CSS = """
    TableScreen {
        #top { dock: top; height: 1; background: $panel; }
        #slash { width: 3; padding: 0 1; text-style: bold; color: $text-muted; }
        SearchLine { width: 1fr; background: $panel; &:focus { background: $boost; } }
        #count { width: 50%; max-width: 40; padding: 0 1; color: $text-muted; text-align: right; }
        #filters { height: 1; }
        #nothing { display: none; padding: 1 2; height: auto; }
        DataTable { height: 1fr; scrollbar-size-vertical: 1; }
        &.-nothing #nothing { display: block; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("slash", "search", "search", id="search", tooltip="type to search"),
        Binding("p,enter", "open", "profile", id="open", tooltip="its profile page"),
        Binding(
            "m", "mark", "mark", id="mark", tooltip="mark a wine; the second opens the comparison"
        ),
        Binding("c", "compare", "compare", id="compare", tooltip="compare with the marked wine"),
        Binding("f5", "filter('style')", "style", id="style", tooltip="next style"),
        Binding("f6", "filter('world')", "world", id="world", tooltip="old or new world"),
        Binding("f7", "filter('country')", "country", id="country", tooltip="choose a country"),
        Binding("f2", "filter('grape')", "grape", id="grape", tooltip="choose a grape"),
        Binding("f3", "filter('cue')", "cue", id="cue", tooltip="choose a cue the wine must show"),
        Binding("f8", "clear", "all wines", id="clear", tooltip="clear the words and filters"),
        Binding("escape", "back", "back", id="back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.filters = Filters()
        self.wines: list[str] = []
        self.marked: str | None = None
        self._text = ""
        self._columns: tuple[int, ...] = ()
        self._rows: dict[str, Text] = {}

    def compose(self) -> ComposeResult:
        """The search line, the filters, the wines."""
        with Horizontal(id="top"):
            yield Static("/", id="slash", markup=False)
            yield SearchLine(
                placeholder="a wine, grape, place, cue", compact=True, max_length=_LONGEST
            )
            yield Static("", id="count", markup=False)
        with Horizontal(id="filters"):
            for name in _FILTERS:
                yield FilterWord(name)
        yield Static("", id="nothing", markup=False)
        yield DataTable(cursor_type="row", zebra_stripes=True, cell_padding=0)
        yield KeyLine(*_BROWSING)

    def on_mount(self) -> None:
        """List every wine; the words to search are gathered once the screen stands."""
        self.browser = Browser(self.desk.table)
        self._show_filters()
        self._find()
        self.query_one(DataTable).focus()
        self.set_timer(_WARM_AFTER, lambda: self.browser.search)

    def on_screen_resume(self) -> None:
        """Read the table anew if a fact has changed meanwhile."""
        if self.browser.table is not self.desk.table:
            self.browser = Browser(self.desk.table)
            self._rows.clear()
            if self.marked not in self.desk.table.profiles:
                self.marked = None
            self._find(anew=True)

    def on_resize(self, event: Resize) -> None:
        """Share the line out anew."""
        self._show_filters()
        if event.size.width and self._shares() != self._columns:
            self._find(anew=True)

    def on_descendant_focus(self, _: DescendantFocus) -> None:
        """The keys are others while words are typed."""
        self._show_keys()

    def on_descendant_blur(self, _: DescendantBlur) -> None:
        """The keys are others while words are typed."""
        self._show_keys()

    def _show_keys(self) -> None:
        typing = self.query_one(SearchLine).has_focus
        self.query_one(KeyLine).show(_SEARCHING if typing else _BROWSING)

    # ---- what is listed

    def _find(self, *, anew: bool = False, best: bool = False) -> None:
        """List the wines that answer now; the cursor stays on its wine, or goes to the best."""
        found = self.browser.find(self._text, self.filters)
        self._show_count(len(found))
        self.set_class(not found, "-nothing")
        if not found:
            self.query_one("#nothing", Static).update(self._nothing())
        if found == self.wines and not anew:
            return
        under = "" if best else self._under_cursor()
        self.wines = found
        self._list(found.index(under) if under in found else 0)

    def _list(self, at: int) -> None:
        table = self.query_one(DataTable)
        shares = self._shares()
        if shares != self._columns:
            self._columns = shares
            self._rows.clear()
            table.clear(columns=True)
            names = ("  wine", "style", "country", "% vol", "telling", "grapes")
            # One column for the library: five cost it 35 to 60 ms more on every keystroke.
            table.add_column(self._line(names), width=sum(shares))
        else:
            table.clear()
        for wine in self.wines:
            table.add_row(self._row(wine), key=wine)
        if at:
            table.move_cursor(row=at)

    def _row(self, wine: str) -> Text:
        line = self._rows.get(wine)
        if line is None:
            line = self._rows[wine] = self._line(self._words(self.browser.row(wine)))
        return line

    def _line(self, words: Sequence[str]) -> Text:
        parts = zip(words, self._columns, strict=False)
        line = "".join(f"{cut(part, width - 1):<{width}}" for part, width in parts)
        return Text(line, no_wrap=True, end="")

    def _words(self, row: WineRow) -> tuple[str, ...]:
        sign = "● " if row.wine == self.marked else "  "
        return (sign + row.short, row.style, row.country, row.alcohol, row.telling, row.grapes)

    def _shares(self) -> tuple[int, ...]:
        """The widths of the columns, a blank between them included."""
        shares = (26, 10, 14, 10)
        rest = self.size.width - sum(shares) - 1
        if rest < 0:
            return (shares[0] + rest, *shares[1:])
        if rest < _LEAST_TELLING:
            return shares
        if self.size.width < _ROOMY:
            return (*shares, rest)
        return (*shares, rest - rest // 3, rest // 3)

    def _show_count(self, number: int) -> None:
        of = len(self.browser.table.profiles)
        told = f"{number} of {of}" if number != of else f"{of} wines"
        mark = f"● {self.desk.short(self.marked)}  " if self.marked else ""
        if self.size.width < _NARROW:
            mark = mark and "●  "
        put(self.query_one("#count", Static), Content.assemble((mark, "$secondary"), told))

    def _show_filters(self) -> None:
        for name in _FILTERS:
            value = getattr(self.filters, name)
            words = cut(self.browser.words(name, value), 9 if self.size.width < _NARROW else 18)
            self.query_one(f"#filter-{name}", FilterWord).show(
                self.key_of(name), words, is_set=bool(value)
            )

    def _nothing(self) -> Content:
        words = f" answers to “{self._text.strip()}”" if self._text.strip() else " is left"
        also = " with these filters" if self.filters else ""
        return Content(f"No wine of the table{words}{also}. {self.key_of('clear')} shows all.")

    def _under_cursor(self) -> str | None:
        row = self.query_one(DataTable).cursor_row
        return self.wines[row] if 0 <= row < len(self.wines) else None

    # ---- what the taster does

    def on_input_changed(self, message: Input.Changed) -> None:
        """A keystroke in the search line; the best wine comes under the cursor."""
        self._text = message.value
        self._find(best=True)

    def on_input_submitted(self) -> None:
        """Enter in the search line."""
        self.action_to_list()

    def action_search(self) -> None:
        """Type to search."""
        self.query_one(SearchLine).focus()

    def action_to_list(self) -> None:
        """From the search line to the list."""
        self.query_one(DataTable).focus()

    def action_clear(self) -> None:
        """Show every wine again."""
        self.filters = Filters()
        self._show_filters()
        self._text = ""
        search = self.query_one(SearchLine)
        with search.prevent(Input.Changed):
            search.value = ""
        self._find()

    def action_filter(self, name: str) -> None:
        """Go on to the next value of a filter, or choose one from a list."""
        choices = self.browser.choices(name, self._text, self.filters)
        if name in _CYCLED:
            keys = ["", *(choice.key for choice in choices)]
            now = getattr(self.filters, name)
            at = keys.index(now) if now in keys else 0
            self._set_filter(name, keys[(at + 1) % len(keys)])
            return
        from drills.screens.choose import ChooseScreen

        def chosen(key: str | None) -> None:
            if key is not None:
                self._set_filter(name, key)

        self.app.push_screen(ChooseScreen(name, choices, getattr(self.filters, name)), chosen)

    def _set_filter(self, name: str, key: str) -> None:
        self.filters = replace(self.filters, **{name: key})
        self._show_filters()
        self._find()

    def on_filter_word_clicked(self, message: FilterWord.Clicked) -> None:
        """A click on a filter."""
        self.action_filter(message.filter)

    def on_data_table_row_selected(self) -> None:
        """Enter, or a click on the line under the cursor."""
        self.action_open()

    def action_open(self) -> None:
        """Open the profile page of the wine under the cursor."""
        from drills.screens.profile import ProfileScreen

        wine = self._under_cursor()
        if wine is not None:
            self.app.push_screen(ProfileScreen(wine))

    def action_mark(self) -> None:
        """Mark the wine under the cursor; if another is marked, compare the two."""
        wine = self._under_cursor()
        if wine is None:
            return
        if self.marked not in (None, wine):
            self.action_compare()
            return
        self._mark(None if self.marked == wine else wine)

    def action_compare(self) -> None:
        """Compare the wine under the cursor with the marked one."""
        from drills.screens.compare import CompareScreen

        wine, marked = self._under_cursor(), self.marked
        if wine is None:
            return
        if marked is None or marked == wine:
            self.notify("Mark one wine, then go to another.")
            return
        self._mark(None)
        self.app.push_screen(CompareScreen(marked, wine))

    def _mark(self, wine: str | None) -> None:
        table = self.query_one(DataTable)
        changed = {self.marked, wine} - {None}
        self.marked = wine
        for one in changed:
            if one is not None:
                self._rows.pop(one, None)
                if one in self.wines:
                    table.update_cell_at(Coordinate(self.wines.index(one), 0), self._row(one))
        self._show_count(len(self.wines))

    def action_back(self) -> None:
        """From the search line to the list, from the list to where the taster came from."""
        if self.query_one(SearchLine).has_focus:
            self.action_to_list()
        else:
            self.app.pop_screen()
