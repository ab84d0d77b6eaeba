"""A scale in one line: a word, its steps, and the step that was chosen; digits choose."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.events import Click
from textual.reactive import reactive
from textual.widget import Widget

from cards.scale import LEVEL_LABELS
from drills.screens.widgets.form import Form, go_on

SURENESS_LABELS = ("guess", "leaning", "sure")
_MOST_STEPS = 5


class ScaleRow(Widget, can_focus=True):
    """Places one thing on a scale; `value` is the step from 0, None while it is open."""

    DEFAULT_CSS = """
    ScaleRow {
        height: 1; width: 1fr;
        &:focus { background: $boost; }
        &:hover { background: $boost; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        *(
            Binding(
                str(n),
                f"place({n - 1})",
                f"step {n}",
                id=f"step-{n}",
                show=False,
                tooltip="place it on the scale, low to high, and go on",
            )
            for n in range(1, _MOST_STEPS + 1)
        ),
        Binding("left", "move(-1)", "lower", id="step-lower", show=False, tooltip="a step lower"),
        Binding(
            "right", "move(1)", "higher", id="step-higher", show=False, tooltip="a step higher"
        ),
        Binding(
            "0,delete,backspace",
            "clear",
            "clear",
            id="step-clear",
            show=False,
            tooltip="leave it open again",
        ),
    ]

    value: reactive[int | None] = reactive(None)

    def __init__(
        self,
        form: Form,
        name: str,
        label: str,
        labels: Sequence[str] = LEVEL_LABELS,
        *,
        label_width: int = 13,
    ) -> None:
        super().__init__(name=name)
        self._form = form
        self.label = label
        self.labels = labels
        self._label_width = label_width

    @property
    def hint(self) -> str:
        """What the keys do here."""
        steps = "  ".join(f"{n} {label}" for n, label in enumerate(self.labels, 1))
        return f"{self.label or 'how sure'}:  {steps}   0 clears"

    def render(self) -> Content:
        """The word, the steps, and the chosen one's label."""
        steps: list[tuple[str, str]] = []
        for place in range(len(self.labels)):
            chosen = place == self.value
            # Where the cursor is, the steps show the keys that choose them.
            mark = "■" if chosen else str(place + 1) if self.has_focus else "·"
            steps += [(mark, "bold $accent" if chosen else "dim"), (" ", "")]
        said = "" if self.value is None else self.labels[self.value]
        label = f"{self.label:<{self._label_width}}" if self._label_width else ""
        return Content.assemble((label, "bold" if self.has_focus else "dim"), *steps, f" {said}")

    def action_place(self, place: int) -> None:
        """Choose a step."""
        if place < len(self.labels):
            self._set(place)
            go_on(self)

    def action_move(self, by: int) -> None:
        """Move by a step; from an open scale, begin in the middle."""
        if self.value is None:
            self._set(len(self.labels) // 2)
        else:
            self._set(min(max(self.value + by, 0), len(self.labels) - 1))

    def action_clear(self) -> None:
        """Leave it open again."""
        self._set(None)

    def on_click(self, event: Click) -> None:
        """Choose the step under the pointer."""
        place, beside = divmod(event.x - self._label_width, 2)
        if not beside and 0 <= place < len(self.labels):
            self._set(place)

    def _set(self, value: int | None) -> None:
        self.value = value
        self._form.placed(self, value)

    def on_focus(self) -> None:
        """Show the keys."""
        self.refresh()

    def on_blur(self) -> None:
        """Hide the keys."""
        self.refresh()
