"""The command line: what was asked for, and the exit code. Heavy imports wait for a command."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from importlib import import_module

from drills.collector import free_collector
from drills.commands import drilling
from drills.commands.asking import Commands
from drills.commands.streams import keep_printing

INTERRUPTED = 130
# Of the name of a file, where it is the mistake.
_LONGEST_SHOWN = 200
# The files of the commands, in the order in which help lists them.
_PARTS = (
    "drilling",
    "tastings",
    "tray",
    "standing",
    "flight",
    "cellar",
    "wines",
    "table",
    "group",
    "moving",
    "serve",
    "upkeep",
    "help_for_shells",
)
# What opens the screens does without the rest, which would be a thirtieth of the start.
_QUICK = ("drilling",)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code: 0 done, 1 could not (all), 2 asked for wrongly."""
    keep_printing()
    from cards.errors import CardsError
    from drills.errors import DrillsError

    try:
        try:
            return _run(arguments)
        finally:
            # Here, and not as the interpreter ends, it can be told that nobody reads any more.
            sys.stdout.flush()
    except (CardsError, DrillsError) as error:
        print(f"crosspour: {error}", file=sys.stderr)
        return getattr(error, "exit_code", 1)
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # Whoever read our output has left; there is nobody to tell. Python would try to flush.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except OSError as error:
        # What the system says of a file (its name is too long, its links run in a circle) in one
        # sentence; of what has no name, all of it.
        if error.filename is None:
            raise
        name = str(error.filename)
        shown = name if len(name) <= _LONGEST_SHOWN else f"{name[:_LONGEST_SHOWN]}…"
        print(f"crosspour: “{shown}” cannot be used: {error.strerror}", file=sys.stderr)
        return 1
    finally:
        free_collector()


def _run(arguments: Sequence[str] | None) -> int:
    words = sys.argv[1:] if arguments is None else list(arguments)
    quick = not words or words[0] == "drill"
    options = _parser(_QUICK if quick else _PARTS).parse_args(words)
    if options.no_color:
        os.environ["NO_COLOR"] = "1"
    run: Callable[[argparse.Namespace], int] = options.run
    return run(options)


def _parser(parts: Sequence[str] = _PARTS) -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="crosspour",
        description="A daily ten-minute drill in the cues that tell two wines apart, "
        "fed by your own blind tastings.",
        epilog="Without a command the program opens on its first screen.",
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="print the version and leave")
    parser.add_argument(
        "--plain",
        dest="plain_home",
        action="store_true",
        help="say in lines what waits, and which command does what a screen does",
    )
    parser.set_defaults(run=drilling.open_home, parser=parser)
    everywhere = argparse.ArgumentParser(add_help=False)
    everywhere.add_argument(
        "--database",
        metavar="FILE",
        default=argparse.SUPPRESS,
        help="another database: a file or a database URL (also CROSSPOUR_DATABASE)",
    )
    everywhere.add_argument(
        "--taster",
        metavar="NAME",
        default=argparse.SUPPRESS,
        help="who you are, where several share a database (also CROSSPOUR_TASTER)",
    )
    everywhere.add_argument(
        "--no-color",
        action="store_true",
        default=argparse.SUPPRESS,
        help="no colours on the screens (also NO_COLOR)",
    )
    parser.add_argument("--database", metavar="FILE", help=everywhere._actions[0].help)
    parser.add_argument("--taster", metavar="NAME", help=everywhere._actions[1].help)
    parser.add_argument("--no-color", action="store_true", help=everywhere._actions[2].help)
    commands = Commands(parser.add_subparsers(title="commands", metavar="COMMAND"), everywhere)
    for part in parts:
        import_module(f"drills.commands.{part}").add_to(commands)
    return parser


class _Version(argparse.Action):
    def __call__(self, parser: argparse.ArgumentParser, *_: object, **__: object) -> None:
        from importlib.metadata import version

        print(f"crosspour {version('crosspour')}")
        parser.exit()
