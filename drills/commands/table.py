"""The profile table from the command line."""

from __future__ import annotations

import argparse

from drills.commands import asking
from drills.commands.asking import Commands


def add_to(commands: Commands) -> None:
    """Put these commands on the command line."""
    words = "the profile table: check it, change it, exchange it with a spreadsheet"
    table = commands.add_group("table", words)
    table.add("check", _table_check, "report every inconsistency", json=True)
    new = table.add(
        "new", _table_new, "make a wine of your own as a copy of another, in your editor"
    )
    new.add_argument("key", metavar="KEY", help="its key: small letters, digits, hyphens")
    new.add_argument(
        "--like", metavar="WINE", required=True, help="the wine to copy: its key, or any name"
    )
    new.add_argument("--style", metavar="STYLE", help="another style than the copied wine's")
    edit = table.add("edit", _table_edit, "change facts of a wine in your editor (VISUAL, EDITOR)")
    edit.add_argument("wine", metavar="WINE", help="a wine: its key, or any name it goes by")
    export = table.add("export", _table_export, "write the whole table as CSV for a spreadsheet")
    export.add_argument("file", metavar="FILE", help="must not exist yet; - writes standard output")
    export.add_argument(
        "--decimal-comma",
        action="store_true",
        help="semicolons and decimal commas, for a spreadsheet set to a decimal comma",
    )
    intake = table.add("import", _table_import, "take a changed CSV into your own table")
    intake.add_argument("file", metavar="FILE", help="the CSV; - reads standard input")
    intake.add_argument(
        "--dry-run", action="store_true", help="say what would change, and change nothing"
    )
    intake.add_argument("--json", action="store_true", help="print JSON")


def _table_check(options: argparse.Namespace) -> int:
    from cards.checking import check_folders
    from drills import paths
    from drills.commands.printing import print_json, print_report, report_json

    own = paths.table_folder()
    report = check_folders(*([own] if own.is_dir() else []))
    if options.json:
        print_json(report_json(report))
    else:
        print_report(report)
    return 1 if report.problems else 0


def _table_new(options: argparse.Namespace) -> int:
    from drills.commands.table_texts import new

    return new(options.key, options.like, options.style, terminal=asking.has_terminal())


def _table_edit(options: argparse.Namespace) -> int:
    from drills.commands.table_texts import edit

    return edit(options.wine, terminal=asking.has_terminal())


def _table_export(options: argparse.Namespace) -> int:
    from drills.commands.table_texts import export

    return export(options.file, decimal_comma=options.decimal_comma)


def _table_import(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_json
    from drills.commands.table_texts import imported_json, print_imported, take_in

    taken = take_in(options.file, dry_run=options.dry_run)
    if options.json:
        print_json(imported_json(taken))
    else:
        print_imported(taken)
    return 1 if taken.problems else 0
