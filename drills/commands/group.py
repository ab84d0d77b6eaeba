"""Several tasters in one database, and what a study group shares."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from drills.commands import group_counts
from drills.commands.asking import Commands, desk_of
from drills.errors import UsageError

if TYPE_CHECKING:
    from drills.storage.records import TasterRecord

_SHARES = {"on": True, "off": False}


def add_to(commands: Commands) -> None:
    """Put these commands on the command line."""
    tasters = commands.add(
        "tasters", _tasters, "list the tasters of this database, or add one", json=True
    )
    tasters.add_argument("add", choices=("add",), nargs="?", help="add a taster")
    tasters.add_argument("name", metavar="NAME", nargs="?", help="what the taster is called")
    tasters.add_argument(
        "--login", metavar="ROLE", help="the role on the server that is this taster's alone"
    )
    group = commands.add_group("group", "share what is confused with a study group")
    share = group.add("share", _share, "let your confusions be counted with the others', or not")
    share.add_argument("state", choices=tuple(_SHARES), nargs="?", help="what it is, if left out")
    group.add("confusions", _confusions, "list what the group mixes up", json=True)
    group_counts.add_to(group)
    group.add("refresh", _refresh, "make the cards follow your table, for the whole group")


def _tasters(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_json
    from drills.service.group import add_taster, tasters

    desk = desk_of(options)
    if options.add:
        found = [add_taster(desk, options.name or "", options.login)]
    elif options.login:
        raise UsageError("a login belongs to a new taster: crosspour tasters add NAME --login ROLE")
    else:
        found = tasters(desk)
    if options.json:
        print_json([_as_json(one) for one in found])
        return 0
    for one in found:
        since = one.made_at.astimezone().date().isoformat()
        login = f", login {one.login}" if one.login else ""
        print(f"{one.name}  since {since}{login}{', shares' if one.shares else ''}")
    if not found:
        print("no taster yet; the first drill makes one, or: crosspour tasters add NAME")
    return 0


def _as_json(one: TasterRecord) -> dict[str, object]:
    since = one.made_at.astimezone().date().isoformat()
    return {"taster": one.name, "since": since, "login": one.login, "shares": one.shares}


def _share(options: argparse.Namespace) -> int:
    from drills.service.group import share

    desk = desk_of(options)
    if options.state is None:
        print("on" if desk.taster.shares else "off")
        return 0
    shares = _SHARES[options.state]
    share(desk, shares)
    print(
        f"{desk.taster.name}: your confusions are counted with the others', without your name"
        if shares
        else f"{desk.taster.name}: your confusions are counted with nobody else's"
    )
    return 0


def _confusions(options: argparse.Namespace) -> int:
    from dataclasses import asdict

    from drills.commands.printing import print_json
    from drills.phrases import count
    from drills.service.group import group_pairs
    from drills.storage.rights import LEAST_TASTERS

    found = group_pairs(desk_of(options))
    if options.json:
        names = ("called", "was", "tasters", "times", "poured")
        print_json([{name: asdict(one)[name] for name in names} for one in found])
        return 0
    if not found:
        print(f"nothing yet: a pair counts once {LEAST_TASTERS} tasters who share have confused it")
    for one in found:
        print(
            f"{one.was_name} called {one.called_name}: {one.times} of {count(one.poured, 'pour')},"
            f" by {count(one.tasters, 'taster')}"
        )
    return 0


def _refresh(options: argparse.Namespace) -> int:
    from drills.service.group import refresh

    print(f"{refresh(desk_of(options)):,} contrasts are in use, from your table")
    return 0
