"""Serving orders in which nothing has an unfair place, as places of the wines. Pure."""

from __future__ import annotations

Row = tuple[int, ...]
"""One taster's order, or a block of wines tasted together, as places of the wines, 0 the first."""


def williams(wines: int) -> tuple[Row, ...]:
    """Orders in which every wine stands equally often in each position and after each other.

    A Williams Latin square: `wines` orders for an even number of wines, twice as many (a square and
    the same read backwards) for an odd one, where a single square cannot be balanced in this way.
    The first order goes 0, 1, n-1, 2, n-2 ..., so that no two of its steps are the same mod n (or,
    for odd n, each occurs once forwards and once backwards); the others add 1 to every wine.
    E. J. Williams, Australian Journal of Scientific Research A 2 (1949) 149-168.

    Raises:
        ValueError: fewer than one wine.
    """
    if wines < 1:
        raise ValueError(f"a flight has at least one wine, not {wines}")
    first = [(nth + 1) // 2 if nth % 2 else (wines - nth // 2) % wines for nth in range(wines)]
    square = tuple(tuple((place + turn) % wines for place in first) for turn in range(wines))
    if wines % 2 == 0 or wines == 1:
        return square
    return square + tuple(row[::-1] for row in square)


def squares(wines: int) -> tuple[tuple[Row, ...], ...]:
    """The Latin squares of `williams`: one, or two for an odd number of wines from three on."""
    rows = williams(wines)
    return tuple(rows[start : start + wines] for start in range(0, len(rows), wines))
