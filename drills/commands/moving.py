"""Moving house."""

from __future__ import annotations

import argparse

from drills.commands.asking import Commands, desk_of, without_password


def add_to(commands: Commands) -> None:
    """Put these commands on the command line."""
    move = commands.add(
        "move", _move, "copy everything into another database, a file or a server's", json=True
    )
    move.add_argument(
        "--to",
        metavar="FILE",
        required=True,
        help="a file that does not exist yet, or the URL of an empty database",
    )


def _move(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_json
    from drills.phrases import count
    from drills.service.moving import move

    to = without_password(options.to)
    moved = move(desk_of(options), to)
    if options.json:
        print_json({"to": to, "rows": moved})
        return 0
    told = ", ".join(
        count(moved[table], word)
        for table, word in (("taster", "taster"), ("answer", "answer"), ("pour", "pour"))
    )
    print(f"copied to {to}: {told}; {sum(moved.values()):,} rows in all, every one compared")
    print(f"the old place is as it was; from now on say --database {to} or CROSSPOUR_DATABASE={to}")
    return 0
