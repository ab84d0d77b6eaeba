"""The tray in lines: names in tastings that are not clear, and what they mean."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from drills.commands.asking import Commands, desk_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drills.service.desk import Desk
    from drills.service.tray import Waiting


def add_to(commands: Commands) -> None:
    """Put this command on the command line."""
    tray = commands.add(
        "tray", _tray, "list names that are not clear, or say which wine one means", json=True
    )
    tray.add_argument("name", metavar="NAME", nargs="?", help="a name as it waits, as typed")
    tray.add_argument("wine", metavar="WINE", nargs="?", help="the wine that it means")
    tray.add_argument("--lacking", action="store_true", help="the table has no wine of that name")
    tray.set_defaults(refuse=tray.error)


def _tray(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_json
    from drills.service.tray import waiting

    if (options.name is None) != (options.wine is None and not options.lacking) or (
        options.wine and options.lacking
    ):
        options.refuse("name what waits and the wine it means: NAME WINE, or NAME --lacking")
    desk = desk_of(options)
    if options.name is not None:
        return _say(desk, options.name, options.wine)
    found = waiting(desk)
    if options.json:
        print_json(
            [
                {
                    "name": one.text,
                    "pours": one.pours,
                    "suggestions": list(one.suggestions),
                    "lacking": one.lacking,
                    "cellar": one.cellar,
                }
                for one in found
            ]
        )
    else:
        _print(desk, found)
    return 0


def _say(desk: Desk, name: str, wine: str | None) -> int:
    from drills.errors import NotPossibleError
    from drills.service.tray import fold, new_wine_command, pick, places, set_lacking, waiting

    one = next((one for one in waiting(desk) if one.folded == fold(name)), None)
    if one is None:
        raise NotPossibleError(f"“{name}” does not wait in the tray")
    if wine is None:
        set_lacking(desk, one, True)
        print(f"kept; this adds one: {new_wine_command(one, one.suggestions)}")
        return 0
    picked = pick(desk, one, desk.names.key(wine))
    print(
        f"“{name}” means {desk.short(picked.wine)}: {places(picked.resolved, one.cellar)} resolved"
    )
    return 0


def _print(desk: Desk, found: Sequence[Waiting]) -> None:
    from drills.tastings.cells import printable

    if not found:
        print("Nothing waits: every name is clear.")
    for one in found:
        hint = f"; perhaps {', '.join(map(desk.short, one.suggestions))}" if one.suggestions else ""
        lacking = "; the table has no such wine" if one.lacking else ""
        print(f"{printable(one.text)}: {one.where}{hint}{lacking}")
