"""The command line: what was asked for, and the exit code. Heavy imports wait for a command."""

from __future__ import annotations

import argparse
import os
import shutil
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from drills.collector import free_collector, hold_collector

if TYPE_CHECKING:
    from drills.service.desk import Desk

    _Commands = argparse._SubParsersAction[argparse.ArgumentParser]

INTERRUPTED = 130


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code: 0 done, 1 could not, 2 asked for wrongly."""
    options = _parser().parse_args(arguments)
    for stream in (sys.stdout, sys.stderr):
        # A terminal that cannot show an accent still gets the rest of the line.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    from cards.errors import CardsError
    from drills.errors import DrillsError

    try:
        run: Callable[[argparse.Namespace], int] = options.run
        code = run(options)
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
    finally:
        free_collector()
    return code


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="crosspour",
        description="A daily ten-minute drill in the cues that tell two wines apart, "
        "fed by your own blind tastings.",
        epilog="Without a command the program opens on its first screen.",
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="print the version and leave")
    parser.set_defaults(run=_open)
    everywhere = argparse.ArgumentParser(add_help=False)
    everywhere.add_argument(
        "--database",
        metavar="FILE",
        default=argparse.SUPPRESS,
        help="another database: a file or a database URL (also CROSSPOUR_DATABASE)",
    )
    parser.add_argument("--database", metavar="FILE", help=everywhere._actions[0].help)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")

    def add(
        name: str, run: Callable[[argparse.Namespace], int], words: str, *, json: bool = False
    ) -> argparse.ArgumentParser:
        command = commands.add_parser(
            name, parents=[everywhere], help=words, description=f"{words[0].upper()}{words[1:]}."
        )
        command.set_defaults(run=run)
        if json:
            command.add_argument("--json", action="store_true", help="print JSON")
        return command

    drill = add("drill", _drill, "open the drill at once")
    drill.add_argument(
        "--minutes", type=_minutes, metavar="N", help="length of the drill, 1 to 120 minutes"
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
    intake = add("import", _import, "add tastings from a file (- reads standard input)", json=True)
    intake.add_argument(
        "file",
        metavar="FILE",
        nargs="?",
        help="CSV, TSV, XLSX, ODS, JSON, JSON Lines, or lines of “called > was”",
    )
    instead = intake.add_mutually_exclusive_group()
    instead.add_argument(
        "--dry-run", action="store_true", help="say what would be added, and add nothing"
    )
    instead.add_argument("--list", action="store_true", help="list what was imported so far")
    instead.add_argument(
        "--undo", type=int, metavar="N", help="take the import of this number back, whole"
    )
    intake.add_argument(
        "--date-order",
        choices=["dmy", "mdy"],
        help="how 3/5/2025 is meant where the file does not show it",
    )
    intake.set_defaults(refuse=intake.error)
    export = add("export", _export, "write all your tastings to a file", json=True)
    export.add_argument("file", metavar="FILE", help="a name that ends in .csv or .jsonl")
    export.add_argument("--force", action="store_true", help="write over a file that is there")
    debriefs = add("debrief", _debrief, "say what can be learnt from a tasting", json=True)
    debriefs.add_argument(
        "flight",
        metavar="FLIGHT",
        nargs="?",
        help="a tasting by name, date (2026-03-14) or number; the newest where none is said",
    )
    debriefs.add_argument(
        "pour", metavar="POUR", nargs="?", type=_place, help="one pour by its place in the flight"
    )
    add("reading", _reading, "say how you read a wine: bias, spread, what you miss", json=True)
    add("weak", _weak, "list the pairs that are still confused in the glass", json=True)
    add("progress", _progress, "print recall, its forecast, sureness and calls", json=True)
    report = add("report", _report, "write progress as one page to print")
    report.add_argument("file", metavar="FILE.html", help="the page; one that exists is replaced")
    fit = add("fit", _fit, "fit the memory model to your own answers", json=True)
    fit.add_argument(
        "--undo", action="store_true", help="go back to the usual numbers; answers stay"
    )
    pair = add("pair", _pair, "list every cue that tells two wines apart", json=True)
    pair.add_argument("a", metavar="A", help="a wine: its key, or any name it goes by")
    pair.add_argument("b", metavar="B", help="the other wine")
    pair.add_argument("--causes", action="store_true", help="say below each cue why it is there")
    lateral = add("laterals", _laterals, "list the wines nearest to one, by separation", json=True)
    lateral.add_argument("wine", metavar="WINE", help="a wine: its key, or any name it goes by")
    _add_table(commands, everywhere)
    add("demo", _demo, "open a throw-away database of an invented taster")
    backup = add("backup", _backup, "copy the database, safely, while it is in use")
    backup.add_argument("file", metavar="FILE", help="where to; it must not exist yet")
    return parser


def _add_table(commands: _Commands, everywhere: argparse.ArgumentParser) -> None:
    words = "the profile table: check it, change it, exchange it with a spreadsheet"
    table = commands.add_parser(
        "table",
        parents=[everywhere],
        help=words,
        description=f"{words[0].upper()}{words[1:]}.",
    )
    parts = table.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def add(
        name: str, run: Callable[[argparse.Namespace], int], words: str
    ) -> argparse.ArgumentParser:
        part = parts.add_parser(
            name, parents=[everywhere], help=words, description=f"{words[0].upper()}{words[1:]}."
        )
        part.set_defaults(run=run)
        return part

    check = add("check", _table_check, "report every inconsistency")
    check.add_argument("--json", action="store_true", help="print JSON")
    new = add("new", _table_new, "make a wine of your own as a copy of another, in your editor")
    new.add_argument("key", metavar="KEY", help="its key: small letters, digits, hyphens")
    new.add_argument(
        "--like", metavar="WINE", required=True, help="the wine to copy: its key, or any name"
    )
    new.add_argument("--style", metavar="STYLE", help="another style than the copied wine's")
    edit = add("edit", _table_edit, "change facts of a wine in your editor (VISUAL, EDITOR)")
    edit.add_argument("wine", metavar="WINE", help="a wine: its key, or any name it goes by")
    export = add("export", _table_export, "write the whole table as CSV for a spreadsheet")
    export.add_argument("file", metavar="FILE", help="must not exist yet; - writes standard output")
    export.add_argument(
        "--decimal-comma",
        action="store_true",
        help="semicolons and decimal commas, for a spreadsheet set to a decimal comma",
    )
    intake = add("import", _table_import, "take a changed CSV into your own table")
    intake.add_argument("file", metavar="FILE", help="the CSV; - reads standard input")
    intake.add_argument(
        "--dry-run", action="store_true", help="say what would change, and change nothing"
    )
    intake.add_argument("--json", action="store_true", help="print JSON")


class _Version(argparse.Action):
    def __call__(self, parser: argparse.ArgumentParser, *_: object, **__: object) -> None:
        from importlib.metadata import version

        print(f"crosspour {version('crosspour')}")
        parser.exit()


def _minutes(text: str) -> int:
    from drills.settings import LEAST_MINUTES, MOST_MINUTES

    try:
        minutes = int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"“{text}” is no whole number") from None
    if not LEAST_MINUTES <= minutes <= MOST_MINUTES:
        raise argparse.ArgumentTypeError(f"{minutes} is not {LEAST_MINUTES} to {MOST_MINUTES}")
    return minutes


def _place(text: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"“{text}” is no place in a flight; say 1, 2, 3 ...")
    return int(text)


def _desk(options: argparse.Namespace) -> Desk:
    from drills.service.desk import Desk

    return Desk(options.database)


def has_terminal() -> bool:
    """Whether a person can see and answer the screens."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def _check_terminal() -> None:
    from drills.errors import TerminalError
    from drills.least import LEAST_HEIGHT, LEAST_WIDTH

    if not has_terminal():
        raise TerminalError(
            "the screens need a terminal; without one use a command that prints, see --help"
        )
    size = shutil.get_terminal_size()
    if size.columns < LEAST_WIDTH or size.lines < LEAST_HEIGHT:
        raise TerminalError(
            f"the terminal is too small ({size.columns}x{size.lines}); "
            f"{LEAST_WIDTH}x{LEAST_HEIGHT} is the least"
        )


def _open(options: argparse.Namespace) -> int:
    _check_terminal()
    hold_collector()
    from drills.screens.opening import run_home

    return run_home(_desk(options))


def _drill(options: argparse.Namespace) -> int:
    _check_terminal()
    hold_collector()
    from drills.screens.opening import run_chosen, run_drill

    desk = _desk(options)
    if options.style or options.sure_slips or options.resume:
        return run_chosen(
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
    return run_drill(desk, options.minutes, pair)


def _import(options: argparse.Namespace) -> int:
    asked_instead = options.list or options.undo is not None
    if asked_instead == (options.file is not None):
        options.refuse("name a file to import (- is standard input), or --list, or --undo N")
    if asked_instead:
        return _imports(options)
    from drills.printing import BarOnTerminal, print_intake, print_json
    from drills.service.intake import intake_json, read, take_in

    desk = _desk(options)
    file = None if options.file == "-" else options.file
    with BarOnTerminal() as bar:
        intake = read(desk, file, date_order=options.date_order, progress=bar.part(0.0, 0.3))
        with intake:
            bar.shows = intake.size
            outcome = take_in(desk, intake, dry_run=options.dry_run, progress=bar.part(0.3, 1.0))
    if options.json:
        print_json(intake_json(outcome))
    else:
        print_intake(outcome)
    return 0


def _imports(options: argparse.Namespace) -> int:
    from drills.printing import print_imports, print_json, print_taken_back
    from drills.service.imports import imports, imports_json, take_back, taken_back_json

    desk = _desk(options)
    if options.list:
        found = imports(desk)
        if options.json:
            print_json(imports_json(found))
        else:
            print_imports(found)
        return 0
    which, gone = take_back(desk, options.undo)
    if options.json:
        print_json(taken_back_json(which, gone))
    else:
        print_taken_back(which, gone)
    return 0


def _export(options: argparse.Namespace) -> int:
    from drills.printing import print_exported, print_json
    from drills.service.export import export

    number = export(_desk(options), options.file, overwrite=options.force)
    if options.json:
        print_json({"file": options.file, "pours": number})
    else:
        print_exported(options.file, number)
    return 0


def _debrief(options: argparse.Namespace) -> int:
    from drills.printing import print_json
    from drills.service.tasting import debrief_flight, find_flight, pick_pour
    from drills.tasting_text import debriefs_json, print_debriefs

    desk = _desk(options)
    flight = debrief_flight(desk, find_flight(desk, options.flight))
    if options.pour is not None:
        flight = pick_pour(flight, options.pour)
    if options.json:
        print_json(debriefs_json(flight))
    else:
        print_debriefs(desk, flight)
    return 0


def _reading(options: argparse.Namespace) -> int:
    from drills.printing import print_json
    from drills.service.tasting import reading
    from drills.tasting_text import print_reading, reading_json

    desk = _desk(options)
    found = reading(desk)
    if options.json:
        print_json(reading_json(desk, found))
    else:
        print_reading(found)
    return 0


def _weak(options: argparse.Namespace) -> int:
    from drills.printing import print_json, print_weak, weak_json
    from drills.service.weak import weak

    desk = _desk(options)
    pairs = weak(desk)
    if options.json:
        print_json(weak_json(pairs))
    else:
        print_weak(desk, pairs)
    return 0


def _progress(options: argparse.Namespace) -> int:
    from drills.printing import print_json
    from drills.progress_text import print_progress, progress_json
    from drills.service.progress import progress

    desk = _desk(options)
    found = progress(desk)
    if options.json:
        print_json(progress_json(desk, found))
    else:
        print_progress(found)
    return 0


def _report(options: argparse.Namespace) -> int:
    from drills.report import write_report
    from drills.service.progress import progress

    desk = _desk(options)
    write_report(desk, progress(desk), options.file)
    print(f"written to {options.file}")
    return 0


def _fit(options: argparse.Namespace) -> int:
    from dataclasses import asdict

    from drills.printing import print_json
    from drills.service.fitting import fit_taster, keep, kept

    desk = _desk(options)
    if options.undo:
        had = kept(desk) is not None
        keep(desk, None)
        print("back to the usual numbers" if had else "the usual numbers were in use already")
        return 0
    clock = sys.stderr.isatty()

    def told(gone: float) -> None:
        if clock:
            print(f"\rfitting, {gone:.0f} s", end="", file=sys.stderr, flush=True)

    found = fit_taster(desk, told)
    if clock:
        print(file=sys.stderr)
    if options.json:
        print_json({**asdict(found), "kept": found.better})
        return 0
    gained = found.usual.log_loss - found.own.log_loss
    print(
        f"{found.held_out} later answers, foretold from {found.learnt_from} earlier ones:\n"
        f"  usual numbers  log loss {found.usual.log_loss:.4f}, RMSE {found.usual.rmse:.4f}\n"
        f"  your numbers   log loss {found.own.log_loss:.4f}, RMSE {found.own.rmse:.4f}\n"
        f"  gained {gained:.4f}, standard error {found.error:.4f}"
    )
    print(
        "kept: your numbers are in use; --undo takes them back"
        if found.better
        else "not kept: they foretell no better"
    )
    return 0


def _pair(options: argparse.Namespace) -> int:
    from drills.printing import pair_json, print_json, print_pair
    from drills.service.wines import pair_view

    desk = _desk(options)
    view = pair_view(desk, options.a, options.b)
    if options.json:
        print_json(pair_json(view))
    else:
        print_pair(desk, view, causes=options.causes)
    return 0


def _laterals(options: argparse.Namespace) -> int:
    from drills.printing import laterals_json, print_json, print_laterals
    from drills.service.wines import laterals

    desk = _desk(options)
    found = laterals(desk, options.wine)
    if options.json:
        print_json(laterals_json(found))
    else:
        print_laterals(desk, found)
    return 0


def _table_check(options: argparse.Namespace) -> int:
    from cards.checking import check_folders
    from drills import paths
    from drills.printing import print_json, print_report, report_json

    own = paths.table_folder()
    report = check_folders(*([own] if own.is_dir() else []))
    if options.json:
        print_json(report_json(report))
    else:
        print_report(report)
    return 1 if report.problems else 0


def _table_new(options: argparse.Namespace) -> int:
    from drills.table_commands import new

    return new(options.key, options.like, options.style, terminal=has_terminal())


def _table_edit(options: argparse.Namespace) -> int:
    from drills.table_commands import edit

    return edit(options.wine, terminal=has_terminal())


def _table_export(options: argparse.Namespace) -> int:
    from drills.table_commands import export

    return export(options.file, decimal_comma=options.decimal_comma)


def _table_import(options: argparse.Namespace) -> int:
    from drills.printing import print_json
    from drills.table_commands import imported_json, print_imported, take_in

    taken = take_in(options.file, dry_run=options.dry_run)
    if options.json:
        print_json(imported_json(taken))
    else:
        print_imported(taken)
    return 1 if taken.problems else 0


def _demo(_: argparse.Namespace) -> int:
    from drills.demo import run_demo

    if has_terminal():
        _check_terminal()
    return run_demo(screens=has_terminal())


def _backup(options: argparse.Namespace) -> int:
    from pathlib import Path

    desk = _desk(options)
    desk.repository.backup(Path(options.file))
    print(f"copied to {options.file}")
    return 0
