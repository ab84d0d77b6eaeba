"""Completion and the manual page, both made from the command line as it is."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from drills.commands.asking import Commands, desk_of


def add_to(commands: Commands) -> None:
    """Put these commands on the command line."""
    completion = commands.add(
        "completion", _completion, "print what completes this command line in bash, zsh or fish"
    )
    completion.add_argument(
        "what",
        choices=("bash", "zsh", "fish", "offers"),
        metavar="bash|zsh|fish",
        help="the shell; the first lines of what is printed say where to put it",
    )
    # What the shells' own lines call: the words typed so far, each with = before it, so that none
    # is taken for an option of this command.
    completion.add_argument("typed", nargs="*", default=(), help=argparse.SUPPRESS)
    commands.add("man", _man, "print the manual page: crosspour man | man -l -")


def _completion(options: argparse.Namespace) -> int:
    if options.what != "offers":
        from drills.commands.shells import SCRIPTS

        print(SCRIPTS[options.what], end="")
        return 0
    from drills.commands.command_tree import read
    from drills.commands.completing import offers

    typed = [word.removeprefix("=") for word in options.typed]
    for offer in offers(read(options.parser), typed, lambda: _wines(options)):
        print(f"{offer.word}\t{offer.words}" if offer.words else offer.word)
    return 0


def _wines(options: argparse.Namespace) -> Sequence[tuple[str, str]]:
    from cards.errors import CardsError

    try:
        profiles = desk_of(options).table.profiles
    except CardsError:
        # Who presses Tab cannot be told of a mistake in the table; any other command says it.
        return []
    return [(profile.key, profile.name) for profile in profiles.values()]


def _man(options: argparse.Namespace) -> int:
    from importlib.metadata import version

    from drills.commands.command_tree import read
    from drills.commands.manual import page

    print(page(read(options.parser), version("crosspour")), end="")
    return 0
