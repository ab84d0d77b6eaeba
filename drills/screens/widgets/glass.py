"""A glass as it is drawn: the wine's name above three keys, from sure to guess."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import Enum
from functools import lru_cache

from textual.content import Content

from drills.grading import Sureness


class Fate(Enum):
    """What became of a glass; the frame's corners, its lines across and down, and its colour."""

    OPEN = ("╭", "╮", "╰", "╯", "─", "│", "dim")
    TRUE = ("╔", "╗", "╚", "╝", "═", "║", "$success")
    SAID = ("┏", "┓", "┗", "┛", "╍", "╏", "$error")


@dataclass(frozen=True, slots=True)
class Glass:
    """The left or right glass: name and place of its wine, the keys, and what its foot says.

    `keys` are the keys of sure, leaning and guess.
    """

    side: str
    name: str
    place: str
    keys: tuple[str, str, str]
    fate: Fate = Fate.OPEN
    words: str = ""

    def marked(self, fate: Fate, words: str) -> Glass:
        """The same glass with what became of it at its foot."""
        return replace(self, fate=fate, words=words)

    def key_places(self, width: int) -> Iterator[tuple[int, str, Sureness]]:
        """Where a glass of so many columns shows each key: its column, the words, the answer."""
        # From the outer finger to the inner one.
        order = [Sureness.SURE, Sureness.LEANING, Sureness.GUESS]
        said = [f"{key} {one.label}" for key, one in zip(self.keys, order, strict=True)]
        if self.side == "right":
            order.reverse()
            said.reverse()
        spare = max(width - 4 - sum(map(len, said)), 0)
        gap = max(spare // 4, 1)
        at = 2 + max((spare - 2 * gap) // 2, 0)
        for words, sureness in zip(said, order, strict=True):
            yield at, words, sureness
            at += len(words) + gap


def key_row(compact: bool) -> int:
    """The line of the keys, from the top of the glass."""
    return 3 if compact else 5


@lru_cache(maxsize=256)
def glass_lines(glass: Glass, width: int, compact: bool) -> tuple[Content, ...]:
    """The glass, line by line, each of so many columns."""
    inside = max(width - 4, 0)
    keys = Content("")
    for at, words, _ in glass.key_places(width):
        key, _, label = words.partition(" ")
        before = " " * (at - 2 - keys.cell_length)
        keys = Content.assemble(keys, before, (key, "bold"), (f" {label}", "dim"))
    inner = [
        _centred(glass.name, inside).stylize("bold"),
        _centred(glass.place, inside).stylize("dim"),
        keys,
    ]
    if not compact:
        inner = [Content(""), *inner[:2], Content(""), keys]
    top_left, top_right, low_left, low_right, across, down, colour = glass.fate.value
    head = f" {glass.side} glass "
    foot = f" {glass.words} " if glass.words else ""
    top = Content.assemble(
        (f"{top_left}{across}", colour),
        (head, "dim"),
        (across * (inside + 1 - len(head)) + top_right, colour),
    )
    lines = [
        Content.assemble(
            (f"{down} ", colour), line, " " * (inside - line.cell_length), (f" {down}", colour)
        )
        for line in inner
    ]
    bottom = Content.assemble(
        (low_left + across * (inside + 1 - len(foot)), colour),
        foot,
        (across + low_right, colour),
    )
    return (top, *lines, bottom)


def _centred(text: str, width: int) -> Content:
    words = Content(text).truncate(width, ellipsis=True)
    return words.pad_left(max((width - words.cell_length) // 2, 0))
