"""The drill from the command line."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from drills.collector import hold_collector
from drills.commands import asking
from drills.commands.asking import Commands, desk_of

if TYPE_CHECKING:
    from drills.service.desk import Desk
    from drills.service.drilling import DrillSession


def add_to(commands: Commands) -> None:
    """Put these commands on the command line."""
    drill = commands.add("drill", _drill, "open the drill at once")
    drill.add_argument(
        "--minutes", type=_minutes, metavar="N", help="length of the drill, 1 to 120 minutes"
    )
    drill.add_argument(
        "--plain",
        action="store_true",
        help="ask in plain lines: for screen readers, simple terminals and pipes",
    )
    kind = drill.add_mutually_exclusive_group()
    kind.add_argument("--pair", nargs=2, metavar=("A", "B"), help="drill these two wines only")
    kind.add_argument(
        "--style",
        choices=("white", "red", "rose", "sparkling", "sweet", "fortified"),
        help="drill pairs of wines of one style only",
    )
    kind.add_argument(
        "--sure-slips", action="store_true", help="drill what you answered wrongly and surely"
    )
    kind.add_argument(
        "--resume", action="store_true", help="go on with the drill that was stopped today"
    )


def open_home(options: argparse.Namespace) -> int:
    """Open the first screen, or say it in lines."""
    if options.plain_home:
        from drills.commands.plain_home import lines
        from drills.service.today import today

        desk = desk_of(options)
        print("\n".join(lines(desk, today(desk))))
        return 0
    asking.check_terminal()
    hold_collector()
    from drills.screens.opening import run_home

    return run_home(desk_of(options))


def _drill(options: argparse.Namespace) -> int:
    desk = desk_of(options)
    if options.plain:
        from drills.commands.plain_drill import run_plain

        return run_plain(desk, lambda: _session(desk, options))
    asking.check_terminal()
    hold_collector()
    from drills.screens.opening import run_drill

    return run_drill(desk, lambda: _session(desk, options))


def _session(desk: Desk, options: argparse.Namespace) -> DrillSession:
    from drills.service.beginning import begin, begin_chosen

    if options.style or options.sure_slips or options.resume:
        return begin_chosen(
            desk,
            options.minutes,
            style=options.style,
            sure_slips=options.sure_slips,
            resume=options.resume,
        )
    pair = None
    if options.pair:
        from drills.service.wines import pair_keys

        pair = pair_keys(desk, *options.pair)
    return begin(desk, options.minutes, pair)


def _minutes(text: str) -> int:
    from drills.settings import LEAST_MINUTES, MOST_MINUTES

    try:
        minutes = int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"“{text}” is no whole number") from None
    if not LEAST_MINUTES <= minutes <= MOST_MINUTES:
        raise argparse.ArgumentTypeError(f"{minutes} is not {LEAST_MINUTES} to {MOST_MINUTES}")
    return minutes
