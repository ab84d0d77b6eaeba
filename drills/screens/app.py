"""The app: wires the desk to the first screen, and nothing more."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from threading import Thread
from typing import ClassVar

from textual.app import App
from textual.binding import Binding, BindingType
from textual.events import Key, Resize
from textual.screen import Screen
from textual.theme import Theme

from drills.collector import free_collector
from drills.errors import DrillsError
from drills.least import LEAST_HEIGHT, LEAST_WIDTH
from drills.screens.keys import keymap
from drills.screens.leaving import leave_on_signals
from drills.screens.to_the_shell import stop_in_turn
from drills.service.desk import Desk

DARK = Theme(
    name="crosspour-dark",
    primary="#b8465c",
    secondary="#d8b45a",
    accent="#7fb2a8",
    success="#8fbf6a",
    warning="#e0a040",
    error="#e0645a",
    foreground="#e6e0d8",
    background="#171417",
    surface="#1f1b1f",
    panel="#2b252b",
    dark=True,
)
LIGHT = Theme(
    name="crosspour-light",
    primary="#8a2238",
    secondary="#8a6400",
    accent="#1f6a5e",
    success="#3a6e16",
    warning="#8a5a00",
    error="#a82a20",
    foreground="#2a2226",
    background="#faf7f2",
    surface="#f3eee6",
    panel="#e6ded2",
    dark=False,
)


class CrosspourApp(App[int]):
    """The terminal program. `first` makes the screen that is shown first."""

    TITLE = "crosspour"
    # Seconds after the first screen: the first card stands by then, and its answer is not yet due.
    KEEP_SAFE_AFTER: ClassVar[float] = 3.0
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f4", "light", "light or dark", id="light", tooltip="light or dark colours"),
        Binding(
            "ctrl+p",
            "command_palette",
            "actions",
            id="actions",
            show=False,
            priority=True,
            tooltip="find an action by its name",
        ),
        Binding(
            "ctrl+z",
            "suspend_process",
            "to the shell",
            id="to-the-shell",
            show=False,
            tooltip="go to the shell; its fg comes back here",
        ),
        # Also where a panel lies over the screen.
        Binding("ctrl+q", "quit", "leave", id="quit", priority=True, tooltip="leave the program"),
    ]

    def __init__(self, desk: Desk, first: Callable[[], Screen[None]]) -> None:
        super().__init__()
        self.desk = desk
        # What the shell is told once the screens are gone.
        self.last_words = ""
        self._first = first
        self._own_keys = keymap(desk.settings.keys)
        self.register_theme(DARK)
        self.register_theme(LIGHT)
        wanted = desk.settings.theme
        # Before the app runs: the styles are then read once, and not a second time in new colours.
        self.theme = wanted if wanted in self.available_themes else DARK.name

    def on_mount(self) -> None:
        """Show the first screen, and let the collector work once it stands."""
        if not (self.is_headless or self.is_web):
            leave_on_signals(self)
            stop_in_turn(self)
        if self._own_keys:
            self.set_keymap(self._own_keys)
        self.push_screen(self._first())
        self.call_after_refresh(free_collector)
        self.set_timer(self.KEEP_SAFE_AFTER, self._keep_safe)

    def _keep_safe(self) -> None:
        """Back the database up beside the screen; a program that is left does not wait for it."""
        Thread(target=self._back_up, daemon=True).start()

    def _back_up(self) -> None:
        from drills.service.keeping_safe import keep_safe

        try:
            keep_safe(self.desk)
        except DrillsError as error:
            told = f"No backup today: {error}. B on the first screen shows the backups."
            # Where the program has been left meanwhile, the next start says it.
            with suppress(RuntimeError):
                self.call_from_thread(self.notify, told, severity="error", timeout=30, markup=False)

    def action_command_palette(self) -> None:
        """Find an action by its name; the library's own list knows nothing of ours."""
        from drills.screens.actions import ActionsScreen

        if not isinstance(self.screen, ActionsScreen):
            self.push_screen(ActionsScreen())

    def action_light(self) -> None:
        """Change between light and dark."""
        self.theme = DARK.name if self.theme == LIGHT.name else LIGHT.name

    def on_key(self, event: Key) -> None:
        """Take a capital for its letter: cards and help show letters so, and Caps Lock makes them.

        Where one types, the widget has taken it before.
        """
        small = event.key.lower()
        bound = self.active_bindings
        if len(event.key) == 1 and event.key not in bound and small != event.key and small in bound:
            event.stop()
            self.simulate_key(small)

    def on_resize(self, event: Resize) -> None:
        """Say so when the terminal has become too small to read."""
        small = event.size.width < LEAST_WIDTH or event.size.height < LEAST_HEIGHT
        if small and not self._told_small:
            self.notify(
                f"Too small: crosspour needs {LEAST_WIDTH} columns and {LEAST_HEIGHT} lines.",
                severity="warning",
            )
        self._told_small = small

    _told_small = False
