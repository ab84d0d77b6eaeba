"""A cue of two wines in one line: a bar from the middle to the wine that the cue points to."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import shorten, wrap

from textual.content import Content

from drills.screens.widgets.bars import bar, cut
from drills.service.comparing import ComparedCue, Comparison

# From so many columns on, the cause stands beside its cue.
BESIDE = 116
_MOST_LINES = 4
NO_CAUSE = "the table knows no cause"


@dataclass(frozen=True, slots=True)
class CueColumns:
    """How a line is shared out, in columns: words on either side, half a bar, then the cause."""

    side: int
    half: int
    cause: int

    @classmethod
    def of(cls, width: int) -> CueColumns:
        """The shares of a line of `width` columns."""
        cause = max(width - 92, 40) if width >= BESIDE else 0
        bars = width - cause - 2 * bool(cause)
        half = min(max((bars - 20) // 5, 6), 16)
        return cls((bars - 2 * half - 5) // 2, half, cause)

    @property
    def width(self) -> int:
        """The columns up to the end of the right-hand words."""
        return 2 * self.side + 2 * self.half + 5


def names_line(comparison: Comparison, columns: CueColumns) -> Content:
    """The two names above their sides, and how far apart the wines are between them."""
    left, right = comparison.names
    apart = f" {comparison.separation_db:.1f} db apart "
    gap = 2 * columns.half + 5
    # A long name may reach into the gap that the bars leave above them.
    before = (gap - len(apart)) // 2
    after = gap - len(apart) - before
    left = f"{cut(left, columns.side + before):>{columns.side}}".ljust(columns.side + before)
    right = f"{cut(right, columns.side + after):<{columns.side}}".rjust(columns.side + after)
    return Content.assemble((left, "bold $secondary"), (apart, "bold"), (right, "bold $accent"))


def cue_line(cue: ComparedCue, columns: CueColumns, *, told: bool) -> Content:
    """The cue in one line, with its cause beside it where there is room, else below it if `told`.

    The cue and its weight stand on the side of the wine that the bar points to; on the other side
    stands, faint, what that wine's profile says.
    """
    story, side = cue.story, columns.side
    weight = f"{abs(story.weight):.1f}"
    if cue.points_left:
        words = f"{cut(story.words, side - 6)} {weight:>5}"
        left, right = (f"{words:>{side}}", "bold"), (cut(story.right, side), "dim")
        colour = "$secondary"
    else:
        words = f"{weight:<5} {cut(story.words, side - 6)}"
        left, right = (f"{cut(story.left, side):>{side}}", "dim"), (words, "bold")
        colour = "$accent"
    # A weight of nought has a direction too; the bar reads it from the sign.
    size = max(abs(story.weight), 0.01)
    drawn = bar(-size if cue.points_left else size, columns.half)
    line = Content.assemble(left, "  ", (drawn, colour), "  ", (f"{right[0]:<{side}}", right[1]))
    because = story.because or NO_CAUSE
    beside = shorten(because, columns.cause, placeholder=" …") if columns.cause else ""
    if columns.cause:
        line = Content.assemble(line, "  ", (beside, "dim"))
    if told and beside != because:
        lines = wrap(because, columns.width - 4, max_lines=_MOST_LINES, placeholder=" …")
        line = Content.assemble(line, "\n", ("\n".join(f"  {one}" for one in lines), "italic"))
    return line
