"""Leaving otherwise than by a key: signals, a closed window, and the shell's own stop and go."""

from __future__ import annotations

import re
import signal
import sqlite3
import sys
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.running import COMMAND, PATIENCE, on_terminal
from tests.terminal.opening import (
    ANSWERED,
    CONTROL_P,
    CONTROL_Z,
    HOME,
    QUESTION,
    answers,
    left_in_order,
)


@pytest.mark.parametrize(("sign", "code"), [(signal.SIGTERM, 143), (signal.SIGHUP, 129)])
@pytest.mark.parametrize("answered", [True, False])
def test_a_signal_in_mid_drill_gives_the_terminal_back_and_keeps_the_answers(
    home: Path, sign: signal.Signals, code: int, answered: bool
) -> None:
    with on_terminal(home, "drill") as terminal:
        terminal.wait_to_see(QUESTION)
        if answered:
            terminal.type("a")
            terminal.wait_to_see(ANSWERED)
        terminal.process.send_signal(sign)
        assert terminal.leave() == code
        assert left_in_order(terminal)
        assert "Traceback" not in terminal.said
    assert answers(home) == int(answered)


def test_an_answer_that_another_program_kept_out_is_told_once_the_terminal_is_given_back(
    home: Path,
) -> None:
    with (
        on_terminal(home, "drill") as terminal,
        closing(sqlite3.connect(home / "crosspour.sqlite3", isolation_level=None)) as other,
    ):
        terminal.wait_to_see(QUESTION)
        other.execute("BEGIN IMMEDIATE")
        terminal.type("a")
        terminal.wait_to_see("Not kept yet")
        terminal.process.send_signal(signal.SIGTERM)
        assert terminal.leave() == 143
        assert left_in_order(terminal)
        assert "crosspour: the last answer is not kept: another program" in terminal.said
        other.execute("ROLLBACK")
    assert answers(home) == 0


def test_a_window_that_is_closed_ends_the_program_and_keeps_the_answers(home: Path) -> None:
    with on_terminal(home, "drill") as terminal:
        terminal.wait_to_see(QUESTION)
        terminal.type("a")
        terminal.wait_to_see(ANSWERED)
        terminal.hang_up()
        assert terminal.process.wait(PATIENCE) == 129
    assert answers(home) == 1


def test_what_was_stopped_goes_on_with_the_time_that_was_left(home: Path) -> None:
    with on_terminal(home, "drill", "--minutes", "5") as terminal:
        terminal.wait_to_see(QUESTION)
        terminal.type("a")
        terminal.wait_to_see(ANSWERED)
        terminal.process.send_signal(signal.SIGTERM)
        terminal.leave()
    with on_terminal(home, "drill", "--resume") as terminal:
        # However long a busy machine took over the one card: not the ten minutes of a new drill.
        terminal.wait_until(
            lambda: re.search(r" (5:00|[34]:\d\d) left", terminal.seen), "5:00 left"
        )


def test_control_z_goes_to_the_shell_and_fg_comes_back_to_the_same_card(home: Path) -> None:
    shell = ["bash", "--noprofile", "--norc", "-i"]
    with on_terminal(home, command=shell, more={"PS1": "shell> "}) as terminal:
        terminal.wait_to_see("shell> ")
        program = " ".join(f"'{part}'" for part in (sys.executable, *COMMAND[1:]))
        terminal.type(f"{program} drill\n")
        terminal.wait_to_see(QUESTION)
        terminal.type("s")
        terminal.wait_to_see(ANSWERED)
        verdict = terminal.screen.display[13]
        for _ in range(2):
            # What was written anew, for this terminal keeps what stood there before.
            terminal.type(CONTROL_Z)
            terminal.wait_for("Stopped")
            assert left_in_order(terminal)
            terminal.type("fg\n")
            terminal.wait_for(ANSWERED)
            terminal.wait_to_see(ANSWERED)
            terminal.wait_until(lambda: terminal.screen.display[13] == verdict)
        terminal.type(" ")
        terminal.wait_to_lose(ANSWERED)
        terminal.type("k")
        terminal.wait_to_see(ANSWERED)
    assert answers(home) == 2


def test_actions_are_found_by_name_and_done(home: Path) -> None:
    with on_terminal(home) as terminal:
        terminal.wait_to_see(HOME)
        terminal.type(CONTROL_P)
        terminal.wait_to_see("what to do")
        terminal.type("daily")
        terminal.wait_to_see("start the daily drill")
        terminal.type("\r")
        terminal.wait_to_see(QUESTION)
