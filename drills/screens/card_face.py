"""A card as lines on the terminal, and what a click on them means."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from textwrap import wrap

from textual.content import Content
from textual.geometry import Offset

from drills.grading import Sureness
from drills.screens.widgets.glass import Glass, glass_lines, key_row

# Wider glasses would part the names from each other.
_WIDEST = 110
# Below so many lines, glasses and margins are drawn close.
_LOW = 22
_NOTHING = Content("")
_More = tuple[Content, ...]


@dataclass(frozen=True, slots=True)
class Face:
    """All that a card says at one moment.

    `bare` leaves the glasses out; then options and reveal take their lines. `stories` are the cues
    of a reveal, each in lines that are shown together or not at all.
    """

    why: str
    question: str
    cues: str
    left: Glass
    right: Glass
    options: tuple[Content, ...] = ()
    verdict: Content | None = None
    stories: tuple[_More, ...] = ()
    bare: bool = False


@dataclass(frozen=True, slots=True)
class Layout:
    """The lines of a face on a terminal of some size, and where its parts stand in them."""

    face: Face
    lines: _More
    compact: bool
    glasses_at: int | None
    options_at: int
    margin: int
    glass_width: int

    def key_offset(self, side: str, sureness: Sureness) -> Offset:
        """Where an answer can be clicked."""
        assert self.glasses_at is not None
        glass, start = self._glass(side)
        at = next(at for at, _, one in glass.key_places(self.glass_width) if one is sureness)
        return Offset(start + at, self.glasses_at + key_row(self.compact))

    def answer_at(self, x: int, y: int) -> tuple[str, Sureness] | None:
        """The side and sureness whose key stands there."""
        if self.glasses_at is None or y != self.glasses_at + key_row(self.compact):
            return None
        for side in ("left", "right"):
            glass, start = self._glass(side)
            for at, words, sureness in glass.key_places(self.glass_width):
                if start + at <= x < start + at + len(words):
                    return side, sureness
        return None

    def option_at(self, y: int) -> int | None:
        """The option that stands there, from 0."""
        place = y - self.options_at
        return place if 0 <= place < len(self.face.options) else None

    def _glass(self, side: str) -> tuple[Glass, int]:
        if side == "left":
            return self.face.left, self.margin
        return self.face.right, self.margin + self.glass_width + 2


def lay_out(face: Face, width: int, height: int) -> Layout:
    """Put a face on so many columns and lines; what does not fit is left out from the end."""
    roomy = _lay_out(face, width, height, compact=height < _LOW)
    if roomy.compact or roomy.options_at + len(face.options) <= height:
        return roomy
    return _lay_out(face, width, height, compact=True)


def _lay_out(face: Face, width: int, height: int, *, compact: bool) -> Layout:
    # Two columns stay free on either side, and two between the glasses.
    glass_width = (min(width, _WIDEST) - 4) // 2
    margin = (width - 2 * glass_width - 2) // 2
    lines: list[Content] = [] if compact else [_NOTHING]
    lines += _head(face.why, face.question, face.cues, width)
    if not compact:
        lines.append(_NOTHING)
    glasses_at = None
    if not face.bare:
        glasses_at = len(lines)
        lines += _glasses(face.left, face.right, margin, glass_width, compact)
    options_at = len(lines)
    lines += [line.pad_left(margin) for line in face.options]
    if face.verdict is not None:
        lines.append(centred(face.verdict, width))
    for story in face.stories:
        if len(lines) + len(story) > height:
            break
        lines += [centred(line, width) for line in story]
    return Layout(face, tuple(lines[:height]), compact, glasses_at, options_at, margin, glass_width)


def in_place_of_a_card(words: str, width: int) -> _More:
    """What stands where no card can be shown: why, as it was said, and what can be done."""
    return (_NOTHING, *(Content(f"  {line}") for line in wrap(words, max(width - 4, 1))))


@lru_cache(maxsize=64)
def _head(why: str, question: str, cues: str, width: int) -> _More:
    return (
        centred(Content.styled(why, "dim"), width),
        # A question names two wines: cut, it would hide which.
        *(centred(Content(line), width) for line in wrap(question, max(width - 2, 1))),
        *(
            centred(Content.styled(line, "bold $primary"), width)
            for line in wrap(cues, max(width - 4, 1)) or [""]
        ),
    )


@lru_cache(maxsize=64)
def _glasses(left: Glass, right: Glass, margin: int, width: int, compact: bool) -> _More:
    sides = (glass_lines(glass, width, compact) for glass in (left, right))
    return tuple(
        Content.assemble(" " * margin, one, "  ", other) for one, other in zip(*sides, strict=True)
    )


def centred(line: Content, width: int) -> Content:
    """A line in the middle of so many columns, cut where it is longer."""
    if line.cell_length > width:
        line = line.truncate(width, ellipsis=True)
    return line.pad_left((width - line.cell_length) // 2)
