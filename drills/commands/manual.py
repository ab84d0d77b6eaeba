"""The manual page, as man(7) reads it, made from the parser of the command line."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from drills.commands.command_tree import Command, Word

# Codes and places are no part of the parser; tests hold both against the program.
EXIT_CODES = (
    ("0", "done"),
    ("1", "could not be done; one sentence on standard error says why"),
    ("2", "asked for wrongly"),
    ("130", "stopped by Ctrl+C"),
    ("129, 143", "told to end by the terminal or the system"),
)
VARIABLES = (
    ("CROSSPOUR_HOME", "a folder for everything: database, settings, own profiles"),
    ("CROSSPOUR_DATABASE", "the database, as --database names it"),
    ("CROSSPOUR_TASTER", "who you are, as --taster names it"),
    ("NO_COLOR", "set to anything: no colours on the screens"),
    ("VISUAL, EDITOR", "the editor that the table commands open"),
)
FILES = (
    ("crosspour.sqlite3", "answers and tastings, in your data folder"),
    ("settings.toml", "settings and own keys, in your configuration folder"),
    ("table/", "your own profiles, in your data folder"),
)
CAUTIONS = (
    "Spit, and drink water between flights. Spitting leaves some alcohol in the blood: it does not "
    "make driving safe, so leave the car and follow local law. Avoid alcohol in pregnancy."
)


def page(root: Command, version: str) -> str:
    """The page in roff."""
    name, title = "crosspour", "two glasses side by side, and the cue that tells them apart"
    lines = [
        f'.TH {name.upper()} 1 "" "{name} {version}" "{name}"',
        # Lines are filled to the left, and no word is cut.
        ".ad l",
        ".nh",
        ".SH NAME",
        f"{name} \\- {_text(title)}",
        ".SH SYNOPSIS",
        *_usage(root),
        ".SH DESCRIPTION",
        _text(root.words),
        _text(root.ending),
        ".SH OPTIONS",
        *_words(root.options),
        ".SH COMMANDS",
    ]
    for command in root.everything():
        if command.path:
            lines += [f".SS {_text(' '.join(command.path))}", _sentence(command.words)]
            lines += [".PP", *_usage(command, root)]
            lines += [*_words(command.arguments), *_words(_own(command, root))]
    lines += [".SH EXIT STATUS", *_table(EXIT_CODES)]
    lines += [".SH ENVIRONMENT", *_table(VARIABLES)]
    lines += [".SH FILES", *_table(FILES)]
    lines += [".SH CAUTIONS", _text(CAUTIONS)]
    return "\n".join(lines) + "\n"


def _own(command: Command, root: Command) -> list[Word]:
    """The options that this command does not share with all."""
    return [option for option in command.options if option not in root.options]


def _usage(command: Command, root: Command | None = None) -> Iterator[str]:
    """The usage, without the options that all commands share."""
    usage = command.usage
    for option in set(command.options) & set(root.options if root else ()):
        usage = usage.replace(f" [{' '.join((option.names[0], *option.shown))}]", "")
    lines = textwrap.wrap(usage, 68, break_on_hyphens=False)
    yield from (".nf", *(_text(line) for line in lines), ".fi")


def _words(words: Sequence[Word]) -> Iterator[str]:
    for word in words:
        shown = " ".join(word.shown)
        heads = [f"\\fB{_text(name)}\\fR" for name in word.names]
        head = ", ".join(heads) + (f" \\fI{_text(shown)}\\fR" if shown else "")
        yield ".TP"
        yield head.strip()
        yield _text(word.words)


def _table(rows: Sequence[tuple[str, str]]) -> Iterator[str]:
    for name, words in rows:
        yield ".TP"
        yield f"\\fB{_text(name)}\\fR"
        yield _text(words)


def _sentence(words: str) -> str:
    return _text(f"{words[:1].upper()}{words[1:]}.")


def _text(words: str) -> str:
    """Words that roff takes as they stand: no signs of its own, no line that is a request."""
    words = " ".join(words.replace("%%", "%").split())
    words = words.replace("\\", "\\e").replace("-", "\\-").replace("“", '"').replace("”", '"')
    # Formatters read roff in various encodings; this way an accent is one everywhere.
    words = "".join(sign if sign.isascii() else f"\\[u{ord(sign):04X}]" for sign in words)
    return f"\\&{words}" if words.startswith((".", "'")) else words
