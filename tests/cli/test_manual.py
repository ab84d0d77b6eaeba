"""The manual page: all of the command line, in signs that the formatters of the system take."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from drills.cli import _parser
from drills.commands.command_tree import read
from drills.commands.manual import _text, page
from tests.cli.running import crosspour

ROOT = Path(__file__).parents[2]


def formatted(roff: str, program: str) -> str:
    """The page as a reader sees it, without bold and underlined signs."""
    if shutil.which(program) is None:
        pytest.skip(f"{program} is not installed")
    arguments = {"groff": ["-man", "-Tutf8", "-ww"], "man": ["-l", "-"]}[program]
    done = subprocess.run(
        [program, *arguments], input=roff.encode(), capture_output=True, check=False
    )
    assert (done.returncode, done.stderr.decode()) == (0, "")
    return re.sub(r".\x08|\x1b\[[0-9;]*m", "", done.stdout.decode())


def bare(text: str) -> str:
    """Letters, digits and signs alone: where lines break and which hyphen stands is no matter."""
    text = text.replace("“", '"').replace("”", '"').replace("%%", "%")
    return re.sub(r"[\s\-\u2010\u2212]", "", text)


@pytest.mark.parametrize("program", ["groff", "man"])
def test_the_page_holds_every_command_option_and_sentence_of_the_command_line(
    home: Path, program: str
) -> None:
    done = crosspour(home, "man")
    assert (done.returncode, done.stderr) == (0, "")
    seen = bare(formatted(done.stdout, program))
    for command in read(_parser()).everything():
        assert bare(" ".join(command.path)) in seen
        assert bare(command.words[1:]) in seen, command.path
        for word in (*command.options, *command.arguments):
            assert all(bare(name) in seen for name in word.names)
            assert bare(word.words) in seen, (command.path, word)


@pytest.mark.parametrize(
    "heading",
    [
        "NAME",
        "SYNOPSIS",
        "DESCRIPTION",
        "OPTIONS",
        "COMMANDS",
        "EXIT STATUS",
        "ENVIRONMENT",
        "FILES",
    ],
)
def test_the_page_has_the_parts_of_a_manual_page(heading: str) -> None:
    """The headings of man-pages(7) of the Linux man-pages project."""
    assert f".SH {heading}\n" in page(read(_parser()), "1")


def test_the_page_tells_the_exit_codes_and_places_that_the_readme_tells() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    roff = page(read(_parser()), "1").replace("\\-", "-")
    for name in ("CROSSPOUR_HOME", "CROSSPOUR_DATABASE", "settings.toml", "crosspour.sqlite3"):
        assert name in readme
        assert name in roff
    codes = re.search(r"Exit codes: (.*?)\. ", readme, re.DOTALL)
    assert codes is not None
    for code in re.findall(r"\b\d+\b", codes[1]):
        assert re.search(rf"^\\fB.*(?<!\d){code}(?!\d).*\\fR$", roff, re.MULTILINE), code


def test_no_text_is_taken_for_a_request_or_a_sign_of_roff() -> None:
    assert _text(".TH evil") == "\\&.TH evil"
    assert _text("'tis") == "\\&'tis"
    assert _text("a\\fBb") == "a\\efBb"
    assert _text("rosé") == "ros\\[u00E9]"
    assert _text("14%% vol\n.SH x") == "14% vol .SH x"
