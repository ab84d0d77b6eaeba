"""Changing a text on a screen that stands, without laying the screen out anew."""

from __future__ import annotations

from textual.content import Content
from textual.widgets import Static


def put(text: Static, words: Content) -> None:
    """Change a text; the screen is laid out anew only if the height of the text changes with it.

    From a key to the repaint a new layout takes as long as writing the answer to the disk.
    """
    width, height = text.size
    text.update(words, layout=not width or words.get_height({}, width) != height)
