"""The cautions for people who taste: shown before the first flight, and from then on by a key."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from drills.cautions import CAUTIONS
from drills.errors import DrillsError
from drills.screens.base import DeskScreen
from drills.service.desk import Desk


class CautionsScreen(ModalScreen[None]):
    """Says in plain words what tasting can do."""

    DEFAULT_CSS = """
    CautionsScreen { align: center middle; }
    CautionsScreen > VerticalScroll {
        width: 64; max-width: 95%; height: auto; max-height: 95%;
        border: round $accent; background: $surface; padding: 0 1; scrollbar-size-vertical: 1;
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter,escape,space,q", "dismiss", "understood", id="close-cautions"),
    ]

    def compose(self) -> ComposeResult:
        """One paragraph a caution."""
        with VerticalScroll() as panel:
            panel.border_title = "before you taste"
            panel.border_subtitle = "enter goes on"
            yield Static(
                Content("\n").join(
                    Content.assemble((f"{head} ", "bold"), words) for head, words in CAUTIONS
                ),
                markup=False,
            )


def seen(desk: Desk) -> bool:
    """Whether this taster has seen the cautions; StorageError."""
    return desk.repository.meta(_key(desk)) is not None


def keep_seen(desk: Desk) -> None:
    """Remember that this taster has seen them; StorageError."""
    desk.repository.keep_meta(_key(desk), desk.clock.now().date().isoformat())


def after_cautions(screen: DeskScreen[Any], go_on: Callable[[], object] = lambda: None) -> None:
    """Go on at once where the taster has seen the cautions, else once they are read."""
    desk = screen.desk

    def read(_: None) -> None:
        try:
            keep_seen(desk)
        except DrillsError as error:
            screen.notify(str(error), severity="error", markup=False)
        go_on()

    try:
        shown = seen(desk)
    except DrillsError as error:
        shown = False
        screen.notify(str(error), severity="error", markup=False)
    if shown:
        go_on()
    else:
        screen.app.push_screen(CautionsScreen(), read)


def _key(desk: Desk) -> str:
    return f"cautions.{desk.taster.id}"
