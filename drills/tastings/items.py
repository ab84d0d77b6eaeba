"""Lists inside one cell: “lime; petrol; wet stone”. What would end an item stands behind a \\."""

from __future__ import annotations

import re
from collections.abc import Iterable

_ENDS = frozenset(";|\n")
# Taken for the end of an item, or for the beginning of something said about it.
_ANYWHERE = frozenset("\\;|,\n[]")
# At the beginning it would say “not there”, or run as a formula.
_AT_FIRST = frozenset("=+-@–—−'")
_ESCAPABLE = _ANYWHERE | _AT_FIRST
_PLAIN_ENDS, _PLAIN_ENDS_AND_COMMAS = re.compile(r"[;|\n]"), re.compile(r"[;|\n]|,(?!\d)")
_HIDDEN = re.compile(r"\\(.)", re.DOTALL)
_BRACKETED = re.compile(r"((?:\\.|[^\\\[])*)\[((?:\\.|[^\\\]])*)\]", re.DOTALL)


def split_items(text: str, *, commas: bool) -> list[str]:
    """The items of a cell, still with their backslashes; semicolons, bars and lines end one.

    Commas do where it is said so, but not the decimal ones.
    """
    if "\\" not in text:
        ends = _PLAIN_ENDS_AND_COMMAS if commas else _PLAIN_ENDS
        return [item for part in ends.split(text) if (item := part.strip())]
    items: list[str] = []
    begun = place = 0
    while place < len(text):
        character = text[place]
        if character == "\\":
            place += 2
            continue
        if character in _ENDS or (
            commas and character == "," and not text[place + 1 : place + 2].isdigit()
        ):
            items.append(text[begun:place])
            begun = place + 1
        place += 1
    items.append(text[begun:])
    return [item for item in map(_stripped, items) if item]


def _stripped(item: str) -> str:
    """Without the blanks around, but for one behind a backslash."""
    item = item.lstrip()
    bare = item.rstrip()
    slashes = len(bare) - len(bare.rstrip("\\"))
    return item[: len(bare) + 1] if slashes % 2 and len(bare) < len(item) else bare


def plain_item(item: str) -> str:
    """An item as it was meant, the backslashes taken out."""
    if "\\" not in item:
        return item
    return _HIDDEN.sub(_shown, item)


def _shown(match: re.Match[str]) -> str:
    hidden = match[1]
    return hidden if hidden in _ESCAPABLE or hidden.isspace() else match[0]


def bracketed(item: str) -> tuple[str, str] | None:
    """What stands before the square brackets of an item, and in them; None without brackets."""
    match = _BRACKETED.fullmatch(item)
    return None if match is None else (plain_item(_stripped(match[1])), plain_item(match[2]))


def written_item(text: str) -> str:
    """A text as an item that reads back the same."""
    last = len(text) - 1
    return "".join(
        f"\\{character}"
        if character in _ANYWHERE
        or (place == 0 and character in _AT_FIRST)
        or (place in (0, last) and character.isspace())
        else character
        for place, character in enumerate(text)
    )


def written_items(items: Iterable[str]) -> str:
    """Items that are written already, as one cell."""
    return "; ".join(items)
