"""The taster's own cellar: the list printed, taken in, written out."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from drills.commands.asking import Commands, desk_of

if TYPE_CHECKING:
    from drills.service.desk import Desk
    from drills.service.stock import Stocked
    from drills.storage.planned_records import StockRow


def add_to(commands: Commands) -> None:
    """Put these commands on the command line."""
    group = commands.add_group(
        "cellar", "your own bottles, for the next flight", run=_cellar, json=True
    )
    intake = group.add(
        "import", _import, "take a list of your bottles in (CSV, XLSX, ODS)", json=True
    )
    intake.add_argument(
        "file", metavar="FILE", help="a column “wine”; vintage, price, bottles, note"
    )
    intake.add_argument(
        "--replace", action="store_true", help="the list is the whole cellar: take all others out"
    )
    intake.add_argument(
        "--dry-run", action="store_true", help="say what would change, and change nothing"
    )
    export = group.add("export", _export, "write the cellar as CSV", json=True)
    export.add_argument("file", metavar="FILE.csv", help="a name that ends in .csv")
    export.add_argument("--force", action="store_true", help="write over a file that is there")
    name = group.add("name", _name, "say which wine a name of your list means")
    name.add_argument("text", metavar="NAME", help="the name as the list has it")
    name.add_argument("wine", metavar="WINE", help="a wine of the table: its key, or any name")
    group.add("undo", _undo, "take the latest change of the cellar back")


def _cellar(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_json
    from drills.service.stock import cellar, cellar_json

    desk = desk_of(options)
    rows = cellar(desk)
    if options.json:
        print_json(cellar_json(rows))
    else:
        print_cellar(desk, rows)
    return 0


def _import(options: argparse.Namespace) -> int:
    from dataclasses import asdict

    from drills.commands.printing import print_json
    from drills.service.stock import import_cellar

    desk = desk_of(options)
    found = import_cellar(desk, options.file, replace_all=options.replace, dry_run=options.dry_run)
    if options.json:
        print_json(asdict(found))
    else:
        print_stocked(desk, found)
    return 0


def _export(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_json
    from drills.phrases import count
    from drills.service.stock import export_cellar

    number = export_cellar(desk_of(options), options.file, overwrite=options.force)
    if options.json:
        print_json({"file": options.file, "wines": number})
    else:
        print(f"{count(number, 'wine')} written to {options.file}")
    return 0


def _name(options: argparse.Namespace) -> int:
    from drills.phrases import count
    from drills.service.stock import name_bottle

    desk = desk_of(options)
    waited = name_bottle(desk, options.text, options.wine)
    short = desk.short(desk.names.key(options.wine))
    print(f"“{options.text}” is {short} from now on; {count(waited, 'row')} waited for it")
    return 0


def _undo(options: argparse.Namespace) -> int:
    from drills.phrases import count
    from drills.service.stock import undo_cellar

    undone = undo_cellar(desk_of(options))
    print(f"taken back: {undone.why} ({count(undone.rows, 'wine')})")
    return 0


def print_cellar(desk: Desk, rows: list[StockRow]) -> None:
    """One line a wine with a bottle left, then what waits."""
    from drills.phrases import count
    from drills.tastings.cells import printable

    if not rows:
        print("The cellar is empty; crosspour cellar import FILE takes a list in.")
        return
    left = [row for row in rows if row.bottles]
    wide = max((len(row.text) for row in left), default=0)
    for row in left:
        price = "" if row.price is None else f"{row.price:,.2f}"
        known = desk.short(row.wine) if row.wine else "? not known"
        vintage = row.vintage or ""
        print(
            f"{row.bottles:>4} x  {printable(row.text):<{wide}}  {vintage:>4}  {price:>9}  {known}"
        )
    bottles = sum(row.bottles for row in left)
    gone = len(rows) - len(left)
    print(
        f"{count(bottles, 'bottle')} of {count(len(left), 'wine')}"
        + (f"; of {count(gone, 'wine')} none is left" if gone else "")
    )
    waiting = [row for row in left if row.wine is None]
    if waiting:
        print(
            f"{count(len(waiting), 'name is', 'names are')} not known, so no flight is made of "
            f'them: crosspour cellar name "{printable(waiting[0].text)}" WINE says what one means'
        )


def print_stocked(desk: Desk, found: Stocked) -> None:
    """What a list changed, and what it could not make out."""
    from drills.phrases import count
    from drills.tastings.cells import printable

    would = "would be " if found.dry_run else ""
    print(
        f"{count(found.new, 'wine')} {would}new, {found.changed} {would}changed, {found.same} the "
        f"same, {found.gone} {would}taken out; the list has {count(found.bottles, 'bottle')}"
    )
    for row in found.rejected:
        print(f"row {row.row}, {row.column}: left out: {row.reason}")
    for one in found.unresolved:
        hint = f"; perhaps {', '.join(map(desk.short, one.suggestions))}" if one.suggestions else ""
        print(f"row {one.row}, wine: “{printable(one.text)}” is kept as typed{hint}")
    if found.unresolved:
        print("crosspour cellar name NAME WINE says what a name means")
    for words in found.warnings:
        print(words)
