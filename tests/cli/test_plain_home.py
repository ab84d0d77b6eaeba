"""The first screen and the tray in lines: nothing is to be had on the screens alone."""

from __future__ import annotations

import json
import re
from pathlib import Path

from drills.cli import _parser
from drills.commands.command_tree import read
from drills.commands.plain_home import WAYS
from tests.cli.running import crosspour

LINES = "2026-02-27 Sancerre > Plonk of the house\n2026-02-28 Barolo > PLONK of the House\n"


def test_the_first_screen_in_lines_says_what_waits_and_how_each_thing_is_done(home: Path) -> None:
    crosspour(home, "import", "-", typed=LINES)
    done = crosspour(home, "--plain")
    assert (done.returncode, done.stderr) == (0, "")
    assert "2 pours with a name the table does not know." in done.stdout
    assert "contrasts unseen, from 120 wines." in done.stdout
    assert str(home / "settings.toml") in done.stdout
    for what, command in WAYS:
        assert f"{what}: {command}" in done.stdout


def test_every_way_that_is_named_exists() -> None:
    root = read(_parser())
    for _, ways in WAYS:
        words = ways.split(", ")[0].split()
        assert words[0] == "crosspour"
        command = root
        for word in words[1:]:
            if (below := command.part(word)) is not None:
                command = below
            elif word.startswith("--"):
                assert any(word in option.names for option in command.options), ways
        assert command is not root


def test_the_tray_lists_names_and_resolves_one_for_all_its_pours(home: Path) -> None:
    crosspour(home, "import", "-", typed=LINES)
    (waits,) = json.loads(crosspour(home, "tray", "--json").stdout)
    assert list(waits) == ["name", "pours", "suggestions", "lacking", "cellar"]
    assert (waits["pours"], waits["lacking"]) == (2, False)
    assert re.match(r"plonk of the house: 2 pours", crosspour(home, "tray").stdout, re.IGNORECASE)
    done = crosspour(home, "tray", "plonk of the house", "--lacking")
    assert "crosspour table new" in done.stdout
    assert "no such wine" in crosspour(home, "tray").stdout
    done = crosspour(home, "tray", "plonk of the house", "Chablis")
    assert (done.returncode, done.stderr) == (0, "")
    assert "means Chablis: 2 pours resolved" in done.stdout
    assert crosspour(home, "tray").stdout == "Nothing waits: every name is clear.\n"


def test_a_name_whose_wine_was_added_is_not_said_to_be_lacking(home: Path) -> None:
    crosspour(home, "import", "-", typed="2026-02-27 Frappato > Barolo\n")
    said = crosspour(home, "tray", "Frappato", "--lacking").stdout
    assert "crosspour table new frappato --like WINE" in said
    assert "the table has no such wine" in crosspour(home, "tray").stdout
    crosspour(home, "table", "new", "frappato", "--like", "Etna Rosso")
    assert crosspour(home, "tray").stdout == "Frappato: 1 pour; perhaps Frappato\n"


def test_the_tray_answers_what_it_cannot_do_with_one_sentence(home: Path) -> None:
    for arguments, words, code in (
        (["x"], "NAME WINE, or NAME --lacking", 2),
        (["--lacking"], "NAME WINE, or NAME --lacking", 2),
        (["x", "Chablis", "--lacking"], "NAME WINE, or NAME --lacking", 2),
        (["[b]x", "Chablis"], "“[b]x” does not wait in the tray", 1),
    ):
        done = crosspour(home, "tray", *arguments)
        assert (done.returncode, done.stdout) == (code, "")
        assert words in done.stderr
    crosspour(home, "import", "-", typed=LINES)
    done = crosspour(home, "tray", "Plonk of the house", "Qwxz")
    assert done.returncode != 0
    assert done.stderr == "crosspour: “Qwxz” is no wine of the table\n"
