"""What a first start says while it chooses the cards, and that no other start says anything."""

from __future__ import annotations

import io
import threading
from contextlib import redirect_stderr
from pathlib import Path

import pytest

from drills.commands import asking
from tests.cli.running import COMMAND, PATIENCE, crosspour, on_terminal

CHOOSING = "choosing the cards from 120 wines"
# A machine on which nothing is quick: whatever may be told is told.
AT_ONCE = "from drills.commands import asking; asking.SLOW = 0.0; "
SLOW_COMMAND = [*COMMAND[:2], AT_ONCE + COMMAND[2]]


class Heard(io.StringIO):
    """A terminal's standard error, and whether a line has come."""

    def __init__(self) -> None:
        super().__init__()
        self.line = threading.Event()

    def isatty(self) -> bool:
        return True

    def write(self, text: str) -> int:
        written = super().write(text)
        if "\n" in text:
            self.line.set()
        return written


def test_what_takes_long_is_told_in_one_line_while_it_is_done(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(asking, "SLOW", 0.0)
    with redirect_stderr(Heard()) as heard, asking.told_when_slow("choosing"):
        assert heard.line.wait(PATIENCE)
    assert heard.getvalue() == "crosspour: choosing ...\n"


def test_what_is_quick_is_not_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(asking, "SLOW", 3600.0)
    with redirect_stderr(Heard()) as heard:
        with asking.told_when_slow("choosing"):
            assert [one for one in threading.enumerate() if isinstance(one, threading.Timer)]
        assert heard.getvalue() == ""
    assert not [one for one in threading.enumerate() if isinstance(one, threading.Timer)]


def test_nothing_is_told_where_no_terminal_is(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(asking, "SLOW", 0.0)
    with asking.told_when_slow("choosing"):
        pass
    assert capsys.readouterr() == ("", "")


def test_the_first_start_tells_that_it_chooses_the_cards_and_the_next_one_does_not(
    tmp_path: Path,
) -> None:
    fresh = tmp_path / "new"
    for told in (True, False):
        with on_terminal(fresh, "drill", "--plain", command=SLOW_COMMAND) as terminal:
            terminal.wait_for("Left or right, how sure?")
            assert (f"crosspour: {CHOOSING} ...\r\n" in terminal.said) is told
            # Neither for a screen reader nor for a dumb terminal is anything wiped.
            assert b"\x1b" not in terminal.raw
            terminal.type("f\n")
            assert terminal.leave() == 0


def test_before_the_screens_it_is_told_where_they_open_and_nothing_stands_across_them(
    tmp_path: Path,
) -> None:
    with on_terminal(tmp_path / "new", command=SLOW_COMMAND) as terminal:
        terminal.wait_to_see("contrasts unseen")
        # The screens have a place of their own, and what was told stays in the shell's.
        assert terminal.raw.count(CHOOSING.encode()) == 1
        assert terminal.raw.index(CHOOSING.encode()) < terminal.raw.index(b"\x1b[?1049h")
        terminal.type("q")
        assert terminal.leave() == 0


def test_a_pipe_is_told_nothing(tmp_path: Path) -> None:
    done = crosspour(tmp_path / "new", "--plain")
    assert (done.returncode, done.stderr) == (0, "")
    assert "contrasts unseen" in done.stdout
