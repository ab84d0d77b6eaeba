"""The command line as data, read from the parser that reads it: for completion and the manual."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

# argparse has no public way to what a parser was told, so this module alone reads its lists.


class Kind(Enum):
    """What a word on the command line is."""

    WORD = "word"
    FILE = "file"
    WINE = "wine"


@dataclass(frozen=True, slots=True)
class Word:
    """An option or an argument: its names (none for an argument), what it takes, and what for.

    `takes` is how many words follow an option or make an argument, None for any number; `shown` is
    how those words are called; `choices` are all that may stand there, where that is settled.
    """

    names: tuple[str, ...]
    shown: tuple[str, ...]
    words: str
    kind: Kind
    choices: tuple[str, ...]
    takes: int | None
    needed: bool


@dataclass(frozen=True, slots=True)
class Command:
    """A command with its options, its arguments, and the commands below it."""

    path: tuple[str, ...]
    words: str
    ending: str
    usage: str
    options: tuple[Word, ...]
    arguments: tuple[Word, ...]
    parts: tuple[Command, ...]

    def part(self, name: str) -> Command | None:
        """The command of that name below this one."""
        return next((one for one in self.parts if one.path[-1] == name), None)

    def everything(self) -> Iterator[Command]:
        """This command and all below it, in their order."""
        yield self
        for part in self.parts:
            yield from part.everything()


def read(parser: argparse.ArgumentParser) -> Command:
    """What `parser` understands."""
    return _command(parser, (), parser.description or "")


def _command(parser: argparse.ArgumentParser, path: tuple[str, ...], words: str) -> Command:
    options: list[Word] = []
    arguments: list[Word] = []
    parts: list[Command] = []
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            told = {one.dest: one.help or "" for one in action._choices_actions}
            parts += [
                _command(below, (*path, name), told.get(name, ""))
                for name, below in action.choices.items()
            ]
        elif action.help != argparse.SUPPRESS:
            (options if action.option_strings else arguments).append(_word(action))
    return Command(
        path,
        words,
        parser.epilog or "",
        " ".join(parser.format_usage().removeprefix("usage: ").split()),
        tuple(options),
        tuple(arguments),
        tuple(parts),
    )


def _word(action: argparse.Action) -> Word:
    takes: int | None = 1
    if isinstance(action.nargs, int):
        takes = action.nargs
    elif action.nargs in ("*", "+"):
        takes = None
    shown: tuple[str, ...] = ()
    choices = tuple(str(one) for one in action.choices or ())
    if choices and isinstance(action.metavar, str):
        # What a metavar leaves out is for programs, not for people.
        choices = tuple(one for one in choices if one in action.metavar.split("|"))
    if takes != 0:
        name = action.metavar or "|".join(choices) or action.dest.upper()
        shown = name if isinstance(name, tuple) else (name,) * (takes or 1)
    return Word(
        names=tuple(action.option_strings),
        shown=shown,
        words=action.help or "",
        kind=_kind(shown),
        choices=choices,
        takes=takes,
        needed=action.required,
    )


def _kind(shown: tuple[str, ...]) -> Kind:
    """Metavars say what stands for a file and what for a wine, on the whole command line."""
    if shown and shown[0].partition(".")[0] in ("FILE", "DIR"):
        return Kind.FILE
    return Kind.WINE if shown and shown[0] in ("WINE", "A", "B") else Kind.WORD
