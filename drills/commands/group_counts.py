"""Counts of confusions on their way from one taster or group to another, as a file."""

from __future__ import annotations

import argparse

from drills.commands.asking import Commands, desk_of


def add_to(group: Commands) -> None:
    """Put these commands on the command line."""
    export = group.add(
        "export",
        _export,
        "write how often you confuse which wines, as counts for others",
        json=True,
    )
    export.add_argument("file", metavar="FILE", help="a name that ends in .json, as a rule")
    export.add_argument(
        "--sharing",
        action="store_true",
        help="the counts of all in this database who share, of wines that three or more were "
        "poured, and not only your own",
    )
    export.add_argument("--force", action="store_true", help="write over a file that is there")
    take = group.add(
        "import", _import, "let counts of others say what you are likely to confuse", json=True
    )
    take.add_argument("file", metavar="FILE", nargs="?", help="a file that group export wrote")
    instead = take.add_mutually_exclusive_group()
    instead.add_argument("--list", action="store_true", help="list the files taken in so far")
    instead.add_argument(
        "--undo", type=int, metavar="N", help="forget the counts of this file again"
    )
    take.set_defaults(refuse=take.error)


def _export(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_json
    from drills.phrases import count
    from drills.service.group_counts import export_counts

    counts = export_counts(
        desk_of(options), options.file, group=options.sharing, overwrite=options.force
    )
    pours = sum(one.pours for one in counts.poured.values())
    wines, pairs = len(counts.poured), len(counts.confused)
    if options.json:
        print_json({"file": options.file, "wines": wines, "pours": pours, "confused": pairs})
        return 0
    whose = "all who share" if options.sharing else "you alone"
    print(
        f"written to {options.file}: {count(pours, 'pour')} of {count(wines, 'wine')}, "
        f"{count(pairs, 'confusion')} counted, of {whose}; no name, no date, no note"
    )
    return 0


def _import(options: argparse.Namespace) -> int:
    asked_instead = options.list or options.undo is not None
    if asked_instead == (options.file is not None):
        options.refuse("name a file that group export wrote, or --list, or --undo N")
    if options.list:
        return _list(options)
    from drills.commands.printing import print_json
    from drills.phrases import count
    from drills.service.group_counts import take_counts_in, take_counts_out

    desk = desk_of(options)
    if options.undo is not None:
        gone = take_counts_out(desk, options.undo)
        if options.json:
            print_json({"counts": gone.number, "file": gone.name})
        else:
            print(f"forgotten: counts {gone.number}, from {gone.name}")
        return 0
    taken = take_counts_in(desk, options.file)
    file = taken.file
    if options.json:
        print_json(
            {
                "counts": None if file is None else file.number,
                "wines": 0 if file is None else file.wines,
                "pours": 0 if file is None else file.pours,
                "unknown_wines": taken.unknown_wines,
            }
        )
        return 0
    if file is None:
        print("these counts were taken in already; nothing has changed")
    else:
        print(
            f"taken in as counts {file.number}: {count(file.pours, 'pour')} of "
            f"{count(file.wines, 'wine')}; --undo {file.number} forgets them"
        )
    if taken.unknown_wines:
        print(f"{count(taken.unknown_wines, 'wine')} of them your table lacks: left out for now")
    return 0


def _list(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_json
    from drills.phrases import count
    from drills.service.group_counts import counts_files

    found = counts_files(desk_of(options))
    if options.json:
        print_json(
            [
                {
                    "counts": one.number,
                    "file": one.name,
                    "taken_at": one.taken_at.isoformat(),
                    "wines": one.wines,
                    "pours": one.pours,
                }
                for one in found
            ]
        )
        return 0
    for one in found:
        day = one.taken_at.astimezone().date().isoformat()
        pours, wines = count(one.pours, "pour"), count(one.wines, "wine")
        print(f"{one.number:>3}  {day}  {one.name}  {pours} of {wines}")
    if not found:
        print("no counts of others were taken in")
    return 0
