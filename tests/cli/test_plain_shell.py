"""The plain drill as a shell runs it: over pipes, on terminals without a cursor, and stopped."""

from __future__ import annotations

import re
import signal
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.cli.on_lines import DRAWN, QUESTION, answers
from tests.cli.running import COMMAND, PATIENCE, crosspour, environment, on_terminal


def test_a_whole_drill_over_a_pipe_is_plain_and_kept(home: Path) -> None:
    done = crosspour(home, "drill", "--plain", typed="a\n\nl\nw\n\nt\nd\nf\n")
    assert (done.returncode, done.stderr) == (0, "")
    assert not DRAWN.search(done.stdout)
    assert done.stdout.count(QUESTION) == 4
    assert [one.sureness for one in answers(home)] == [3, 3, 1]


def test_the_end_of_the_input_ends_the_drill_and_keeps_the_answers(home: Path) -> None:
    done = crosspour(home, "drill", "--plain", typed="a")
    assert (done.returncode, done.stderr) == (0, "")
    assert "The drill is over: 1 answer" in done.stdout
    assert len(answers(home)) == 1
    done = crosspour(home, "drill", "--plain")
    assert done.returncode == 0
    assert "Nothing was answered." in done.stdout


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        (b"\xff\xfe\n\x80a\na\n", 1),
        (b"\x00\n\x1b[A\na\n", 1),
        ("ü" * 400_000 + "\na\n", 1),
        (b"a\r\n\r\nl\r\n", 2),
    ],
    ids=["no UTF-8", "signs of control", "a long line", "lines of Windows"],
)
def test_whatever_is_typed_into_the_pipe_the_drill_goes_on(
    home: Path, typed: bytes | str, kept: int
) -> None:
    done = crosspour(home, "drill", "--plain", typed=typed)
    assert (done.returncode, done.stderr) == (0, "")
    assert not DRAWN.search(done.stdout)
    assert len(answers(home)) == kept


def test_minutes_pair_and_style_are_as_on_the_screen(home: Path) -> None:
    done = crosspour(
        home, "drill", "--plain", "--minutes", "3", "--pair", "Sancerre", "NZ Sauvignon Blanc"
    )
    assert "a drill of 3:00" in done.stdout
    assert "This pair was asked for." in done.stdout
    done = crosspour(home, "drill", "--plain", "--style", "sparkling", typed="a\n")
    (answer,) = answers(home)
    assert answer.contrast_id
    assert done.returncode == 0


def test_what_there_is_nothing_of_is_one_sentence(home: Path) -> None:
    for option, words in (("--resume", "no drill was stopped"), ("--sure-slips", "nothing waits")):
        done = crosspour(home, "drill", "--plain", option, typed="a\n")
        assert (done.returncode, done.stdout) == (1, "")
        assert words in done.stderr
        assert done.stderr.count("\n") == 1


def test_a_drill_that_was_stopped_goes_on_with_resume_and_sure_slips_are_asked(home: Path) -> None:
    crosspour(home, "drill", "--plain", "--minutes", "5", typed="a\n\na\n\na\n\na\n\na\n\na\n")
    wrong = [one for one in answers(home) if not one.correct]
    assert wrong, "one of six cards is wrong but once in 64 drills; the seed is fixed"
    done = crosspour(home, "drill", "--plain", "--resume")
    assert re.search(r"a drill of [45]:\d\d", done.stdout)
    done = crosspour(home, "drill", "--plain", "--sure-slips")
    assert "Wrong last time, and you were sure." in done.stdout


@contextmanager
def piped(home: Path, *arguments: str) -> Iterator[subprocess.Popen[bytes]]:
    """A plain drill whose other ends of the pipes the test holds."""
    process = subprocess.Popen(
        [*COMMAND, "drill", "--plain", *arguments],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment(home),
    )
    try:
        yield process
    finally:
        process.kill()
        process.wait(PATIENCE)
        for end in (process.stdin, process.stdout, process.stderr):
            assert end is not None
            end.close()


def read_until(process: subprocess.Popen[bytes], words: str) -> str:
    """Read lines up to one with the words."""
    assert process.stdout is not None
    said = ""
    for line in process.stdout:
        said += line.decode()
        if words in said:
            return said
    raise AssertionError(f"waited in vain for {words}:\n{said}")


def type_line(process: subprocess.Popen[bytes], line: str) -> None:
    assert process.stdin is not None
    process.stdin.write(f"{line}\n".encode())
    process.stdin.flush()


def test_each_question_is_out_before_its_answer_is_waited_for(home: Path) -> None:
    with piped(home) as process:
        for _ in range(2):
            read_until(process, QUESTION)
            type_line(process, "s")
            read_until(process, "Enter goes on")
            type_line(process, "")
        assert len(answers(home)) == 2


def test_a_reader_that_leaves_ends_the_drill_without_a_traceback(home: Path) -> None:
    with piped(home) as process:
        read_until(process, QUESTION)
        assert process.stdout is not None
        process.stdout.close()
        type_line(process, "a")
        assert process.wait(PATIENCE) == 1
        assert process.stderr is not None
        assert process.stderr.read() == b""
    assert len(answers(home)) == 1


@pytest.mark.parametrize(
    ("sign", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143), (signal.SIGHUP, 129)]
)
def test_a_drill_that_is_told_to_stop_leaves_a_whole_database(
    home: Path, sign: signal.Signals, code: int
) -> None:
    with piped(home) as process:
        read_until(process, QUESTION)
        type_line(process, "a")
        read_until(process, "Enter goes on")
        type_line(process, "")
        read_until(process, QUESTION)
        process.send_signal(sign)
        assert process.wait(PATIENCE) == code
        assert process.stdout is not None
        assert process.stderr is not None
        assert "The drill is over: 1 answer" in process.stdout.read().decode()
        assert process.stderr.read() == b""
    assert len(answers(home)) == 1


@pytest.mark.parametrize("term", ["dumb", "xterm-256color"])
def test_on_a_terminal_nothing_but_lines_is_written(home: Path, term: str) -> None:
    with on_terminal(home, "drill", "--plain", more={"TERM": term}, size=(40, 10)) as terminal:
        terminal.wait_for(QUESTION)
        terminal.type("a\n")
        terminal.wait_for("Enter goes on")
        terminal.type("\n")
        terminal.wait_for("Card 2")
        terminal.type("\x04")  # the end of the input, as typed
        assert terminal.leave() == 0
        raw = terminal._said.decode().replace("\r\n", "\n")
    assert not DRAWN.search(raw.replace("^D\x08\x08", ""))
    # Wrapped between words; the prompts alone are left to the terminal.
    prompts = (QUESTION, "Enter goes on")
    assert all(len(line) < 40 for line in raw.splitlines() if not line.startswith(prompts))
    assert len(answers(home)) == 1


def test_control_c_on_a_terminal_says_what_was_done_and_ends_with_130(home: Path) -> None:
    with on_terminal(home, "drill", "--plain") as terminal:
        terminal.wait_for(QUESTION)
        terminal.type("a\n")
        terminal.wait_for("Enter goes on")
        terminal.type("\x03")
        terminal.wait_for("The drill is over: 1 answer")
        assert terminal.leave() == 130
        assert "Traceback" not in terminal.said


def test_the_plain_drill_needs_no_screens(home: Path) -> None:
    code = (
        "import sys, io; sys.stdin = io.StringIO('a\\n\\n')\n"
        "from drills.cli import main; main(['drill', '--plain'])\n"
        "print('loaded', *sorted({name.split('.')[0] for name in sys.modules}))"
    )
    done = subprocess.run(
        [COMMAND[0], "-c", code], env=environment(home), capture_output=True, text=True, check=True
    )
    last = done.stdout.splitlines()[-1].split()
    assert last[0] == "loaded"
    assert {"textual", "rich", "alembic"}.isdisjoint(last)
