"""No terminal, pipes, signals, encodings, homes, and the demonstration."""

from __future__ import annotations

import io
import json
import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from drills.cli import main
from drills.commands import asking, standing
from tests.cli.running import COMMAND, crosspour, environment
from tests.cli.saying import refused, said

# No command of this file ever sees another home.
pytestmark = pytest.mark.usefixtures("home")


# ---- no terminal


@pytest.mark.parametrize("command", [[], ["drill"], ["drill", "--pair", "Chablis", "Sancerre"]])
def test_without_a_terminal_the_screens_say_what_to_do_instead(
    capsys: pytest.CaptureFixture[str], command: list[str]
) -> None:
    line = refused(capsys, *command)
    assert line == (
        "the screens need a terminal; without one use drill --plain or a command that prints, "
        "see --help"
    )


def test_without_a_terminal_nothing_is_made(tmp_path: Path) -> None:
    done = crosspour(tmp_path / "fresh", "drill")
    assert done.returncode == 1
    assert done.stdout == ""
    assert not (tmp_path / "fresh").exists()


@pytest.mark.parametrize("size", [(59, 20), (60, 19)])
def test_a_terminal_that_is_too_small_is_told_what_is_needed(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    monkeypatch.setattr(asking, "has_terminal", lambda: True)
    monkeypatch.setattr(shutil, "get_terminal_size", lambda: os.terminal_size(size))
    line = refused(capsys, "drill")
    assert f"{size[0]}x{size[1]}" in line
    assert "60x20 is the least" in line


def test_two_wines_to_drill_are_checked_before_the_screens_open(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(asking, "has_terminal", lambda: True)
    assert "Qwxz" in refused(capsys, "drill", "--pair", "Chablis", "Qwxz")
    assert "same wine" in refused(capsys, "drill", "--pair", "Chablis", "Chablis", code=2)


@pytest.mark.parametrize("text", ["minutes = 500\n", "minuts = 5\n", "minutes = \n"])
def test_a_mistake_in_the_settings_is_one_line_with_the_file(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, home: Path, text: str
) -> None:
    monkeypatch.setattr(asking, "has_terminal", lambda: True)
    (home / "settings.toml").write_text(text, encoding="utf-8")
    assert str(home / "settings.toml") in refused(capsys, "drill", code=2)
    # What needs no settings works on.
    assert said(capsys, "weak")


# ---- the demonstration


def test_the_demonstration_prints_and_leaves_the_tasters_own_things_alone(
    home: Path, tmp_path: Path
) -> None:
    before = {file: file.read_bytes() for file in home.rglob("*") if file.is_file()}
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    done = crosspour(home, "demo", TMPDIR=str(scratch))
    assert (done.returncode, done.stderr) == (0, "")
    first, *lines = done.stdout.splitlines()
    assert "invented taster" in first
    assert len(lines) >= 5
    assert all("90% interval" in line for line in lines)
    assert {file: file.read_bytes() for file in home.rglob("*") if file.is_file()} == before
    assert list(scratch.iterdir()) == []


def test_the_demonstration_can_be_drilled_in_lines(home: Path) -> None:
    before = {file: file.read_bytes() for file in home.rglob("*") if file.is_file()}
    done = crosspour(home, "demo", "--plain", typed="a\nf\n")
    assert (done.returncode, done.stderr) == (0, "")
    assert "Mixed up in a tasting." in done.stdout
    assert "The drill is over: 1 answer" in done.stdout
    assert {file: file.read_bytes() for file in home.rglob("*") if file.is_file()} == before


def test_the_demonstration_does_not_read_a_database_named_by_the_environment(
    home: Path, tmp_path: Path
) -> None:
    other = tmp_path / "other.sqlite3"
    done = crosspour(home, "demo", CROSSPOUR_DATABASE=str(other))
    assert done.returncode == 0
    assert not other.exists()


# ---- pipes, signals, encodings


def test_a_reader_that_leaves_early_ends_the_command_quietly(home: Path) -> None:
    process = subprocess.Popen(
        [*COMMAND, "laterals", "Chablis"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment(home, PYTHONUNBUFFERED="1"),
    )
    assert process.stdout is not None
    assert process.stderr is not None
    # Closed before anything is written: the first line has no reader.
    process.stdout.close()
    err = process.stderr.read()
    process.stderr.close()
    assert process.wait(60) == 1
    assert err == b""


def test_a_reader_that_takes_one_line_gets_it(home: Path) -> None:
    shell = subprocess.run(
        f"{' '.join(map(_quoted, COMMAND))} pair Chablis Meursault --json | head -n 1",
        shell=True,
        capture_output=True,
        env=environment(home),
        timeout=60,
        check=False,
    )
    assert (shell.stdout, shell.stderr) == (b"{\n", b"")


def _quoted(word: str) -> str:
    return "'" + word.replace("'", "'\\''") + "'"


def test_an_interrupt_ends_with_the_shells_own_code(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(_: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(standing, "_weak", interrupted)
    assert main(["weak"]) == 128 + signal.SIGINT
    assert capsys.readouterr() == ("", "")


def test_a_terminal_without_accents_still_gets_the_line(home: Path) -> None:
    done = crosspour(home, "laterals", "Albariño", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert done.returncode == 0
    assert done.stdout.isascii()
    assert "gruner-wachau" in done.stdout
    done = crosspour(home, "laterals", "Qwxz", PYTHONIOENCODING="ascii")
    assert done.returncode == 1
    assert "Qwxz" in done.stderr


def test_json_keeps_accents_as_they_are(home: Path) -> None:
    done = crosspour(home, "import", "-", "--json", typed="Château Plonk > Albariño\n")
    (unresolved,) = json.loads(done.stdout)["unresolved"]
    assert unresolved["text"] == "Château Plonk"
    assert "Château" in done.stdout


def test_without_a_home_of_its_own_the_program_keeps_to_the_users_folders(
    tmp_path: Path,
) -> None:
    if sys.platform != "linux":
        pytest.skip("the folders are those of Linux")
    user = tmp_path / "user"
    user.mkdir()
    settings = environment(user, HOME=str(user))
    for name in [name for name in settings if name.startswith(("CROSSPOUR_", "XDG_"))]:
        del settings[name]
    done = subprocess.run(
        [*COMMAND, "weak"], env=settings, capture_output=True, timeout=60, check=False
    )
    assert done.returncode == 0
    made = {file.relative_to(user).as_posix() for file in user.rglob("*") if file.is_file()}
    assert made == {
        ".local/share/crosspour/crosspour.sqlite3",
        ".cache/crosspour/table.json",
    }


def test_standard_input_that_is_closed_is_no_trouble(home: Path) -> None:
    done = crosspour(home, "import", "-")
    assert done.returncode == 1
    assert "what was typed is empty" in done.stderr
    assert done.stderr.count("\n") == 1


def test_output_goes_to_whatever_stands_in_for_standard_output(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stdout", stream)
    assert main(["laterals", "Chablis"]) == 0
    assert "gruner-wachau" in stream.getvalue()
