"""What the table says of wines."""

from __future__ import annotations

import argparse

from drills.commands.asking import Commands, desk_of


def add_to(commands: Commands) -> None:
    """Put these commands on the command line."""
    profile = commands.add(
        "profile", _profile, "tell all that the table holds of one wine", json=True
    )
    profile.add_argument("wine", metavar="WINE", help="a wine: its key, or any name it goes by")
    profile.add_argument("--sources", action="store_true", help="say what each fact rests on")
    pair = commands.add("pair", _pair, "list every cue that tells two wines apart", json=True)
    pair.add_argument("a", metavar="A", help="a wine: its key, or any name it goes by")
    pair.add_argument("b", metavar="B", help="the other wine")
    pair.add_argument("--causes", action="store_true", help="say below each cue why it is there")
    lateral = commands.add(
        "laterals", _laterals, "list the wines nearest to one, by separation", json=True
    )
    lateral.add_argument("wine", metavar="WINE", help="a wine: its key, or any name it goes by")


def _profile(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_json
    from drills.commands.profile_text import print_profile, profile_json
    from drills.service.profile import profile_view

    desk = desk_of(options)
    view = profile_view(desk, desk.names.key(options.wine))
    if options.json:
        print_json(profile_json(view))
    else:
        print_profile(view, sources=options.sources)
    return 0


def _pair(options: argparse.Namespace) -> int:
    from drills.commands.printing import pair_json, print_json, print_pair
    from drills.service.wines import pair_view

    desk = desk_of(options)
    view = pair_view(desk, options.a, options.b)
    if options.json:
        print_json(pair_json(view))
    else:
        print_pair(desk, view, causes=options.causes)
    return 0


def _laterals(options: argparse.Namespace) -> int:
    from drills.commands.printing import laterals_json, print_json, print_laterals
    from drills.service.wines import laterals

    desk = desk_of(options)
    found = laterals(desk, options.wine)
    if options.json:
        print_json(laterals_json(found))
    else:
        print_laterals(desk, found)
    return 0
