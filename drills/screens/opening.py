"""Makes the screens that need a use case to be started first."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual.app import App
from textual.screen import Screen

from cards.errors import NoContrast
from drills.errors import UsageError
from drills.screens.app import CrosspourApp
from drills.screens.drill import DrillScreen
from drills.service.desk import Desk
from drills.service.drilling import DrillSession, left_over


def drill_screen(
    desk: Desk, minutes: int | None = None, pair: tuple[str, str] | None = None
) -> DrillScreen:
    """Start a drill of so many minutes (the taster's setting by default), perhaps of one pair."""
    seconds = 60 * (minutes or desk.settings.minutes)
    if pair is not None:
        desk.ensure_pairs([pair])
        if not desk.repository.contrasts_of_pair(*pair):
            one, other = map(desk.short, pair)
            raise NoContrast(f"no cue of the table tells {one} and {other} apart")
    return DrillScreen(DrillSession(desk, seconds, pair=pair, background=True))


def chosen_screen(
    desk: Desk,
    minutes: int | None = None,
    *,
    style: str | None = None,
    sure_slips: bool = False,
    resume: bool = False,
) -> DrillScreen:
    """Start a drill of one style or of wrong answers given as sure, or go on with a stopped one.

    UsageError where there is nothing of the kind.
    """
    seconds = float(60 * (minutes or desk.settings.minutes))
    if resume and (seconds := left_over(desk)) <= 0:
        raise UsageError("no drill was stopped today with time left")
    if sure_slips and not desk.repository.sure_slips(desk.taster.id, 1):
        raise UsageError("nothing waits that you answered wrongly and surely")
    session = DrillSession(desk, seconds, style=style, sure_slips=sure_slips, background=True)
    return DrillScreen(session)


def pairs_screen(desk: Desk, pairs: Sequence[tuple[str, str]]) -> DrillScreen:
    """Start a drill of these pairs only; NoContrast where no cue tells any of them apart."""
    desk.ensure_pairs(pairs)
    if not any(desk.repository.contrasts_of_pair(*pair) for pair in pairs):
        raise NoContrast("no cue of the table tells these wines apart")
    return DrillScreen(DrillSession(desk, 60 * desk.settings.minutes, pairs=pairs))


def go_drilling(app: App[int], screen: DrillScreen) -> None:
    """Show a drill in place of all screens above the lowest.

    A drill ends on the first screen, so no pile of screens may wait beneath it; the lowest cannot
    be switched, so one above it is kept for that.
    """
    while len(app.screen_stack) > 2:
        app.pop_screen()
    app.switch_screen(screen)


def run_home(desk: Desk) -> int:
    """Open the program on its first screen; returns the exit code."""
    from drills.screens.home import HomeScreen

    return _run(desk, HomeScreen)


def run_drill(desk: Desk, minutes: int | None = None, pair: tuple[str, str] | None = None) -> int:
    """Open the program on a drill; returns the exit code."""
    return _run(desk, lambda: drill_screen(desk, minutes, pair))


def run_chosen(
    desk: Desk,
    minutes: int | None,
    *,
    style: str | None = None,
    sure_slips: bool = False,
    resume: bool = False,
) -> int:
    """Open the program on a drill of a kind; returns the exit code."""
    return _run(
        desk,
        lambda: chosen_screen(desk, minutes, style=style, sure_slips=sure_slips, resume=resume),
    )


def _run(desk: Desk, first: Callable[[], Screen[None]]) -> int:
    # Whatever is wrong with table or database is said before the terminal is taken over.
    _ = desk.settings, desk.table, desk.repository, desk.taster
    try:
        screen = first()
        return CrosspourApp(desk, lambda: screen).run() or 0
    finally:
        desk.close()
