"""The database kept safe, and one to look around in."""

from __future__ import annotations

import argparse

from drills.commands import asking
from drills.commands.asking import Commands, desk_of


def add_to(commands: Commands) -> None:
    """Put these commands on the command line."""
    commands.add("demo", _demo, "open a throw-away database of an invented taster")
    backup = commands.add("backup", _backup, "copy the database, safely, while it is in use")
    backup.add_argument("file", metavar="FILE", help="where to; it must not exist yet")


def _demo(_: argparse.Namespace) -> int:
    from drills.demo import run_demo

    if asking.has_terminal():
        asking.check_terminal()
    return run_demo(screens=asking.has_terminal())


def _backup(options: argparse.Namespace) -> int:
    from pathlib import Path

    desk = desk_of(options)
    desk.repository.backup(Path(options.file))
    print(f"copied to {options.file}")
    return 0
