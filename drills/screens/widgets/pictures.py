"""Pictures made of characters: intervals about zero, a table of confusions, shares of calls."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual.content import Content

from drills.screens.widgets.bars import cut
from drills.service.picturing import MARKS
from drills.service.progress import ConfusionTable
from drills.statistics.shares import Estimate

_CELL = 4


def about_zero(value: Estimate, reach: float, width: int) -> str:
    """An interval on an axis from -reach to reach, zero marked; what lies beyond is cut off."""
    half = width // 2
    wide = 2 * half + 1

    def place(at: float) -> int:
        return half + round(min(max(at / reach, -1.0), 1.0) * half)

    low, at, high = place(value.low), place(value.value), place(value.high)
    cells = []
    for x in range(wide):
        if x == at:
            cells.append("●")
        elif low <= x <= high:
            cells.append("┼" if x == half else "─")
        else:
            cells.append("│" if x == half else "·")
    return "".join(cells)


def shades(table: ConfusionTable, name: Callable[[str], str], room: int) -> list[Content]:
    """Who is called whom: rows are what it was, columns what it was called.

    Every cell holds its number; the more frequent a confusion is, the more it stands out (bold,
    reversed, both), so that the picture reads without colour. `room` is the width there is:
    wines that find none are left out at the end, and the last line says how many.
    """
    names = [name(wine) for wine in table.wines]
    label = min(max(map(len, names)), 22, max(room - 3 * _CELL - 3, 8))
    shown = max(min(len(names), (room - label - 3) // _CELL), 1)
    # Names stand at the rows; columns carry the letter of their row.
    head = " " * (label + 3) + "".join(f"{MARKS[n]:>{_CELL}}" for n in range(shown))
    lines = [Content.styled(head, "bold")]
    cells = [(row, column) for row in range(shown) for column in range(shown) if row != column]
    most = max((table.counts[row][column] for row, column in cells), default=1)
    for row in range(shown):
        counts = table.counts[row]
        parts: list[str | tuple[str, str] | Content] = [
            Content(f"{cut(names[row], label):>{label}} "),
            (f"{MARKS[row]} ", "bold"),
        ]
        for column in range(shown):
            number = counts[column]
            text = f"{number if number else '·':>{_CELL - 1}} "
            parts.append((text, _style(number, column == row, most)))
        lines.append(Content.assemble(*parts))
    left_out = table.left_out + len(names) - shown
    if left_out:
        lines.append(Content.styled(f"{left_out} more confused wines find no room here", "dim"))
    return lines


def _style(number: int, right: bool, most: int) -> str:
    if not number:
        return "dim"
    if right:
        return "underline"
    if 3 * number >= 2 * most:
        return "bold reverse"
    return "reverse" if 3 * number >= most else "bold"


def stacked(parts: Sequence[tuple[str, int]], width: int) -> str:
    """Shares of a whole as one bar, each part with a filling of its own."""
    whole = sum(number for _, number in parts) or 1
    ends = [0]
    for _, number in parts:
        ends.append(ends[-1] + number)
    marks = [round(end / whole * width) for end in ends]
    return "".join(
        filling * (end - start)
        for (filling, _), start, end in zip(parts, marks, marks[1:], strict=False)
    )
