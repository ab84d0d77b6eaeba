"""Parts on a terminal: the first card, and from a key to what it changes."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path

from tests.benchmarks import bare
from tests.benchmarks.making import make_empty, make_years
from tests.benchmarks.timing import Line, Measured, in_turn
from tests.benchmarks.watching import Terminal

FIRST_TARGET = 1.15
KEY_TARGET = 2.0
# Whatever form a card has: a question mark stands above the foot of an open card, and the foot
# of an answered one offers the next.
_CARD = r"undo\s+esc finish"
_REVEAL = r"next card.*esc finish"
_HOME = r"start the drill.*leave"
_PROGRAM = (sys.executable, "-c", "import sys; from drills.cli import main; sys.exit(main())")
_BARE = (sys.executable, bare.__file__)


class Databases:
    """The two databases in a folder, made where they are not there yet."""

    def __init__(self, folder: Path) -> None:
        self.files = {
            "empty": folder / "empty.sqlite3",
            "ten years": folder / "ten-years.sqlite3",
        }
        for name, make in (("empty", make_empty), ("ten years", make_years)):
            if not self.files[name].exists():
                draft = self.files[name].with_suffix(".draft")
                draft.unlink(missing_ok=True)
                make(draft)
                draft.rename(self.files[name])

    def environment(self, name: str) -> dict[str, str]:
        """The environment in which the program opens one of them."""
        return {**os.environ, "CROSSPOUR_DATABASE": str(self.files[name])}


def first_card(databases: Databases, folder: Path, repeats: int) -> list[Line]:
    """From the start of the process to the first card, and to the first screen."""
    row = folder / "row.sqlite3"
    if not row.exists():
        bare.make_row(str(row))

    def bare_app() -> float:
        with Terminal([*_BARE, "row", str(row)], dict(os.environ)) as terminal:
            return terminal.until(bare.SHOWN)

    def program(name: str, arguments: tuple[str, ...], words: str) -> float:
        with Terminal([*_PROGRAM, *arguments], databases.environment(name)) as terminal:
            return terminal.until(words)

    runs: dict[str, Callable[[], float]] = {
        "bare": bare_app,
        "card, empty": lambda: program("empty", ("drill",), _CARD),
        "card, ten years": lambda: program("ten years", ("drill",), _CARD),
        "home, ten years": lambda: program("ten years", (), _HOME),
    }
    found = in_turn(runs, repeats)
    baseline = "bare app, one row by SQLModel"
    lines = [
        Line("first", f"first {name}", seconds, baseline, found["bare"], FIRST_TARGET)
        for name, seconds in found.items()
        if name != "bare"
    ]
    return [*lines, _flat("first", "first card", found, "card, ")]


def keys(databases: Databases, repeats: int) -> list[Line]:
    """From a key to the repaint: the answer (its commit included), and the card after it."""
    found: Measured = {}
    with ExitStack() as stack:
        bare_app = stack.enter_context(Terminal([*_BARE, "key"], dict(os.environ)))
        bare_app.until(f"0 {bare.COUNTED}")
        bare_app.settle()
        many = stack.enter_context(Terminal([*_BARE, "lines"], dict(os.environ)))
        many.until(f"0 {bare.COUNTED}")
        many.settle()
        programs = {}
        for name in databases.files:
            programs[name] = stack.enter_context(
                Terminal([*_PROGRAM, "drill", "--minutes", "120"], databases.environment(name))
            )
            programs[name].until(_CARD)
            programs[name].settle()
        for number in range(repeats + 1):
            taken = {"bare": _count(bare_app, number + 1), "lines": _count(many, number + 1)}
            for name, terminal in programs.items():
                answer, following = _answer(terminal)
                taken[f"answer, {name}"] = answer
                taken[f"next, {name}"] = following
                taken[f"both, {name}"] = answer + following
            if number:  # the first round warms up
                for what, one in taken.items():
                    found.setdefault(what, []).append(one)
    words = {"answer": "answer to reveal", "next": "space to next card", "both": "both together"}
    lines = [
        Line("keys", f"bare key, {bare.LINES} lines", found["lines"], "bare key", found["bare"])
    ]
    for what, seconds in found.items():
        if what not in ("bare", "lines"):
            kind, _, name = what.partition(", ")
            target = KEY_TARGET * (2 if kind == "both" else 1)
            lines.append(
                Line("keys", f"{words[kind]}, {name}", seconds, "bare key", found["bare"], target)
            )
    return [*lines, _flat("keys", "both together", found, "both, ")]


def _count(terminal: Terminal, number: int) -> float:
    terminal.press(b"a")
    seconds = terminal.until(f"{number} {bare.COUNTED}")
    terminal.settle()
    return seconds


def _answer(terminal: Terminal) -> tuple[float, float]:
    """Answer the card on the terminal and go on; seconds to the reveal and to the next card."""
    # Picks an option on a card that offers some, and does nothing on the others.
    terminal.press(b"1")
    terminal.settle()
    terminal.press(b"a")
    answer = terminal.until(_REVEAL)
    terminal.settle()
    terminal.press(b" ")
    following = terminal.until(_CARD)
    terminal.settle()
    return answer, following


def _flat(part: str, what: str, found: Measured, prefix: str) -> Line:
    return Line(
        part,
        f"{what}: ten years against empty",
        found[f"{prefix}ten years"],
        "empty database",
        found[f"{prefix}empty"],
    )
