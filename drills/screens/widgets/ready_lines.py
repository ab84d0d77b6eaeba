"""Lines that can be made ready before they are shown, so that showing them costs little."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual.content import Content
from textual.geometry import Region
from textual.message import Message
from textual.strip import Strip
from textual.style import Style
from textual.visual import Visual
from textual.widget import Widget

# More lines than any terminal shows at once, several times over.
_KEPT = 1000
_Key = tuple[str, tuple[tuple[int, int, str | Style], ...]]


class ReadyLines(Widget, can_focus=False):
    """Some lines of text, each a line of the terminal; only those that change are painted.

    From a key to the repaint, widgets of their own for the parts of a card took longer than writing
    the answer to the disk: their texts were wrapped, styled and put together anew each time. Here a
    line becomes what is written to the terminal once, and may do so while nobody waits.
    """

    ALLOW_SELECT = False
    DEFAULT_CSS = "ReadyLines { text-wrap: nowrap; text-overflow: ellipsis; }"

    class Resized(Message):
        """There is more room now, or less."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._lines: list[Content] = []
        self._strips: dict[_Key, Strip] = {}
        self._made_for: tuple[int, Style] | None = None

    def on_resize(self) -> None:
        """Tell who draws the lines."""
        self.post_message(self.Resized())

    @property
    def text(self) -> str:
        """What the lines say, without their colours."""
        return "\n".join(line.plain for line in self._lines)

    def show(self, lines: Sequence[Content]) -> None:
        """Show these lines from the top; what is below them is blank."""
        before, self._lines = self._lines, list(lines)
        width = self.size.width
        changed = [
            Region(0, y, width, 1)
            for y in range(max(len(before), len(lines)))
            if y >= len(before) or y >= len(lines) or not before[y].is_same(lines[y])
        ]
        if changed:
            self.refresh(*changed)

    def make_ready(self, lines: Iterable[Content]) -> None:
        """Prepare lines that may be shown soon."""
        console = self.app.console
        for line in lines:
            # The strip keeps what it says to the terminal.
            self._strip(line).render(console)

    def render_lines(self, crop: Region) -> list[Strip]:
        """The strips of a part of the widget: they are whole, without frame or margin."""
        strips = [
            self._strip(self._lines[y] if y < len(self._lines) else Content(""))
            for y in crop.line_range
        ]
        if crop.column_span == (0, self.size.width):
            return strips
        return [strip.crop(*crop.column_span) for strip in strips]

    def notify_style_update(self) -> None:
        """Forget what was made in other colours."""
        self._strips.clear()
        super().notify_style_update()

    def _strip(self, line: Content) -> Strip:
        made_for = (self.size.width, self.visual_style)
        if made_for != self._made_for or len(self._strips) > _KEPT:
            self._strips.clear()
            self._made_for = made_for
        key = (line.plain, tuple(line.spans))
        if (strip := self._strips.get(key)) is None:
            width, style = made_for
            made = Visual.to_strips(self, line, width, 1, style, pad=True)
            strip = made[0] if made else Strip.blank(width, style.rich_style)
            for line_filter in self.get_line_filters():
                strip = strip.apply_filter(line_filter, self.background_colors[1])
            self._strips[key] = strip
        return strip
