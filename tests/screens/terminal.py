"""A terminal for the screens: opens the app on a desk, reads what stands on it."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING, Any, TypeVar

from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import DataTable, Static

from drills.errors import DatabaseLocked
from drills.grading import Sureness
from drills.screens.app import CrosspourApp
from drills.screens.drill import DrillScreen
from drills.screens.help import HelpScreen
from drills.screens.opening import drill_screen

if TYPE_CHECKING:
    from drills.service.desk import Desk

USUAL, LEAST, WIDE = (80, 24), (60, 20), (200, 60)
SIZES = [USUAL, LEAST, WIDE]
# Every size, and both colours.
LOOKS = [
    (USUAL, "crosspour-dark"),
    (USUAL, "crosspour-light"),
    (LEAST, "crosspour-light"),
    (WIDE, "crosspour-dark"),
]
SIDES = {"left": ("a", "s", "d"), "right": ("l", "k", "j")}

Wanted = TypeVar("Wanted", bound=Screen[Any])


@asynccontextmanager
async def opened(
    desk: Desk,
    first: Callable[[], Screen[None]] | None = None,
    *,
    size: tuple[int, int] = USUAL,
) -> AsyncIterator[Pilot[int]]:
    """The program on a terminal of `size`, on the drill unless `first` makes another screen."""
    app = CrosspourApp(desk, first or (lambda: drill_screen(desk)))
    # Scrolling arrives at once: nothing here waits for a picture to move.
    app.animation_level = "none"
    async with app.run_test(size=size, notifications=True) as pilot:
        await pilot.pause()
        yield pilot


def current(pilot: Pilot[int], kind: type[Wanted]) -> Wanted:
    """The screen on top, which must be of the kind."""
    screen = pilot.app.screen
    assert isinstance(screen, kind), screen
    return screen


def drilling(pilot: Pilot[int]) -> DrillScreen:
    """The drill on the screen."""
    return current(pilot, DrillScreen)


def seen(pilot: Pilot[int]) -> str:
    """Every character that stands on the terminal, line by line."""
    # The compositor is what the terminal is painted from; Textual has no other way to its text.
    strips = pilot.app.screen._compositor.render_strips()
    return "\n".join(strip.text for strip in strips)


def notices(pilot: Pilot[int]) -> list[str]:
    """The messages that have popped up."""
    return [notice.message for notice in pilot.app._notifications]


def text_of(pilot: Pilot[int], selector: str) -> str:
    """What one part of the screen says."""
    return str(pilot.app.screen.query_one(selector, Static).content)


async def click_answer(pilot: Pilot[int], side: str, sureness: Sureness) -> bool:
    """Click the key of an answer where it stands under its glass."""
    screen = drilling(pilot)
    assert screen.laid_out is not None
    x, y = screen.laid_out.key_offset(side, sureness)
    return await pilot.click(screen.card, offset=(x, y + 1))


async def click_option(pilot: Pilot[int], place: int) -> bool:
    """Click an option, counted from 0."""
    screen = drilling(pilot)
    assert screen.laid_out is not None
    return await pilot.click(screen.card, offset=(12, screen.laid_out.options_at + place + 1))


def truth_key(screen: DrillScreen, place: int = 0, *, wrong: bool = False) -> str:
    """The key under the right glass: `place` 0 sure, 1 leaning, 2 guess."""
    assert screen.showing is not None
    question = screen.showing.question
    left = (question.truth == question.left) != wrong
    return SIDES["left" if left else "right"][place]


def refusing(times: int, method: Callable[..., Any]) -> Callable[..., Any]:
    """The method as it works once a database that is locked so many times is free again."""
    left = [times]

    def call(*given: object, **named: object) -> Any:
        if left[0]:
            left[0] -= 1
            raise DatabaseLocked("another program is writing [to it]; try again in a moment")
        return method(*given, **named)

    return call


async def settled(pilot: Pilot[int]) -> None:
    """Wait until what runs in the background is done and shown."""
    await pilot.app.workers.wait_for_complete()
    await pilot.pause()


async def rows_of(pilot: Pilot[int]) -> list[list[str]]:
    """The rows of the table on the screen, once it is filled."""
    await settled(pilot)
    table = pilot.app.screen.query_one(DataTable)
    return [[str(cell) for cell in table.get_row_at(n)] for n in range(table.row_count)]


def listed(pilot: Pilot[int]) -> list[tuple[list[str], str]]:
    """The lines of the help panel: keys, and what they do."""
    panel = current(pilot, HelpScreen)
    _, lines = panel.query(Static)
    rows = []
    for line in str(lines.content).splitlines():
        keys, _, words = line.strip().partition("  ")
        rows.append((keys.split(", "), words))
    return rows
