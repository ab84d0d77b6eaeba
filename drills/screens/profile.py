"""A profile page: one wine as a taster meets it, and the wines it is taken for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.events import Click, Resize
from textual.message import Message
from textual.widgets import Static

from drills.screens.base import DeskScreen
from drills.screens.widgets.fact_sheet import FactSheet
from drills.screens.widgets.key_line import KeyLine
from drills.service.profile import MOST_LATERALS, NearWine, ProfileView, profile_view

if TYPE_CHECKING:
    from cards.tables import Table

_WIDE = 120


class LateralLine(Static):
    """A lateral with its separation; Enter or a click compares the two wines."""

    can_focus = True
    DEFAULT_CSS = """
    LateralLine {
        height: 1; padding: 0 1;
        &:hover { background: $boost; }
        &:focus { background: $panel; text-style: bold; }
    }
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "pick", "compare", id="pick", tooltip="compare with this lateral"),
        Binding("down", "next", "next", id="next-lateral", tooltip="next lateral", show=False),
        Binding(
            "up", "previous", "before", id="last-lateral", tooltip="lateral before", show=False
        ),
    ]

    class Picked(Message):
        """The taster wants to see the two wines side by side."""

        def __init__(self, wine: str) -> None:
            super().__init__()
            self.wine = wine

    def __init__(self, number: int, near: NearWine) -> None:
        super().__init__(markup=False)
        self.near = near
        words = f"{near.short:<24} {near.separation_db:5.1f} db"
        self.update(Content.assemble((f"{number} ", "bold"), words))

    def on_click(self, event: Click) -> None:
        """Compare."""
        event.stop()
        self.action_pick()

    def action_pick(self) -> None:
        """Compare."""
        self.post_message(self.Picked(self.near.wine))

    def action_next(self) -> None:
        """Go to the next lateral."""
        self.screen.focus_next(LateralLine)

    def action_previous(self) -> None:
        """Go to the lateral before."""
        self.screen.focus_previous(LateralLine)


class ProfileScreen(DeskScreen[None]):
    """Shows one wine. Built once; only the column of bases comes and goes."""

    ABOUT = (
        "One wine as a taster meets it. What it is known for stands in bold, families strongest "
        "first; five steps show low to high. Separations are in decibans (db), small for wines "
        "that are hard to tell apart; Enter on one, or its number, sets the two side by side."
    )
    DEFAULT_CSS = """
    ProfileScreen {
        #head { dock: top; height: auto; max-height: 2; background: $panel; padding: 0 1; }
        #page { padding: 1 2; scrollbar-size-vertical: 1; }
        #telling { margin-bottom: 1; }
        #columns { height: auto; }
        .column { height: auto; }
        &.-wide #columns { layout: horizontal; }
        &.-wide .column { width: 1fr; margin-right: 3; }
        .heading { text-style: bold; color: $primary; }
        #laterals { height: auto; margin-bottom: 1; }
        #sources { color: $text-muted; display: none; }
        &.-bases #sources { display: block; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("l", "laterals", "laterals", id="laterals", tooltip="go to the laterals"),
        *(
            Binding(
                str(n),
                f"lateral({n - 1})",
                f"lateral {n}",
                id=f"lateral-{n}",
                show=False,
                tooltip="compare with that lateral",
            )
            for n in range(1, MOST_LATERALS + 1)
        ),
        Binding("b", "bases", "bases", id="bases", tooltip="what each fact rests on"),
        Binding("escape", "app.pop_screen", "back", id="back"),
    ]

    def __init__(self, wine: str) -> None:
        super().__init__()
        self.wine = wine
        self.view: ProfileView | None = None
        self._table: Table | None = None

    def compose(self) -> ComposeResult:
        """The name, the telling sentence, the facts, the laterals and the sources."""
        self._table = self.desk.table
        view = self.view = profile_view(self.desk, self.wine)
        marks, sources = _marks(view)
        first, last = view.sections[:2], view.sections[2:]
        yield Static(Content.assemble((view.name, "bold"), f"  {view.kind}"), id="head")
        with VerticalScroll(id="page"):
            yield Static(Content(view.telling), id="telling", markup=False)
            with Vertical(id="columns"):
                with Vertical(classes="column"):
                    for section in first:
                        yield FactSheet(section, marks)
                with Vertical(classes="column"):
                    for section in last:
                        yield FactSheet(section, marks)
                    with Vertical(id="laterals"):
                        yield from self._laterals(view)
            yield Static(sources, id="sources", markup=False)
        yield KeyLine("laterals", "bases", "help", "back")

    @staticmethod
    def _laterals(view: ProfileView) -> Iterator[Static]:
        """The laterals that the trade names, then what is near by the facts alone."""
        headings = {True: "laterals, nearest first", False: "near by the facts"}
        for number, near in enumerate(view.laterals, 1):
            heading = headings.pop(near.named, "")
            if heading:
                yield Static(heading, classes="heading", markup=False)
            yield LateralLine(number, near)

    def on_resize(self, event: Resize) -> None:
        """Two columns where there is room."""
        self.set_class(event.size.width >= _WIDE, "-wide")

    def on_mount(self) -> None:
        """Let the arrows scroll the page."""
        self.query_one("#page").focus()

    def on_screen_resume(self) -> None:
        """Write the page anew if a fact has changed meanwhile."""
        table = self.desk.table
        if self._table is not table and self.wine in table.profiles:
            self.remove_class("-bases")
            self.refresh(recompose=True)
            self.call_after_refresh(self.on_mount)

    def action_bases(self) -> None:
        """Show or hide what each fact rests on."""
        self.toggle_class("-bases")
        for sheet in self.query(FactSheet):
            sheet.show_bases(self.has_class("-bases"))

    def action_laterals(self) -> None:
        """Go to the first lateral."""
        lines = self.query(LateralLine)
        if lines:
            lines.first().focus()

    def action_lateral(self, place: int) -> None:
        """Compare with a lateral by its number."""
        if self.view is not None and place < len(self.view.laterals):
            self._compare(self.view.laterals[place].wine)

    def on_lateral_line_picked(self, message: LateralLine.Picked) -> None:
        """Enter or a click on a lateral."""
        self._compare(message.wine)

    def _compare(self, other: str) -> None:
        from drills.screens.compare import CompareScreen

        self.app.push_screen(CompareScreen(self.wine, other))


def _marks(view: ProfileView) -> tuple[dict[str, str], Content]:
    """The mark of each basis, and the list that the marks refer to: sources get numbers."""
    marks: dict[str, str] = {}
    lines = [Content.styled("what the facts rest on", "bold $primary")]
    for basis, words in view.sources.items():
        cited = basis in view.cited
        marks[basis] = (
            f"[{sum(mark.startswith('[') for mark in marks.values()) + 1}]" if cited else basis
        )
        lines.append(Content.assemble((f"{marks[basis]}  ", "bold"), words))
    return marks, Content("\n").join(lines)
