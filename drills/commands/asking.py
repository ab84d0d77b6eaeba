"""What every command shares: its place on the command line, the desk, the terminal."""

from __future__ import annotations

import argparse
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drills.service.desk import Desk

    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]

Run = Callable[[argparse.Namespace], int]

# What takes longer than so many seconds is told while it is done.
SLOW = 0.5


class Commands:
    """The commands of one level, each with the options that every command has."""

    def __init__(self, subparsers: Subparsers, everywhere: argparse.ArgumentParser) -> None:
        self._subparsers = subparsers
        self._everywhere = everywhere

    def add(
        self, name: str, run: Run, words: str, *, json: bool = False
    ) -> argparse.ArgumentParser:
        """A command that calls `run` with the options; with `json` it takes `--json`."""
        command = self._parser(name, words)
        command.set_defaults(run=run)
        if json:
            command.add_argument("--json", action="store_true", help="print JSON")
        return command

    def add_group(
        self, name: str, words: str, *, run: Run | None = None, json: bool = False
    ) -> Commands:
        """A command that has commands of its own, and perhaps does something without them."""
        command = self._parser(name, words)
        parts = command.add_subparsers(title="commands", metavar="COMMAND")
        if run is None:
            # The parser's own complaint would not name them.
            command.set_defaults(
                run=lambda _: command.error(f"say which: {', '.join(parts.choices)}")
            )
        else:
            command.set_defaults(run=run)
            if json:
                command.add_argument("--json", action="store_true", help="print JSON")
        return Commands(parts, self._everywhere)

    def _parser(self, name: str, words: str) -> argparse.ArgumentParser:
        return self._subparsers.add_parser(
            name,
            parents=[self._everywhere],
            help=words,
            description=f"{words[0].upper()}{words[1:]}.",
        )


def desk_of(options: argparse.Namespace) -> Desk:
    """The desk at the database that was asked for."""
    from drills.service.desk import Desk

    return Desk(database_of(options), taster=options.taster, waiting=told_when_slow, tell=tell)


def database_of(options: argparse.Namespace) -> str | None:
    """The database that was asked for, None for the usual one."""
    given: str | None = options.database
    return None if given is None else without_password(given)


def without_password(given: str) -> str:
    """A place as it was typed; UsageError where it tells a password to everybody on the machine."""
    head, separator, rest = given.partition("://")
    if separator and (":" in rest.partition("/")[0].rpartition("@")[0] or "password=" in rest):
        from drills.errors import UsageError

        raise UsageError(
            f"a password in {head}://... on the command line can be read by others on this machine;"
            " put it into PGPASSWORD, your .pgpass or CROSSPOUR_DATABASE"
        )
    return given


def tell(words: str) -> None:
    """Say in a line beside the output what was done though nobody asked for it."""
    print(f"crosspour: {words}", file=sys.stderr)


@contextmanager
def told_when_slow(words: str) -> Iterator[None]:
    """Say on a terminal what is done, in a line that stays, once it has taken `SLOW` seconds."""
    if not sys.stderr.isatty():
        yield
        return
    # Only a first start and a changed table come here; any other start does without the import.
    from threading import Timer

    line = f"crosspour: {words} ..."
    timer = Timer(SLOW, print, (line,), {"file": sys.stderr, "flush": True})
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
        # A line that is being written is not to end on a screen that opens meanwhile.
        timer.join()


def has_terminal() -> bool:
    """Whether a person can see and answer the screens."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def check_terminal() -> None:
    """Raise TerminalError where the screens cannot be shown."""
    from drills.errors import TerminalError
    from drills.least import LEAST_HEIGHT, LEAST_WIDTH

    if not has_terminal():
        raise TerminalError(
            "the screens need a terminal; without one use drill --plain or a command that prints, "
            "see --help"
        )
    if os.environ.get("TERM") == "dumb":
        raise TerminalError(
            "this terminal (TERM=dumb) cannot move a cursor, which the screens need; "
            "use drill --plain or a command that prints, see --help"
        )
    size = shutil.get_terminal_size()
    if size.columns < LEAST_WIDTH or size.lines < LEAST_HEIGHT:
        raise TerminalError(
            f"the terminal is too small ({size.columns}x{size.lines}); "
            f"{LEAST_WIDTH}x{LEAST_HEIGHT} is the least"
        )
