"""Weights drawn as bars to the left or right of a middle line."""

from __future__ import annotations

from textual.content import Content

from cards.evidence import band
from cards.explaining import CueStory

# A bar is full at this weight (decibans); a decisive cue fills most of it.
FULL = 16.0
_EIGHTHS = " ▏▎▍▌▋▊▉"


def bar(weight: float, half: int) -> str:
    """A bar of 2 * half + 1 columns: left of the middle line for negative weights, else right.

    Left bars are drawn in whole columns, since terminals have no glyphs that grow from the right.
    """
    length = min(abs(weight) / FULL, 1.0) * half
    if weight < 0:
        whole = max(round(length), 1)
        return " " * (half - whole) + "█" * whole + "│" + " " * half
    whole, part = divmod(round(length * 8), 8)
    drawn = ("█" * whole + _EIGHTHS[part].strip()) or "▏"
    return " " * half + "│" + drawn.ljust(half)


def strength(weight: float) -> str:
    """A weight in words and numbers: “9.9 db, strong”."""
    return f"{abs(weight):.1f} db, {band(weight)}"


def cut(text: str, width: int) -> str:
    """The text in at most so many columns, with a sign where some of it is left out."""
    return text if len(text) <= width else text[: max(width - 1, 0)] + "…"


def _sizes(width: int) -> tuple[int, int]:
    """Columns for the words on either side, and for either half of the bar."""
    side = max(min((width - 19) // 2, 30), 12)
    return side, max((width - 2 * side - 5) // 2, 4)


def story_width(width: int) -> int:
    """The columns that `story_lines` really uses of `width`."""
    side, half = _sizes(width)
    return 2 * side + 2 * half + 5


def side_names(left: str, right: str, width: int) -> Content:
    """The names of two wines above the bars that point to them."""
    side, half = _sizes(width)
    gap = " " * (2 * half + 5)
    return Content.styled(f"{cut(left, side):>{side}}{gap}{cut(right, side):<{side}}", "bold")


def story_lines(story: CueStory, width: int, *, faint: bool = False) -> Content:
    """One cue of a reveal in two lines: what either profile says and the bar, then the cue."""
    side, half = _sizes(width)
    style = "dim" if faint else ""
    colour = "$secondary" if story.weight < 0 else "$accent"
    head = cut(f"{story.words}  {strength(story.weight)}", width)
    return Content.assemble(
        (f"{cut(story.left, side):>{side}}  ", style),
        (bar(story.weight, half), colour),
        (f"  {cut(story.right, side):<{side}}\n", style),
        (head.center(story_width(width)), style or "bold"),
    )
