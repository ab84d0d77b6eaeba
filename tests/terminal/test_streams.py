"""Readers that leave, and encodings that lack our signs."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from drills.commands.streams import plain
from tests.cli.running import COMMAND, PATIENCE, crosspour, environment, on_terminal
from tests.terminal.opening import ANSWERED, QUESTION, answers

FLIGHT = """date,called,was,acid,descriptors
2026-09-03,Sancerre,Marlborough Sauvignon Blanc,high,grass
2026-09-03,Barolo,Barolo,high,tar
2026-09-03,Riesling,Grüner Veltliner,high,
"""
# The ways in which commands print: by argparse, line by line, at once, as CSV, between questions.
PRINTING = [
    ["--help"],
    ["--version"],
    ["drill", "--plain"],
    ["import", "--list"],
    ["debrief"],
    ["weak"],
    ["progress"],
    ["pair", "Sancerre", "NZ Sauvignon Blanc", "--causes"],
    ["laterals", "Chablis"],
    ["table", "check"],
    ["table", "export", "-"],
    ["completion", "offers", "="],
    ["man"],
]
C_LOCALE = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
LATIN_1 = {"PYTHONIOENCODING": "latin-1"}


@pytest.fixture
def tasted(home: Path) -> Path:
    """A home with one flight."""
    (home / "flight.csv").write_text(FLIGHT, encoding="utf-8")
    done = crosspour(home, "import", str(home / "flight.csv"))
    assert done.returncode == 0, done.stderr
    return home


def test_a_reader_that_leaves_is_no_error_that_a_command_tells(tasted: Path) -> None:
    """As `crosspour ... | head -0`: the other end of the pipe is closed before the first line."""
    # All at once: each waits for its own start more than for anything else.
    running = {
        " ".join(arguments): subprocess.Popen(
            [*COMMAND, *arguments],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env=environment(tasted),
            cwd=tasted,
        )
        for arguments in PRINTING
    }
    told = {}
    for command, process in running.items():
        with process:
            assert process.stdout is not None
            assert process.stderr is not None
            process.stdout.close()
            said = process.stderr.read().decode()
            if process.wait(PATIENCE) not in (0, 1) or said:
                told[command] = (process.returncode, said)
    assert told == {}


@pytest.mark.parametrize("more", [C_LOCALE, LATIN_1], ids=["C", "latin-1"])
def test_what_an_encoding_lacks_is_printed_as_the_nearest_plain_sign(
    tasted: Path, more: dict[str, str]
) -> None:
    for arguments in (["debrief"], ["weak"], ["laterals", "gruner-wachau"]):
        done = subprocess.run(
            [*COMMAND, *arguments],
            capture_output=True,
            env=environment(tasted, **more),
            timeout=PATIENCE,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        usual = crosspour(tasted, *arguments).stdout
        said = done.stdout.decode("latin-1")
        assert len(said.splitlines()) == len(usual.splitlines())
        for line, as_usual in zip(said.splitlines(), usual.splitlines(), strict=True):
            assert len(line) == len(as_usual)
            assert line.count("?") == as_usual.count("?"), (line, as_usual)


@pytest.mark.parametrize("more", [C_LOCALE, {"PYTHONIOENCODING": "ascii"}], ids=["C", "ascii"])
def test_the_screens_are_drawn_with_the_signs_that_the_encoding_has(
    home: Path, more: dict[str, str]
) -> None:
    with on_terminal(home, "drill", more=more) as terminal:
        terminal.wait_to_see(QUESTION)
        terminal.type("a")
        terminal.wait_to_see(ANSWERED)
        card = [line for line in terminal.seen.splitlines() if "glass" in line]
        assert card
        assert all(set("+-") < set(line) for line in card)
        # The key of the help is the only question mark besides the question's own.
        assert terminal.seen.replace(QUESTION, "").count("?") == 1
    assert answers(home) == 1


def test_each_sign_has_one_plain_sign_in_its_place() -> None:
    signs = "“”–…·×≈✓✗─│┌╔═║╭╯█▏░é ñ ü ł"
    told = "".join(plain(sign) for sign in signs)
    assert len(told) == len(signs)
    assert told.isascii()
    assert plain("é") == "e"
    assert plain("═") == "-"
    assert plain("║") == "|"
    assert plain("╔") == "+"
    assert plain("酒") == "?"
