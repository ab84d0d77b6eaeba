"""The line of keys at the foot of a screen, made from its live bindings."""

from __future__ import annotations

from collections.abc import Iterable

from textual.binding import Binding
from textual.content import Content
from textual.widgets import Static

from drills.screens.in_place import put

# A space at which no line is broken.
_HARD = "\u00a0"


class KeyLine(Static):
    """Shows some bindings of the screen by id, in the order given."""

    DEFAULT_CSS = """
    KeyLine {
        dock: bottom; height: auto; max-height: 2; background: $panel; color: $text-muted;
        padding: 0 1;
    }
    """

    def __init__(self, *ids: str) -> None:
        super().__init__(markup=False)
        self._ids = ids
        self._made: dict[tuple[str, ...], Content] = {}

    @property
    def text(self) -> str:
        """What the line says, with plain spaces."""
        return str(self.content).replace(_HARD, " ")

    def on_mount(self) -> None:
        """Show the first set."""
        self.redraw()

    def show(self, ids: Iterable[str]) -> None:
        """Show other bindings, for another state of the screen."""
        self._ids = tuple(ids)
        if self._ids not in self._made:
            self._made[self._ids] = self._words()
        put(self, self._made[self._ids])

    def redraw(self) -> None:
        """Show the same bindings as they are now: where one types, some keys are letters."""
        self._made.clear()
        self.show(self._ids)

    def _words(self) -> Content:
        found: dict[str, Binding] = {}
        for active in self.screen.active_bindings.values():
            found.setdefault(active.binding.id or "", active.binding)
        parts: list[tuple[str, str]] = []
        for name in self._ids:
            if binding := found.get(name):
                # A key and what it does stay on one line.
                words = binding.description.replace(" ", _HARD)
                parts += [
                    (f" {self.app.get_key_display(binding)}", "bold"),
                    (f"{_HARD}{words}  ", ""),
                ]
        return Content.assemble(*parts)
