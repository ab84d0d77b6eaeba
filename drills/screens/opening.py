"""Makes the screens that need a use case to be started first."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from contextlib import nullcontext

from textual.app import App
from textual.screen import Screen

from drills.errors import DatabaseCorrupt
from drills.screens.app import CrosspourApp
from drills.screens.drill import DrillScreen
from drills.screens.to_the_shell import hold_stop, release_stop
from drills.service.beginning import begin, begin_chosen, begin_pairs
from drills.service.desk import Desk, nobody
from drills.service.drilling import DrillSession


def drill_screen(
    desk: Desk, minutes: int | None = None, pair: tuple[str, str] | None = None
) -> DrillScreen:
    """Start a drill of so many minutes (the taster's setting by default), perhaps of one pair."""
    return DrillScreen(begin(desk, minutes, pair))


def pairs_screen(desk: Desk, pairs: Sequence[tuple[str, str]]) -> DrillScreen:
    """Start a drill of these pairs only; NoContrast where no cue tells any of them apart."""
    return DrillScreen(begin_pairs(desk, pairs))


def resumed_screen(desk: Desk) -> DrillScreen:
    """Go on with the drill that was stopped today; NotPossibleError where none was."""
    return DrillScreen(begin_chosen(desk, resume=True))


def go_drilling(app: App[int], screen: DrillScreen) -> None:
    """Show a drill in place of all screens: it ends on the first one, so no pile may wait."""
    _in_place_of_all(app, screen)


def go_home(app: App[int]) -> None:
    """Show the first screen in place of all screens: what stood on them is no longer true."""
    from drills.screens.home import HomeScreen

    _in_place_of_all(app, HomeScreen())


def _in_place_of_all(app: App[int], screen: Screen[None]) -> None:
    # The lowest screen cannot be switched, so one above it is kept for that.
    while len(app.screen_stack) > 2:
        app.pop_screen()
    app.switch_screen(screen)


def run_home(desk: Desk) -> int:
    """Open the program on its first screen; returns the exit code."""
    from drills.screens.home import HomeScreen

    return _run(desk, HomeScreen)


def run_drill(desk: Desk, begin: Callable[[], DrillSession]) -> int:
    """Open the program on the drill that `begin` starts; returns the exit code."""
    return _run(desk, lambda: DrillScreen(begin()))


def _run(desk: Desk, first: Callable[[], Screen[None]]) -> int:
    # Whatever is wrong with table or database is said before the terminal is taken over.
    _ = desk.settings, desk.table
    try:
        try:
            _ = desk.repository, desk.taster
            screen = first()
        except DatabaseCorrupt as error:
            screen = _way_out(desk, error)
        # From here on a line beside the screens would stand across them.
        desk.waiting, desk.tell = nullcontext, nobody
        app = CrosspourApp(desk, lambda: screen)
        hold_stop()
        code = app.run() or app.return_code or 0
        if app.last_words:
            print(f"crosspour: {app.last_words}", file=sys.stderr)
        return code or int(bool(app.last_words))
    finally:
        release_stop()
        desk.close()


def _way_out(desk: Desk, error: DatabaseCorrupt) -> Screen[None]:
    """The backups of a damaged database; where there is none, the error goes on its way."""
    from drills.screens.backups import BackupsScreen
    from drills.service.keeping_safe import newest

    if newest(desk) is None:
        raise error
    return BackupsScreen(str(error))
