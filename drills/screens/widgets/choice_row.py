"""A choice in one line: a word and its values, each on a key of its own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.events import Click
from textual.reactive import reactive
from textual.widget import Widget

from cards.lexicon import HUE, HUES
from drills.screens.widgets.form import Form, go_on

Option = tuple[str, str, str]
"""A key, the value it chooses, and the value in words."""

WORLDS: Sequence[Option] = (("o", "old", "old"), ("n", "new", "new"))
CLIMATES: Sequence[Option] = (
    ("c", "cool", "cool"),
    ("m", "moderate", "moderate"),
    ("w", "warm", "warm"),
    ("h", "hot", "hot"),
)
AGES: Sequence[Option] = (
    ("1", "under 3 years", "<3"),
    ("2", "3 to 7 years", "3–7"),
    ("3", "8 to 15 years", "8–15"),
    ("4", "over 15 years", ">15"),
)
FORMS: Sequence[Option] = (("f", "full", "full"), ("s", "short", "short"))
ON_OR_OFF: Sequence[Option] = (("n", "on", "on"), ("f", "off", "off"))
# The longest scale of hues with its keys takes so many columns.
_ALL_HUES = 68
_COLOURS: Mapping[str, str] = {"w": "white", "r": "red", "p": "rose"}


def _bindings(name: str, options: Sequence[Option]) -> list[BindingType]:
    return [
        Binding(
            key,
            f"choose('{value}')",
            words,
            id=f"{name}-{value.replace(' ', '-')}",
            show=False,
            tooltip=f"{name}: {value}",
        )
        for key, value, words in options
    ]


class ChoiceRow(Widget, can_focus=True):
    """One of a few values; `value` is empty while it is open. Subclasses name the options."""

    OPTIONS: ClassVar[Sequence[Option]] = ()
    DEFAULT_CSS = """
    ChoiceRow {
        height: 1; width: 1fr;
        &:focus { background: $boost; }
        &:hover { background: $boost; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "move(-1)", "before", id="choice-left", show=False, tooltip="value before"),
        Binding("right", "move(1)", "next", id="choice-right", show=False, tooltip="next value"),
        Binding(
            "0,delete,backspace",
            "clear",
            "clear",
            id="choice-clear",
            show=False,
            tooltip="leave it open again",
        ),
    ]

    value: reactive[str] = reactive("")

    def __init__(self, form: Form, name: str, label: str, *, label_width: int = 13) -> None:
        super().__init__(name=name)
        self._form = form
        self.label = label
        self._label_width = label_width
        self._start = label_width
        self._ends: list[tuple[int, str]] = []

    @property
    def options(self) -> Sequence[Option]:
        """The values that can be chosen now."""
        return self.OPTIONS

    @property
    def hint(self) -> str:
        """What the keys do here."""
        keys = "  ".join(f"{key.upper()} {value}" for key, value, _ in self.options)
        return f"{self.label}:  {keys}   0 clears"

    @property
    def _gap(self) -> str:
        return "  "

    def render(self) -> Content:
        """The word and every value, the chosen one marked."""
        parts = self._label()
        column = self._start = sum(len(text) for text, _ in parts)
        self._ends = []
        for key, value, words in self.options:
            chosen = value == self.value
            # Where the cursor is, the values show the keys that choose them.
            before = f"{key}" if self.has_focus and not words.startswith(key) else ""
            style = "bold reverse $accent" if chosen else ""
            start = words[0] if self.has_focus and words.startswith(key) else ""
            if before:
                parts.append((f"{before} ", "bold"))
            parts += [
                (start, "bold underline" if not chosen else style),
                (words[len(start) :], style),
            ]
            parts.append((self._gap, ""))
            column += len(before) + bool(before) + len(words) + len(self._gap)
            self._ends.append((column, value))
        return Content.assemble(*parts)

    def _label(self) -> list[tuple[str, str]]:
        style = "bold" if self.has_focus else "dim"
        return [(f"{self.label:<{self._label_width}}", style)]

    def action_choose(self, value: str) -> None:
        """Choose a value."""
        self._set(value)
        go_on(self)

    def action_move(self, by: int) -> None:
        """Choose the value before or after."""
        values = [value for _, value, _ in self.options]
        if self.value in values:
            place = min(max(values.index(self.value) + by, 0), len(values) - 1)
        else:
            place = 0 if by > 0 else len(values) - 1
        self._set(values[place])

    def action_clear(self) -> None:
        """Leave it open again."""
        self._set("")

    def on_click(self, event: Click) -> None:
        """Choose the value under the pointer."""
        if event.x >= self._start:
            for end, value in self._ends:
                if event.x < end:
                    self._set(value)
                    return

    def _set(self, value: str) -> None:
        self.value = value
        self._form.chosen(self, value)

    def on_focus(self) -> None:
        """Show the keys."""
        self.refresh()

    def on_blur(self) -> None:
        """Hide the keys."""
        self.refresh()


class WorldRow(ChoiceRow):
    """Old or new world."""

    OPTIONS = WORLDS
    BINDINGS = _bindings("world", WORLDS)


class ClimateRow(ChoiceRow):
    """The climate in which the grapes grew."""

    OPTIONS = CLIMATES
    BINDINGS = _bindings("climate", CLIMATES)


class AgeRow(ChoiceRow):
    """How old the wine is thought to be, in years."""

    OPTIONS = AGES
    BINDINGS = _bindings("age", AGES)


class HueRow(ChoiceRow):
    """The hue, on the scale of white, red or rosé wines."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *(
            Binding(
                key,
                f"colour('{colour}')",
                colour,
                id=f"colour-{colour}",
                show=False,
                tooltip=f"the hues of {'rosé' if colour == 'rose' else colour} wines",
            )
            for key, colour in _COLOURS.items()
        ),
        *(
            Binding(
                str(n),
                f"hue({n - 1})",
                f"hue {n}",
                id=f"hue-{n}",
                show=False,
                tooltip="choose a hue and go on",
            )
            for n in range(1, 7)
        ),
    ]

    colour: reactive[str] = reactive("white")

    def __init__(self, form: Form) -> None:
        super().__init__(form, HUE, "hue")

    @property
    def options(self) -> Sequence[Option]:
        """The hues of the scale, on the keys from 1."""
        return [(str(n), hue, hue.replace("-", " ")) for n, hue in enumerate(HUES[self.colour], 1)]

    @property
    def hint(self) -> str:
        """What the keys do here."""
        return "hue:  W white  R red  P rosé, then a number   0 clears"

    def show(self, hue: str) -> None:
        """Show a hue on its scale; an empty one leaves the scale as it is."""
        for colour, hues in HUES.items():
            if hue in hues:
                self.colour = colour
        self.value = hue

    def _label(self) -> list[tuple[str, str]]:
        parts = super()._label()
        parts[0] = (f"{self.label:<4}", parts[0][1])
        for key, colour in _COLOURS.items():
            parts.append((key.upper(), "bold $accent" if colour == self.colour else "dim"))
        parts.append((" " if self._narrow else " " * 6, ""))
        return parts

    @property
    def _narrow(self) -> bool:
        return self.size.width < _ALL_HUES

    @property
    def _gap(self) -> str:
        return " " if self._narrow else "  "

    def on_click(self, event: Click) -> None:
        """Choose the scale under the pointer; a hue is chosen as every value is."""
        place = event.x - 4
        if 0 <= place < len(_COLOURS):
            self.action_colour(list(_COLOURS.values())[place])

    def action_colour(self, colour: str) -> None:
        """Change the scale; a hue of another one is cleared."""
        self.colour = colour
        if self.value and self.value not in HUES[colour]:
            self.action_clear()

    def action_hue(self, place: int) -> None:
        """Choose a hue by its number."""
        if place < len(self.options):
            self.action_choose(self.options[place][1])


class FormRow(ChoiceRow):
    """How a flight is taken down."""

    OPTIONS = FORMS
    BINDINGS = _bindings("form", FORMS)


class ClockRow(ChoiceRow):
    """Whether time is taken."""

    OPTIONS = ON_OR_OFF
    BINDINGS = _bindings("clock", ON_OR_OFF)
