"""A megabyte pasted: into every line and area, and onto screens where nothing is typed."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.running import Terminal, on_terminal
from tests.terminal.opening import CONTROL_P, ESCAPE, F1, HELP, HOME, PASTED, QUESTION

ONE_LINE = "x" * 1_000_000
MANY_LINES = "Sancerre > Barolo [b]\n" * 45_000
# Where it is pasted: the keys that lead there, what is seen then; what answers after it.
PLACES = {
    "first screen": ([], "?", HELP),
    "drill": ([("d", QUESTION)], "?", HELP),
    "search of the table": ([("t", "120 wines"), ("/", "esc")], F1, HELP),
    "exam date": ([("p", "today"), ("e", "escape leaves")], ESCAPE, "today"),
    "minutes": ([("p", "today"), ("m", "escape leaves")], ESCAPE, "today"),
    "lines of tastings": ([("i", "esc")], F1, HELP),
    "finding an action": ([(CONTROL_P, "what to do")], ESCAPE, HOME),
    "name of a flight": ([("n", "enter goes on"), ("\r", "what you call it")], F1, HELP),
}


def led_to(terminal: Terminal, place: str) -> None:
    terminal.wait_to_see(HOME)
    for key, seen in PLACES[place][0]:
        terminal.type(key)
        terminal.wait_to_see(seen)


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("text", [ONE_LINE, MANY_LINES], ids=["one line", "many lines"])
def test_a_megabyte_pasted_is_taken_or_left_and_the_next_key_works(
    home: Path, place: str, text: str
) -> None:
    _, key, seen = PLACES[place]
    with on_terminal(home) as terminal:
        led_to(terminal, place)
        terminal.type(PASTED.format(text))
        terminal.type(key)
        terminal.wait_to_see(seen)
        assert "Traceback" not in terminal.said
