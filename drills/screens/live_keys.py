"""What the keys of a screen do just now, for its help and for finding an action by name."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any, NamedTuple

from textual.actions import parse
from textual.binding import ActiveBinding, Binding
from textual.screen import Screen
from textual.widget import Widget

# What the library's own words mean here; the others only lose their capitals.
_PLAINLY = {
    "Bottom": "to the last line",
    "Down": "line below",
    "End": "to the right end",
    "First": "to the first line",
    "Focus Next": "next part of the screen",
    "Focus Previous": "part of the screen before",
    "Home": "to the left end",
    "Last": "to the last line",
    "Move cursor right or accept the completion suggestion": "move cursor right",
    "Scroll End": "to the last line",
    "Scroll Home": "to the first line",
    "Select": "take what is marked",
    "Submit": "go on",
    "Top": "to the first line",
    "Up": "line above",
}


class Action(NamedTuple):
    """What can be done: in words, with its keys, and the binding behind them."""

    words: str
    keys: str
    active: ActiveBinding


def working(screen: Screen[Any]) -> dict[str, ActiveBinding]:
    """The binding that each key reaches.

    A key that would scroll what cannot be scrolled, as down in a line one types into, is passed on.
    """
    found = screen.active_bindings
    for key in [key for key, active in found.items() if _idle(active)]:
        del found[key]
        for node, bindings in screen._modal_binding_chain:
            for binding in bindings.key_to_bindings.get(key, ()):
                active = ActiveBinding(node, binding, True, binding.tooltip)
                if not _idle(active) and _allowed(active):
                    found.setdefault(key, active)
    return found


def _idle(active: ActiveBinding) -> bool:
    node, action = active.node, active.binding.action
    if not action.startswith("scroll_") or not isinstance(node, Widget):
        return False
    across = action in ("scroll_left", "scroll_right")
    return not (node.allow_horizontal_scroll if across else node.allow_vertical_scroll)


def _allowed(active: ActiveBinding) -> bool:
    _, name, arguments = parse(active.binding.action)
    return bool(active.node.check_action(name, arguments))


def actions(screen: Screen[Any], *, own: bool = False) -> list[Action]:
    """What the keys of a screen do, each thing once.

    The screen's own come first, those at its foot before the rest; then the program's; last what
    the library's widgets do (moving a cursor), which `own` leaves out.
    """
    found: dict[str, tuple[list[str], ActiveBinding]] = {}
    for active in sorted(working(screen).values(), key=partial(_nearness, screen)):
        binding = active.binding
        # The library's bindings have no id.
        if not active.enabled or not binding.description or binding.system:
            continue
        if own and not binding.id:
            continue
        keys, _ = found.setdefault(words_of(binding), ([], active))
        # Every key by its own name: one that a binding displays stands for all of its keys.
        key = screen.app.get_key_display(replace(binding, key_display=None))
        if key not in keys:
            keys.append(key)
    return [Action(words, ", ".join(keys), active) for words, (keys, active) in found.items()]


def words_of(binding: Binding) -> str:
    """What a key does, in the program's own words also where the key is the library's."""
    if binding.id:
        return binding.tooltip or binding.description
    return _PLAINLY.get(binding.description, binding.description.lower())


def _nearness(screen: Screen[Any], active: ActiveBinding) -> int:
    if active.node is screen and active.binding.id:
        return 0 if active.binding.show else 1
    return 2 if active.binding.id else 3
