"""The database kept safe, and one to look around in."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING

from drills.commands import asking
from drills.commands.asking import Commands, desk_of

if TYPE_CHECKING:
    from drills.storage.restore import Restored
    from drills.storage.rotation import Backup


def add_to(commands: Commands) -> None:
    """Put these commands on the command line."""
    demo = commands.add("demo", _demo, "open a throw-away database of an invented taster")
    demo.add_argument("--plain", action="store_true", help="drill it in plain lines")
    backup = commands.add(
        "backup", _backup, "copy the database, safely, while it is in use", json=True
    )
    instead = backup.add_mutually_exclusive_group()
    instead.add_argument(
        "file",
        metavar="FILE",
        nargs="?",
        help="a file that does not exist yet; among the daily backups where none is said",
    )
    instead.add_argument("--list", action="store_true", help="list the daily backups, checked")
    restore = commands.add(
        "restore",
        _restore,
        "put a backup in the database's place; the present file is kept",
        json=True,
    )
    restore.add_argument(
        "file", metavar="FILE", nargs="?", help="the newest sound daily backup where none is said"
    )


def _demo(options: argparse.Namespace) -> int:
    from drills.demo import run_demo

    if options.plain:
        return run_demo(screens=False, plain=True)
    if asking.has_terminal():
        asking.check_terminal()
    return run_demo(screens=asking.has_terminal())


def _backup(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_json
    from drills.service.keeping_safe import back_up_now, backup_json, backups

    desk = desk_of(options)
    if options.list:
        found = backups(desk)
        if options.json:
            print_json([backup_json(one) for one in found])
        else:
            _print_backups(found)
        return 0
    if options.file is None:
        made = back_up_now(desk)
        if options.json:
            print_json(backup_json(made))
        else:
            print(f"copied to {made.file}: {_held(made)}")
        return 0
    from pathlib import Path

    desk.repository.backup(Path(options.file))
    if options.json:
        print_json({"file": options.file})
    else:
        print(f"copied to {options.file}")
    return 0


def _print_backups(found: Sequence[Backup]) -> None:
    if not found:
        print("no daily backup yet; the first comes with the first answers")
    for one in found:
        told = one.problem or f"{_held(one)}, {one.size / 1e6:,.1f} MB"
        print(f"{one.day}  {told}  {one.file}")


def _restore(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_json
    from drills.service.keeping_safe import restore, restored_json

    done = restore(desk_of(options), options.file)
    if options.json:
        print_json(restored_json(done))
    else:
        print(f"restored from {done.source}: {_held(done)}")
        if done.kept is not None:
            print(f"the file from before is kept as {done.kept}")
    return 0


def _held(one: Backup | Restored) -> str:
    from drills.phrases import count

    return f"{count(one.answers, 'answer')}, {count(one.pours, 'pour')}"
