"""The first screen: what waits today, and where to go."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from drills.errors import DatabaseCorrupt, DrillsError
from drills.phrases import clock, count, days
from drills.screens.base import DeskScreen
from drills.screens.widgets.key_line import KeyLine
from drills.service.today import Today, today

if TYPE_CHECKING:
    from drills.screens.drill import DrillScreen
    from drills.service.desk import Desk

CAUTIONS = (
    "Spit, and drink water. Spitting does not make driving safe: leave the car and follow local "
    "law. No alcohol in pregnancy. Wine may contain sulphites, egg, milk. Ask a clinician in doubt."
)


class HomeScreen(DeskScreen[None]):
    """What waits today."""

    ABOUT = "Two glasses poured side by side, and the cue that tells them apart."
    DEFAULT_CSS = """
    HomeScreen {
        align-horizontal: center;
        VerticalScroll { padding: 1 2; max-width: 90; scrollbar-size-vertical: 1; }
        #cautions { color: $text-muted; margin-top: 1; }
        #title { text-style: bold; color: $primary; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("d", "drill", "drill", id="drill", tooltip="start the daily drill"),
        Binding(
            "r",
            "resume",
            "go on",
            id="resume",
            tooltip="go on with the drill stopped today",
        ),
        Binding("n", "note", "note", id="note", tooltip="take a flight down, or go on"),
        Binding("i", "intake", "add file", id="intake", tooltip="add a tasting from a file"),
        Binding(
            "y", "tray", "tray", id="tray", tooltip="names in your tastings that are not clear"
        ),
        Binding("f", "flight", "flight", id="flight", tooltip="the next flight, poured blind"),
        Binding("w", "weak", "weak pairs", id="weak", tooltip="pairs still confused in the glass"),
        Binding("p", "progress", "progress", id="progress", tooltip="recall, sureness, calls"),
        Binding("t", "table", "table", id="table", tooltip="browse the wines of the table"),
        Binding("b", "backups", "backups", id="backups", tooltip="daily backups; put one back"),
        Binding("q", "app.quit", "leave", id="leave", tooltip="leave the program"),
    ]

    def compose(self) -> ComposeResult:
        """A title, what waits, and the cautions."""
        with VerticalScroll():
            yield Static("crosspour", id="title", markup=False)
            yield Static("", id="waiting", markup=False)
            yield Static(CAUTIONS, id="cautions", markup=False)
        yield KeyLine(
            "drill", "note", "intake", "flight", "weak", "progress", "table", "help", "leave"
        )

    def on_screen_resume(self) -> None:
        """Count anew whenever the taster comes back."""
        try:
            told = self._waiting(today(self.desk))
        except DrillsError as error:
            # Not a notice, which is gone in seconds: there would be nothing here to count.
            told = self._not_counted(error)
        self.query_one("#waiting", Static).update(told)

    def _not_counted(self, error: DrillsError) -> Content:
        lines = [Content.styled(f"{str(error).rstrip('.')}.", "$text-error")]
        if isinstance(error, DatabaseCorrupt):
            lines += [
                Content(""),
                Content.assemble(
                    (f" {self.key_of('backups')} ", "bold reverse"),
                    "  the backups; one key puts a sound one in its place",
                ),
            ]
        return Content("\n").join(lines)

    def _waiting(self, now: Today) -> Content:
        minutes = self.desk.settings.minutes
        lines = [
            Content(f"Two wines, one cue, {minutes} minutes a day."),
            Content(""),
            Content.assemble(
                (f"{now.confused:>6,}  ", "bold $primary" if now.confused else "bold"),
                f"{_cards(now.confused)} of pairs mixed up in tastings "
                f"{'comes' if now.confused == 1 else 'come'} first",
            ),
            Content.assemble((f"{now.due:>6,}  ", "bold"), f"{_cards(now.due)} due today"),
            Content.assemble(
                (f"{now.unseen:>6,}  ", "bold"), f"contrasts unseen, from {now.wines} wines"
            ),
        ]
        if now.next_in:
            lines.append(Content(f"{'':8}the next card is due {days(now.next_in)}"))
        if now.left:
            lines.append(
                Content.assemble(
                    f"{'':8}a drill stopped with {clock(now.left)} left: ",
                    (f" {self.key_of('resume')} ", "bold reverse"),
                    " goes on",
                )
            )
        if now.half_entered:
            lines.append(
                Content.assemble(
                    f"{'':8}{count(now.half_entered, 'flight')} left half entered: ",
                    (f" {self.key_of('note')} ", "bold reverse"),
                    " goes on",
                )
            )
        if now.unresolved:
            pours = count(now.unresolved, "pour")
            lines.append(
                Content.assemble(
                    f"{'':8}{pours} with a name the table does not know: ",
                    (f" {self.key_of('tray')} ", "bold reverse"),
                )
            )
        lines += [
            Content(""),
            Content.assemble((f" {self.key_of('drill')} ", "bold reverse"), "  start the drill"),
        ]
        return Content("\n").join(lines)

    def action_drill(self) -> None:
        """Start a drill."""
        from drills.screens.opening import drill_screen

        self._open(drill_screen)

    def action_resume(self) -> None:
        """Go on with the drill that was stopped."""
        from drills.screens.opening import resumed_screen

        self._open(resumed_screen)

    def _open(self, make: Callable[[Desk], DrillScreen]) -> None:
        try:
            self.app.switch_screen(make(self.desk))
        except DrillsError as error:
            self.notify(str(error), severity="error", markup=False)

    def action_note(self) -> None:
        """Take a flight down, or go on with one."""
        from drills.screens.tasting_start import TastingStartScreen

        self.app.push_screen(TastingStartScreen())

    def action_intake(self) -> None:
        """Add a tasting."""
        from drills.screens.intake import IntakeScreen

        self.app.push_screen(IntakeScreen())

    def action_tray(self) -> None:
        """Make names clear."""
        from drills.screens.tray import TrayScreen

        self.app.push_screen(TrayScreen())

    def action_flight(self) -> None:
        """Plan the next flight, or taste it."""
        from drills.screens.flight import NextFlightScreen

        self.app.push_screen(NextFlightScreen())

    def action_weak(self) -> None:
        """Show the weak pairs."""
        from drills.screens.weak import WeakScreen

        self.app.push_screen(WeakScreen())

    def action_progress(self) -> None:
        """Show progress."""
        from drills.screens.progress import ProgressScreen

        self.app.push_screen(ProgressScreen())

    def action_table(self) -> None:
        """Browse the table."""
        from drills.screens.table import TableScreen

        self.app.push_screen(TableScreen())

    def action_backups(self) -> None:
        """Show the backups."""
        from drills.screens.backups import BackupsScreen

        self.app.push_screen(BackupsScreen())


def _cards(number: int) -> str:
    return "card" if number == 1 else "cards"
