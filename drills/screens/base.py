"""What all screens of the program share: help from live bindings, and the desk."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Generic, TypeVar, cast

from textual.binding import Binding, BindingType
from textual.screen import Screen

if TYPE_CHECKING:
    from drills.screens.app import CrosspourApp
    from drills.service.desk import Desk

Result = TypeVar("Result")


class DeskScreen(Screen[Result], Generic[Result]):
    """A screen at the desk. `ABOUT` is the sentence above the keys in its help."""

    ABOUT: ClassVar[str] = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "question_mark,f1", "help_keys", "keys", id="help", tooltip="every key that works here"
        ),
    ]

    @property
    def desk(self) -> Desk:
        """The desk that the app was opened with."""
        return cast("CrosspourApp", self.app).desk

    def keep_now(self) -> None:
        """Keep what must not be lost: the program is about to end.

        Raises:
            DrillsError: it cannot be kept.
        """

    def last_words(self, words: str) -> None:
        """Have the shell told something once the screens are gone; they fail by it (code 1)."""
        cast("CrosspourApp", self.app).last_words = words

    def key_of(self, binding_id: str) -> str:
        """The key that a binding is on, as the taster has set it; empty if there is none."""
        for active in self.active_bindings.values():
            if active.binding.id == binding_id:
                return self.app.get_key_display(active.binding).upper()
        return ""

    def action_help_keys(self) -> None:
        """Show every key that works here."""
        from drills.screens.help import HelpScreen
        from drills.screens.live_keys import actions

        rows = [(action.keys, action.words) for action in actions(self)]
        self.app.push_screen(HelpScreen(self.ABOUT, rows))
