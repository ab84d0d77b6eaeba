"""Every size of terminal, and one that changes its size while a card is open."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.running import on_terminal
from tests.terminal.opening import ANSWERED, CONTROL_Q, HELP, HOME, QUESTION, answers

SIZES = [(80, 24), (60, 20), (200, 60)]


@pytest.mark.parametrize("size", SIZES)
def test_a_drill_fits_the_terminal_from_the_first_screen_to_the_reveal(
    home: Path, size: tuple[int, int]
) -> None:
    with on_terminal(home, size=size) as terminal:
        terminal.wait_to_see(HOME)
        terminal.type("d")
        terminal.wait_to_see(QUESTION)
        for words in ("A sure", "L sure", "finish", "? keys"):
            terminal.wait_to_see(words)
        terminal.type("s")
        terminal.wait_to_see(ANSWERED)
        # The line of keys is written last, and may come in two parts.
        for words in ("probable", " db, ", "? keys"):
            terminal.wait_to_see(words)
        terminal.type("?")
        terminal.wait_to_see(HELP)
        terminal.type(CONTROL_Q)
        assert terminal.leave() == 0
        assert "Traceback" not in terminal.said


def test_a_card_stays_open_while_the_terminal_changes_its_size(home: Path) -> None:
    with on_terminal(home, "drill", size=(80, 24)) as terminal:
        terminal.wait_to_see(QUESTION)
        (asked,) = (line.strip() for line in terminal.seen.splitlines()[4:5])
        for size in ((60, 20), (200, 60), (61, 21), (80, 24)):
            terminal.resize(*size)
            terminal.wait_until(
                lambda: (
                    QUESTION in terminal.seen
                    and asked in terminal.seen
                    and "? keys" in "".join(terminal.seen.splitlines()[-2:])
                ),
                size,
            )
        assert answers(home) == 0
        terminal.type("k")
        terminal.wait_to_see(ANSWERED)
        terminal.resize(200, 60)
        terminal.wait_until(lambda: "? keys" in "".join(terminal.seen.splitlines()[-2:]))
        assert "probable" in terminal.seen
        assert answers(home) == 1


def test_a_terminal_that_becomes_tiny_loses_nothing_and_says_what_it_needs(home: Path) -> None:
    with on_terminal(home, "drill", size=(80, 24)) as terminal:
        terminal.wait_to_see(QUESTION)
        terminal.type("a")
        terminal.wait_to_see(ANSWERED)
        terminal.resize(50, 12)
        terminal.wait_to_see("Too small")
        for size in ((20, 5), (3, 2), (1, 1)):
            terminal.resize(*size)
        terminal.type(" ")
        terminal.resize(80, 24)
        terminal.wait_to_see(QUESTION)
        terminal.type("a")
        terminal.wait_to_see("2 answers")
    assert answers(home) == 2


@pytest.mark.parametrize("size", [(59, 24), (80, 19), (1, 1)])
def test_on_a_terminal_too_small_to_begin_with_the_plain_drill_still_works(
    home: Path, size: tuple[int, int]
) -> None:
    with on_terminal(home, "drill", size=size) as terminal:
        terminal.wait_for("60x20 is the least")
        assert terminal.leave() == 1
    with on_terminal(home, "drill", "--plain", size=size) as terminal:
        terminal.wait_for("how sure?")
        terminal.type("a\n")
        terminal.wait_for("goes on")
    assert answers(home) == 1
