"""Changing a text on a screen that stands, without laying the screen out anew."""

from __future__ import annotations

from textual.content import Content
from textual.widgets import Static


def keep_or_put(text: Static, words: Content) -> None:
    """Change a text of fixed height, unless it says this already: then nothing is painted."""
    if text.content != words:
        text.update(words, layout=False)


def blank(text: Static) -> None:
    """Empty a text but keep its height, so that what comes next finds its place made."""
    text.update(Content("\n" * max(text.size.height - 1, 0)), layout=False)


def put_within(text: Static, words: Content, lines: int) -> None:
    """As `put`, but a text that is shorter than before keeps its height, up to so many lines."""
    spare = min(text.size.height, lines) - words.get_height({}, text.size.width or 1)
    put(text, Content.assemble(words, "\n" * spare) if spare > 0 else words)


def put(text: Static, words: Content) -> None:
    """Change a text; the screen is laid out anew only if the height of the text changes with it.

    From a key to the repaint a new layout takes as long as writing the answer to the disk.
    """
    width, height = text.size
    text.update(words, layout=not width or words.get_height({}, width) != height)
