"""Completion of the command line: what is offered, and in the real shells, where they are."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pytest

from drills.cli import _parser
from drills.commands.command_tree import Kind, read
from drills.commands.completing import FILES, Offer, offers
from drills.commands.shells import SCRIPTS
from tests.cli.running import ROOT, Terminal, crosspour, on_terminal

WINES = [
    ("sauvignon-sancerre", "Sancerre"),
    ("sauvignon-marlborough", "Marlborough Sauvignon"),
    ("riesling-alsace", "Alsace Riesling"),
    ("gewurztraminer-alsace", "Alsace Gewürztraminer"),
]


def offered(*typed: str, wines: Sequence[tuple[str, str]] = WINES) -> list[str]:
    return [offer.word for offer in offers(read(_parser()), typed, lambda: wines)]


# ---- what is offered


def test_every_command_is_offered_with_what_it_does() -> None:
    root = read(_parser())
    assert [Offer(one.path[-1], one.words) for one in root.parts] == offers(root, [""], list)
    assert {"drill", "pair", "table", "completion", "man"} <= set(offered(""))
    assert all(one.words for one in root.everything())


def test_a_command_that_is_begun_and_one_below_another_are_offered() -> None:
    assert offered("dr") == ["drill"]
    assert offered("table", "") == ["check", "new", "edit", "export", "import"]
    assert offered("table", "ex") == ["export"]
    assert offered("no-such", "") == []


def test_options_are_offered_once_a_dash_is_typed_and_none_twice() -> None:
    assert {"--minutes", "--pair", "--style", "--plain", "--database"} <= set(offered("drill", "-"))
    assert offered("drill", "--mi") == ["--minutes"]
    assert "--minutes" not in offered("drill", "--minutes", "5", "--")
    assert offered("drill", "--minutes", "") == []
    assert offered("drill", "--style", "s") == ["sparkling", "sweet"]
    assert offered("drill", "--style", "sweet", "--pl") == ["--plain"]


@pytest.mark.parametrize(
    "before",
    [
        ["profile"],
        ["profile", "--sources"],
        ["pair"],
        ["pair", "x"],
        ["laterals"],
        ["drill", "--pair"],
        ["drill", "--pair", "x"],
    ],
)
def test_wines_are_offered_wherever_one_is_asked_for(before: list[str]) -> None:
    assert offered(*before, "sauvignon-s") == ["sauvignon-sancerre"]
    assert offered(*before, "sauv") == ["sauvignon-sancerre", "sauvignon-marlborough"]


def test_a_wine_is_found_by_a_part_of_its_key_or_name_unless_a_shell_would_eat_what_was_typed() -> (
    None
):
    assert offered("laterals", "Sancerre") == ["sauvignon-sancerre"]
    assert offered("laterals", "GEWÜRZ") == ["gewurztraminer-alsace"]
    # These two begin alike: a shell would put “sauvignon-” in the place of what was typed.
    assert offered("laterals", "auvignon") == []
    assert offered("laterals", "alsace") == ["riesling-alsace", "gewurztraminer-alsace"]
    assert offered("laterals", "nothing") == []
    assert offered("pair", "x", "y", "sau") == []


def test_files_are_left_to_the_shell() -> None:
    assert offered("backup", "") == [FILES]
    assert offered("--database", "") == [FILES]
    # As bash cuts it.
    assert offered("--database", "=", "x") == [FILES]
    assert offered("--database", "x", "dr") == ["drill"]
    assert offered("table", "export", "a") == [FILES]


def test_the_table_is_not_read_for_anything_but_a_wine() -> None:
    def unread() -> list[tuple[str, str]]:
        raise AssertionError("the table was asked for")

    for typed in ([""], ["drill", "--"], ["backup", ""], ["drill", "--style", ""]):
        assert offers(read(_parser()), typed, unread)


def test_every_word_that_names_a_file_or_a_wine_is_known_as_one() -> None:
    kinds = {
        (*command.path, word.names[0] if word.names else word.shown[0]): word.kind
        for command in read(_parser()).everything()
        for word in (*command.options, *command.arguments)
    }
    assert kinds["drill", "--pair"] is Kind.WINE
    assert kinds["table", "new", "--like"] is Kind.WINE
    assert kinds["report", "FILE.html"] is Kind.FILE
    assert kinds["debrief", "FLIGHT"] is Kind.WORD


def test_the_program_answers_a_shell_also_with_a_broken_table(home: Path) -> None:
    done = crosspour(home, "completion", "offers", "=laterals", "=sauvignon-sanc")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("sauvignon-sancerre\t")
    done = crosspour(home, "completion", "offers", "=drill", "=--min")
    assert done.stdout.startswith("--minutes\t")
    (home / "table").mkdir()
    (home / "table" / "broken.toml").write_text("not toml")
    done = crosspour(home, "completion", "offers", "=laterals", "=sau")
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


@pytest.mark.parametrize("shell", SCRIPTS)
def test_the_lines_for_a_shell_are_printed_and_say_where_they_go(home: Path, shell: str) -> None:
    done = crosspour(home, "completion", shell)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == SCRIPTS[shell]
    assert f"crosspour completion {shell}" in done.stdout


def test_a_shell_that_is_not_known_is_asked_for_wrongly(home: Path) -> None:
    done = crosspour(home, "completion", "tcsh")
    assert done.returncode == 2
    assert "choose from" in done.stderr


# ---- in the shells themselves

# How each is started without the files of whoever runs the tests, and how it takes our lines.
SHELLS = {
    "bash": ["bash", "--noprofile", "--norc", "-i"],
    "zsh": ["zsh", "-f", "-i"],
    "fish": ["fish", "--no-config", "-i"],
}
BEGIN = {
    "bash": "PS1='ready> '; bind 'set bell-style none'; eval \"$(crosspour completion bash)\"\n",
    "zsh": (
        "PS1='ready> '; unsetopt beep; autoload -Uz compinit && compinit -u -d \"$PWD/dump\"; "
        'eval "$(crosspour completion zsh)"\n'
    ),
    "fish": (
        "function fish_prompt; echo -n 'ready> '; end; function fish_right_prompt; end; "
        "crosspour completion fish | source\n"
    ),
}


@contextmanager
def in_shell(shell: str, home: Path) -> Iterator[Terminal]:
    """The shell with our completion, on a terminal, in a folder with one file."""
    if shutil.which(shell) is None:
        pytest.skip(f"{shell} is not installed")
    tools = home / "bin"
    tools.mkdir()
    program = tools / "crosspour"
    program.write_text(
        f"#!/bin/sh\nexec {sys.executable} -c "
        "'import sys; from drills.cli import main; sys.exit(main())' \"$@\"\n"
    )
    program.chmod(0o755)
    folder = home / "folder"
    folder.mkdir()
    (folder / "my flight.csv").touch()
    more = {
        "PATH": f"{tools}{os.pathsep}{os.environ['PATH']}",
        "HOME": str(folder),
        "XDG_CONFIG_HOME": str(folder),
        "XDG_DATA_HOME": str(folder),
        "PYTHONPATH": str(ROOT),
        "TERM": "xterm",
    }
    with on_terminal(
        home, command=SHELLS[shell], size=(120, 40), more=more, folder=folder
    ) as terminal:
        terminal.type(BEGIN[shell])
        terminal.type("echo be''gun\n")
        terminal.wait_to_see("begun")
        yield terminal


@pytest.mark.parametrize("shell", SHELLS)
@pytest.mark.parametrize(
    ("typed", "completed"),
    [
        ("crosspour dri", "crosspour drill "),
        ("crosspour drill --min", "crosspour drill --minutes "),
        ("crosspour laterals sauvignon-sanc", "crosspour laterals sauvignon-sancerre "),
        ("crosspour drill --pair Sancerre", "crosspour drill --pair sauvignon-sancerre "),
        ("crosspour import my", "crosspour import my\\ flight.csv"),
    ],
)
def test_tab_completes_commands_options_wines_and_files(
    home: Path, shell: str, typed: str, completed: str
) -> None:
    with in_shell(shell, home) as terminal:
        terminal.type(f"{typed}\t")
        terminal.wait_to_see(completed)


@pytest.mark.parametrize("shell", SHELLS)
def test_the_lines_for_a_shell_are_good_lines_of_that_shell(shell: str) -> None:
    if shutil.which(shell) is None:
        pytest.skip(f"{shell} is not installed")
    done = subprocess.run(
        [shell, "-n"], input=SCRIPTS[shell], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
