"""The program on a real terminal, opened where a test needs it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from tests.cli.running import Terminal

QUESTION = "Which of these two?"
ANSWERED = "next card"
HOME = "contrasts unseen"
HELP = "every key that works here"
ESCAPE, CONTROL_P, CONTROL_Q, CONTROL_Z, F1 = "\x1b", "\x10", "\x11", "\x1a", "\x1bOP"
# With which a terminal says that a text is pasted.
PASTED = "\x1b[200~{}\x1b[201~"
# With which a program leaves the second screen of a terminal, and shows the cursor again.
LEFT = (b"\x1b[?1049l", b"\x1b[?25h", b"\x1b[?2004l", b"\x1b[?1000l")


def answers(home: Path) -> int:
    """How many answers are kept in the database of `home`, which must be whole."""
    with closing(sqlite3.connect(home / "crosspour.sqlite3")) as reader:
        assert reader.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert reader.execute("PRAGMA foreign_key_check").fetchall() == []
        (number,) = reader.execute("SELECT count(*) FROM answer").fetchone()
    return int(number)


def left_in_order(terminal: Terminal) -> bool:
    """Whether the program has given the terminal back as it was."""
    return all(
        terminal.raw.rfind(sequence) > terminal.raw.rfind(b"\x1b[?1049h") for sequence in LEFT
    )
