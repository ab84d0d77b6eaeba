"""What all screens of the program share: help from live bindings, and the desk."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Generic, TypeVar, cast

from textual.binding import ActiveBinding, Binding, BindingType
from textual.screen import Screen

if TYPE_CHECKING:
    from drills.screens.app import CrosspourApp
    from drills.service.desk import Desk

Result = TypeVar("Result")


class DeskScreen(Screen[Result], Generic[Result]):
    """A screen at the desk. `ABOUT` is the sentence above the keys in its help."""

    ABOUT: ClassVar[str] = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("question_mark,f1", "help_keys", "keys", id="help"),
    ]

    @property
    def desk(self) -> Desk:
        """The desk that the app was opened with."""
        return cast("CrosspourApp", self.app).desk

    def key_of(self, binding_id: str) -> str:
        """The key that a binding is on, as the taster has set it; empty if there is none."""
        for active in self.active_bindings.values():
            if active.binding.id == binding_id:
                return self.app.get_key_display(active.binding).upper()
        return ""

    def action_help_keys(self) -> None:
        """Show every key that works here."""
        rows: dict[str, list[str]] = {}
        for active in sorted(self.active_bindings.values(), key=self._nearness):
            binding = active.binding
            if active.enabled and binding.description and not binding.system:
                keys = rows.setdefault(binding.tooltip or binding.description, [])
                key = self.app.get_key_display(binding)
                if key not in keys:
                    keys.append(key)
        from drills.screens.help import HelpScreen

        self.app.push_screen(
            HelpScreen(self.ABOUT, [(", ".join(keys), words) for words, keys in rows.items()])
        )

    def _nearness(self, active: ActiveBinding) -> int:
        # Our own keys first, those at the foot before the rest: the library's have no id.
        if active.node is self and active.binding.id:
            return 0 if active.binding.show else 1
        return 2 if active.binding.id else 3
