"""What could stand at the end of a command line that is being typed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from drills.commands.command_tree import Command, Kind, Word

# Read by the shells' scripts: names of files are completed by the shell itself.
FILES = ":files"


class Offer(NamedTuple):
    """A word that could stand, and what it does."""

    word: str
    words: str = ""


Wines = Callable[[], Sequence[tuple[str, str]]]


def offers(root: Command, typed: Sequence[str], wines: Wines) -> list[Offer]:
    """What could stand for the last of the `typed` words, which may be empty or only begun.

    `wines` gives keys and names of all wines, and is asked only where a wine could stand.
    """
    # Bash cuts --file=name into three words.
    *before, begun = [word for word in typed if word != "="] or [""]
    command, place = root, 0
    waiting: tuple[Word, int] | None = None
    given: set[str] = set()
    for word in before:
        if waiting is not None:
            waiting = (waiting[0], waiting[1] - 1) if waiting[1] > 1 else None
        elif word.startswith("-") and word != "-":
            given.add(word)
            named = (one for one in command.options if word in one.names)
            waiting = next(((one, one.takes) for one in named if one.takes), None)
        elif (below := command.part(word)) is not None:
            command, place = below, 0
        else:
            place += 1
    if waiting is not None:
        return _of_word(waiting[0], begun, wines)
    if begun.startswith("-"):
        return [
            Offer(name, option.words)
            for option in command.options
            if given.isdisjoint(option.names)
            for name in option.names
            if name.startswith(begun) and name.startswith("--")
        ]
    # After a word that is no command, none may follow.
    parts = command.parts if not place else ()
    found = [Offer(one.path[-1], one.words) for one in parts]
    found = [one for one in found if one.word.startswith(begun)]
    if (argument := _argument(command, place)) is not None:
        found += _of_word(argument, begun, wines)
    return found


def _argument(command: Command, place: int) -> Word | None:
    """The argument at a place; the last one may take any number."""
    for argument in command.arguments:
        if argument.takes is None or place < argument.takes:
            return argument
        place -= argument.takes
    return None


def _of_word(word: Word, begun: str, wines: Wines) -> list[Offer]:
    if word.choices:
        return [Offer(one) for one in word.choices if one.startswith(begun)]
    if word.kind is Kind.FILE:
        return [Offer(FILES)]
    return _wines(begun, wines()) if word.kind is Kind.WINE else []


def _wines(begun: str, wines: Sequence[tuple[str, str]]) -> list[Offer]:
    """Keys that begin as typed; where none does, those that have it within, or in their names."""
    sought = begun.casefold()
    found = [Offer(key, name) for key, name in wines if key.startswith(sought)]
    if not found:
        found = [
            Offer(key, name) for key, name in wines if sought in key or sought in name.casefold()
        ]
        # A shell puts in what all offers share, and would take away what was typed.
        if len(found) > 1 and len({one.word[0] for one in found}) == 1:
            return []
    return found
