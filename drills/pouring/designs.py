"""Serving orders and incomplete blocks. Pure."""

from __future__ import annotations

Row = tuple[int, ...]
"""One taster's order, as places of the wines, 0 the first."""


def williams(wines: int) -> tuple[Row, ...]:
    """Orders in which every wine stands equally often in each position and after each other.

    A Williams Latin square: `wines` orders for an even number of wines, twice as many (two squares)
    for an odd one. E. J. Williams, Australian Journal of Scientific Research A 2 (1949) 149-168.

    Raises:
        ValueError: fewer than one wine.
    """
    if wines < 1:
        raise ValueError(f"a flight has at least one wine, not {wines}")
    first, low, high = [0], 1, wines - 1
    while low <= high:
        first.append(low)
        if low != high:
            first.append(high)
        low, high = low + 1, high - 1
    square = tuple(tuple((place + turn) % wines for place in first) for turn in range(wines))
    if wines % 2 == 0 or wines == 1:
        return square
    return square + tuple(row[::-1] for row in square)
