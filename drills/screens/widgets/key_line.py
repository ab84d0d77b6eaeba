"""The line of keys at the foot of a screen, made from its live bindings."""

from __future__ import annotations

from collections.abc import Iterable

from textual.binding import Binding
from textual.content import Content
from textual.widgets import Static

from drills.screens.in_place import put


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
        self._made: dict[tuple[tuple[str, ...], int, bool], Content] = {}

    @property
    def text(self) -> str:
        """What the line says."""
        return str(self.content)

    def on_mount(self) -> None:
        """Show the first set."""
        self.redraw()

    def on_resize(self) -> None:
        """Break the line anew."""
        self.show(self._ids)

    def show(self, ids: Iterable[str]) -> None:
        """Show other bindings, for another state of the screen."""
        self._ids = tuple(ids)
        # Before it is laid out it is taken to be as wide as the screen.
        room = self.content_size.width or max(self.app.size.width - 2, 1)
        # Where one types, letters and signs are text and do nothing else. The widget is asked, for
        # the class of those that take lines would be a thirtieth of the start.
        focused = self.screen.focused
        typing = focused is not None and focused.check_consume_key("a", "a")
        wanted = (self._ids, room, typing)
        if wanted not in self._made:
            self._made[wanted] = self._words(room)
        put(self, self._made[wanted])

    def redraw(self) -> None:
        """Show the same bindings as they are now: some may have come or gone."""
        self._made.clear()
        self.show(self._ids)

    def _words(self, room: int) -> Content:
        """The keys with what they do, in lines of so many columns: no key leaves its words."""
        found: dict[str, Binding] = {}
        for active in self.screen.active_bindings.values():
            found.setdefault(active.binding.id or "", active.binding)
        lines = [Content("")]
        for name in self._ids:
            if binding := found.get(name):
                key = f" {self.app.get_key_display(binding)}"
                part = Content.assemble((key, "bold"), f" {binding.description}  ")
                if lines[-1].cell_length and lines[-1].cell_length + part.cell_length - 2 > room:
                    lines.append(Content(""))
                lines[-1] += part
        return Content("\n").join(line.rstrip() for line in lines)
