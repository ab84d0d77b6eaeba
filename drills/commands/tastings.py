"""Tastings in and out, and what is learnt from them."""

from __future__ import annotations

import argparse

from drills.commands.asking import Commands, desk_of


def add_to(commands: Commands) -> None:
    """Put these commands on the command line."""
    intake = commands.add(
        "import", _import, "add tastings from a file (- reads standard input)", json=True
    )
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
    export = commands.add("export", _export, "write all your tastings to a file", json=True)
    export.add_argument("file", metavar="FILE", help="a name that ends in .csv or .jsonl")
    export.add_argument("--force", action="store_true", help="write over a file that is there")
    debriefs = commands.add("debrief", _debrief, "say what can be learnt from a tasting", json=True)
    debriefs.add_argument(
        "flight",
        metavar="FLIGHT",
        nargs="?",
        help="a tasting by name, date (2026-03-14) or number; the newest where none is said",
    )
    debriefs.add_argument(
        "pour", metavar="POUR", nargs="?", type=_place, help="one pour by its place in the flight"
    )
    commands.add(
        "reading", _reading, "say how you read a wine: bias, spread, what you miss", json=True
    )


def _import(options: argparse.Namespace) -> int:
    asked_instead = options.list or options.undo is not None
    if asked_instead == (options.file is not None):
        options.refuse("name a file to import (- is standard input), or --list, or --undo N")
    if asked_instead:
        return _imports(options)
    from drills.commands.printing import (
        BarOnTerminal,
        print_intake,
        print_json,
        print_left_out,
    )
    from drills.service.intake import intake_json, read, take_in

    desk = desk_of(options)
    file = None if options.file == "-" else options.file
    with BarOnTerminal() as bar:
        intake = read(desk, file, date_order=options.date_order, progress=bar.part(0.0, 0.3))
        with intake:
            bar.shows = intake.size
            outcome = take_in(desk, intake, dry_run=options.dry_run, progress=bar.part(0.3, 1.0))
    if options.json:
        print_json(intake_json(outcome))
    else:
        print_intake(desk, outcome)
    if outcome.rejected:
        print_left_out(outcome)
        return 1
    return 0


def _imports(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_imports, print_json, print_taken_back
    from drills.service.imports import imports, imports_json, take_back, taken_back_json

    desk = desk_of(options)
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
    from drills.commands.printing import print_exported, print_json
    from drills.service.export import export

    number = export(desk_of(options), options.file, overwrite=options.force)
    if options.json:
        print_json({"file": options.file, "pours": number})
    else:
        print_exported(options.file, number)
    return 0


def _debrief(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_json
    from drills.commands.tasting_text import debriefs_json, print_debriefs
    from drills.service.tasting import debrief_flight, find_flight, pick_pour

    desk = desk_of(options)
    flight = debrief_flight(desk, find_flight(desk, options.flight))
    if options.pour is not None:
        flight = pick_pour(flight, options.pour)
    if options.json:
        print_json(debriefs_json(flight))
    else:
        print_debriefs(desk, flight)
    return 0


def _reading(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_json
    from drills.commands.tasting_text import print_reading, reading_json
    from drills.service.tasting import reading

    desk = desk_of(options)
    found = reading(desk)
    if options.json:
        print_json(reading_json(desk, found))
    else:
        print_reading(found)
    return 0


def _place(text: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"“{text}” is no place in a flight; say 1, 2, 3 ...")
    return int(text)
