"""Terminals with all colours, few and none: colour is never the only signal."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli.running import Terminal, on_terminal
from tests.terminal.opening import ANSWERED, CONTROL_Q, QUESTION

STYLE = re.compile(rb"\x1b\[([\d;]*)m")
FULL = {"TERM": "xterm-256color", "COLORTERM": "truecolor"}
FEW = [{"TERM": "xterm", "COLORTERM": ""}, {"TERM": "linux", "COLORTERM": ""}]


def styles(terminal: Terminal) -> list[list[str]]:
    """The parameters of every style that was set (ECMA-48, select graphic rendition)."""
    return [found.decode().split(";") for found in STYLE.findall(terminal.raw)]


def colours(terminal: Terminal) -> set[tuple[int, int, int]]:
    """Every colour that was set by its red, green and blue."""
    return {
        (int(style[n + 2]), int(style[n + 3]), int(style[n + 4]))
        for style in styles(terminal)
        for n, word in enumerate(style)
        if word in ("38", "48") and style[n + 1] == "2"
    }


def drilled(terminal: Terminal) -> None:
    terminal.wait_to_see(QUESTION)
    terminal.type("a")
    terminal.wait_to_see(ANSWERED)


@pytest.mark.parametrize("theme", ["crosspour-dark", "crosspour-light"])
def test_the_theme_of_the_settings_is_the_one_that_shows(home: Path, theme: str) -> None:
    (home / "settings.toml").write_text(f'theme = "{theme}"\n')
    with on_terminal(home, "drill", more=FULL) as terminal:
        drilled(terminal)
        grounds = [
            int(cell.bg, 16) for row in terminal.screen.buffer.values() for cell in row.values()
            if re.fullmatch("[0-9a-f]{6}", cell.bg)
        ]  # fmt: skip
        light = sum(ground > 0x808080 for ground in grounds) > len(grounds) / 2
        assert grounds
        assert light == theme.endswith("light")
        assert len(colours(terminal)) > 5


@pytest.mark.parametrize("asked", ["NO_COLOR", "--no-color"])
def test_without_colours_all_is_said_in_words_and_grey(home: Path, asked: str) -> None:
    arguments = ["--no-color"] if asked.startswith("-") else []
    more = FULL | ({} if arguments else {asked: "1"})
    with on_terminal(home, "drill", *arguments, more=more) as terminal:
        drilled(terminal)
        found = colours(terminal)
        assert found
        # A grey has as much red as green as blue.
        assert all(max(one) - min(one) <= 1 for one in found), found
        assert re.search("right|wrong|one level off", terminal.seen)
        assert re.search("it was this|this one, as you said", terminal.seen)


@pytest.mark.parametrize("more", FEW, ids=lambda more: more["TERM"])
def test_a_terminal_of_sixteen_colours_is_asked_for_no_more(
    home: Path, more: dict[str, str]
) -> None:
    with on_terminal(home, "drill", more=more) as terminal:
        drilled(terminal)
        assert not any({"38", "48"} & set(style) for style in styles(terminal))
        cells = [cell for row in terminal.screen.buffer.values() for cell in row.values()]
        # Nothing is written in the colour of its ground.
        assert all(cell.fg != cell.bg for cell in cells if cell.data.strip())


@pytest.mark.parametrize(
    "more", [*FEW, FULL | {"NO_COLOR": "1"}], ids=["xterm", "linux", "NO_COLOR"]
)
def test_the_line_under_the_cursor_is_seen_without_many_colours(
    home: Path, more: dict[str, str]
) -> None:
    with on_terminal(home, more=more) as terminal:
        terminal.wait_to_see("contrasts unseen")
        terminal.type("t")
        terminal.wait_to_see("Chablis")
        first = 1 + next(n for n, line in enumerate(terminal.screen.display) if "% vol" in line)
        looks = {}
        for place in range(first, first + 4):
            cell = terminal.screen.buffer[place][3]
            looks[place] = (cell.fg, cell.bg, cell.bold, cell.reverse, cell.underscore)
        assert looks[first] not in (looks[first + 1], looks[first + 2], looks[first + 3])


def test_a_terminal_without_a_cursor_is_left_alone_and_told_of_the_plain_drill(home: Path) -> None:
    for arguments in ([], ["drill"], ["demo"]):
        with on_terminal(home, *arguments, more={"TERM": "dumb"}, size=(200, 24)) as terminal:
            terminal.wait_for("use drill --plain")
            assert terminal.leave() == 1
            assert b"\x1b" not in terminal.raw


def test_the_theme_changes_on_the_spot(home: Path) -> None:
    with on_terminal(home, "drill", more=FULL) as terminal:
        terminal.wait_to_see(QUESTION)
        before = terminal.screen.buffer[0][0].bg
        terminal.type("\x1bOS")  # F4
        terminal.wait_until(lambda: terminal.screen.buffer[0][0].bg != before)
        terminal.type(CONTROL_Q)
        assert terminal.leave() == 0
