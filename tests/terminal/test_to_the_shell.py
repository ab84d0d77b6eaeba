"""Ctrl+Z at every step of taking the terminal and of giving it back: none may do harm."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest

from tests.cli.running import COMMAND, Terminal, on_terminal
from tests.terminal.opening import CONTROL_Z, ESCAPE, HELP, HOME, left_in_order

# The steps at which a stop comes: 1 to 4 as the program opens, 5 as it goes to the shell, 6 to 9 as
# it comes back. Each is a change of the terminal's modes or a thread of the library that begins.
STOP_AT_A_STEP = """
import os, signal, termios, threading
left = int(os.environ["STOP_AT"])
def step():
    global left
    left -= 1
    if left == 0:
        os.kill(os.getpid(), signal.SIGTSTP)
def begin(thread, begin=threading.Thread.start):
    if thread.name.startswith("textual-"):
        step()
    begin(thread)
def change(*modes, change=termios.tcsetattr):
    step()
    change(*modes)
threading.Thread.start, termios.tcsetattr = begin, change
"""
TAKES, GIVES_BACK = b"\x1b[?1049h", b"\x1b[?1049l"


def wait_until_stopped(terminal: Terminal, times: int) -> None:
    """Wait until the terminal was given back so many times and the program stands still."""
    terminal.wait_until(
        lambda: terminal.raw.count(GIVES_BACK) == times and left_in_order(terminal), "a stop"
    )
    found = os.waitid(os.P_PID, terminal.process.pid, os.WSTOPPED | os.WEXITED | os.WNOWAIT)
    assert found is not None
    assert found.si_code == os.CLD_STOPPED, terminal.said[-2000:]


def go_on(terminal: Terminal) -> None:
    """What `fg` of a shell does."""
    terminal.process.send_signal(signal.SIGCONT)


@pytest.mark.parametrize("step", range(1, 10))
def test_a_stop_at_any_step_is_kept_until_the_screen_stands_and_every_key_works_after_it(
    home: Path, step: int
) -> None:
    program = [*COMMAND[:2], STOP_AT_A_STEP + COMMAND[2]]
    with on_terminal(home, command=program, more={"STOP_AT": str(step)}) as terminal:
        stops = 1
        if step >= 5:
            terminal.wait_to_see(HOME)
            terminal.type(CONTROL_Z)
        wait_until_stopped(terminal, stops)
        go_on(terminal)
        if step >= 6:
            stops = 2
            wait_until_stopped(terminal, stops)
            go_on(terminal)
        terminal.wait_until(lambda: terminal.raw.count(TAKES) == stops + 1)
        terminal.type("?")
        terminal.wait_to_see(HELP)
        terminal.type(ESCAPE)
        terminal.wait_to_lose(HELP)
        terminal.type(CONTROL_Z)
        wait_until_stopped(terminal, stops + 1)
        go_on(terminal)
        terminal.wait_until(lambda: terminal.raw.count(TAKES) == stops + 2)
        terminal.type("q")
        assert terminal.leave() == 0
        assert left_in_order(terminal)
        assert terminal.raw.count(TAKES) == terminal.raw.count(GIVES_BACK) == stops + 2
        assert "Traceback" not in terminal.said


def test_going_on_without_a_stop_changes_nothing(home: Path) -> None:
    with on_terminal(home) as terminal:
        terminal.wait_to_see(HOME)
        go_on(terminal)
        terminal.type("?")
        terminal.wait_to_see(HELP)
        terminal.type(ESCAPE)
        terminal.wait_to_lose(HELP)
        terminal.type("q")
        assert terminal.leave() == 0
        assert terminal.raw.count(TAKES) == terminal.raw.count(GIVES_BACK) == 1


def test_in_the_background_it_stays_stopped_until_the_shell_gives_it_the_terminal(
    home: Path,
) -> None:
    shell = ["bash", "--noprofile", "--norc", "-i"]
    program = " ".join(f"'{part}'" for part in COMMAND)
    with on_terminal(home, command=shell, more={"PS1": "shell> "}) as terminal:
        terminal.wait_to_see("shell> ")
        terminal.type(f"{program}\n")
        terminal.wait_to_see(HOME)
        terminal.type(CONTROL_Z)
        terminal.wait_for("Stopped")
        terminal.wait_for("shell> ")
        # The shell says that it goes on, and at the next line that it stands still again.
        terminal.type("bg; wait -f 2>/dev/null\n")
        terminal.type("jobs\n")
        terminal.wait_for("Stopped")
        assert terminal.raw.count(TAKES) == terminal.raw.count(GIVES_BACK) == 1
        terminal.type("fg\n")
        terminal.wait_until(lambda: terminal.raw.count(TAKES) == 2)
        terminal.type("q")
        terminal.wait_until(lambda: terminal.raw.count(GIVES_BACK) == 2)
        # What is typed before the shell asks is thrown away with the program's own input.
        terminal.wait_until(lambda: terminal.raw.rfind(b"shell> ") > terminal.raw.rfind(GIVES_BACK))
        terminal.type("exit\n")
        assert terminal.leave() == 0
