"""Where things stand in a picture: pure places that screen and report share."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from string import ascii_lowercase, ascii_uppercase

from drills.service.weak import Corner
from drills.statistics.corners import STRONG_R, STRONG_RECALL, Strength

# What points are called, in the order of the list; a taster who confuses more pairs than this sees
# the first of them.
MARKS = ascii_lowercase + ascii_uppercase

# So near the middle line a point may come, so that its side is plain to see.
_NEAREST = 0.06


def corner_place(corner: Corner) -> tuple[float, float]:
    """The place of a pair, 0 to 1 each way: theory to the right, glass upwards.

    Which side of the middle it stands on is the verdict's; how far from it says how much. A side
    that is unknown puts it on the middle line.
    """
    return _theory(corner), _glass(corner)


def cells_apart(
    corners: Sequence[Corner], wide: int, high: int, steep: float = 3.0
) -> list[tuple[int, int]]:
    """A cell of its own for each pair in a grid, column and row from the upper left.

    The nearest that is free; a row away counts as `steep` columns. Pairs that find no cell are left
    out at the end.
    """
    free = {(column, row) for column in range(wide) for row in range(high)}
    found = []
    for corner in corners:
        if not free:
            break
        across, up = corner_place(corner)
        x, y = round(across * (wide - 1)), round((1 - up) * (high - 1))
        sides = (_side(across), _side(1 - up))

        def far(cell: tuple[int, int], x: int = x, y: int = y, sides: object = sides) -> float:
            # Whichever cells are taken, a pair keeps to its corner while there is room.
            mine = (_side(cell[0] / (wide - 1)), _side(cell[1] / (high - 1)))
            away = (cell[0] - x) ** 2 + (steep * (cell[1] - y)) ** 2
            return away if mine == sides else away + (wide + steep * high) ** 2

        cell = min(free, key=lambda one: (far(one), one))
        free.remove(cell)
        found.append(cell)
    return found


def _side(share: float) -> int:
    return (share > 0.5) - (share < 0.5)


def _theory(corner: Corner) -> float:
    theory, side = corner.theory, corner.verdict.theory
    if side is Strength.UNKNOWN:
        return 0.5
    shares = [_about(theory.recall or 0.0, 0.0, STRONG_RECALL)]
    if theory.r_index is not None:
        shares.append(_about(theory.r_index.value, 0.5, STRONG_R))
    return _on_side(min(shares), side)


def _glass(corner: Corner) -> float:
    side, standing = corner.verdict.glass, corner.standing
    if side is Strength.UNKNOWN:
        return 0.5
    share = standing.right / standing.n if standing.n else 0.0
    # A guess is right half the time; from there to always right.
    return _on_side(share if side is Strength.WEAK else 0.5 + share / 2, side, low=share / 2)


def _about(value: float, least: float, bound: float) -> float:
    """0 at `least`, one half at `bound`, 1 at 1."""
    if value < bound:
        return 0.5 * max(value - least, 0.0) / (bound - least)
    return 0.5 + 0.5 * (value - bound) / (1 - bound)


def _on_side(value: float, side: Strength, low: float | None = None) -> float:
    if side is Strength.STRONG:
        return min(max(value, 0.5 + _NEAREST), 1.0)
    return max(min(value if low is None else low, 0.5 - _NEAREST), 0.0)


def lateral_order(wines: Sequence[str], separation: Callable[[str, str], float]) -> list[str]:
    """Wines in a row in which near ones stand together.

    Begun with the nearest two; each further wine, the nearest to any that stand already first, is
    put where it lengthens the row least (cheapest insertion).
    """
    left = sorted(set(wines))
    if len(left) < 3:
        return left
    apart = {
        (one, other): separation(one, other)
        for place, one in enumerate(left)
        for other in left[place + 1 :]
    }

    def gap(one: str, other: str) -> float:
        return apart[(one, other) if one < other else (other, one)]

    nearest = min(apart, key=lambda pair: (apart[pair], pair))
    row = [*nearest]
    left = [wine for wine in left if wine not in row]
    while left:
        wine = min(left, key=lambda w: (min(gap(w, other) for other in row), w))
        left.remove(wine)
        added = [gap(wine, row[0])]
        for before, after in pairwise(row):
            added.append(gap(before, wine) + gap(wine, after) - gap(before, after))
        added.append(gap(row[-1], wine))
        row.insert(added.index(min(added)), wine)
    return row
