"""Kappa: agreement of a taster's calls with the profile beyond what chance gives.

A table holds counts: rows are what the profile (or a second taster) says, columns what was called,
both in the same order of categories.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from drills.statistics.shares import LEVEL, two_sided

Table = Sequence[Sequence[float]]
_ROUNDING = 1e-14
Weights = Literal["linear", "quadratic"] | Table | None


@dataclass(frozen=True, slots=True)
class Kappa:
    """Agreement beyond chance: 1 is complete, 0 what chance gives, below 0 worse than that.

    `observed` and `expected` are the agreements (0 to 1) that it compares.
    """

    value: float
    se: float
    low: float
    high: float
    observed: float
    expected: float
    n: float


def disagreement(size: int, weights: Weights) -> list[list[float]]:
    """How bad each pair of categories is: 0 on the diagonal, 1 for the worst.

    None counts every difference the same; "linear" counts the steps between, "quadratic" their
    square; a matrix of one's own is divided by its largest entry.

    Raises:
        ValueError: a matrix of the wrong size, with a negative entry, an entry on the diagonal, or
            nothing but zeros.
    """
    if weights is None:
        return [[float(i != j) for j in range(size)] for i in range(size)]
    if weights == "linear" or weights == "quadratic":
        power = 1 if weights == "linear" else 2
        return [[(abs(i - j) / (size - 1)) ** power for j in range(size)] for i in range(size)]
    if len(weights) != size or any(len(row) != size for row in weights):
        raise ValueError("the weights need the size of the table")
    largest = max(float(entry) for row in weights for entry in row)
    matrix = [[float(entry) for entry in row] for row in weights]
    if any(entry < 0 for row in matrix for entry in row) or not largest:
        raise ValueError("weights are not negative, and not all zero")
    if any(matrix[i][i] for i in range(size)):
        raise ValueError("full agreement weighs nothing")
    return [[entry / largest for entry in row] for row in matrix]


def kappa(table: Table, weights: Weights = None, level: float = LEVEL) -> Kappa | None:
    """Cohen's kappa, weighted where `weights` says how bad each disagreement is.

    kappa = 1 - (mean observed disagreement) / (mean disagreement expected from the margins): Cohen,
    Educational and Psychological Measurement 20, 1960, 37; weighted: Psychological Bulletin 70,
    1968, 213. Standard error where kappa is not zero: Fleiss, Cohen and Everitt, Psychological
    Bulletin 72, 1969, 323; the interval is normal, cut at -1 and 1.

    None where chance alone agrees fully (one category only), or nothing was counted.

    Raises:
        ValueError: a table that is not square, has one category only or a negative count, weights
            that do not fit, or an impossible level.
    """
    size = len(table)
    if size < 2 or any(len(row) != size for row in table):
        raise ValueError("the table needs the same categories, two at least, both ways")
    if any(count < 0 for row in table for count in row):
        raise ValueError("a count is not negative")
    z = two_sided(level)
    bad = disagreement(size, weights)
    n = sum(map(sum, table))
    if not n:
        return None
    share = [[count / n for count in row] for row in table]
    rows = [sum(row) for row in share]
    columns = [sum(row[j] for row in share) for j in range(size)]
    cells = [(i, j) for i in range(size) for j in range(size)]
    observed = 1 - sum(bad[i][j] * share[i][j] for i, j in cells)
    lost = sum(bad[i][j] * rows[i] * columns[j] for i, j in cells)
    if not lost:
        return None
    expected = 1 - lost
    value = (observed - expected) / lost
    # Mean agreement of each row and of each column with the other margin.
    of_row = [1 - sum(bad[i][j] * columns[j] for j in range(size)) for i in range(size)]
    of_column = [1 - sum(bad[i][j] * rows[i] for i in range(size)) for j in range(size)]
    spread = sum(
        share[i][j] * (1 - bad[i][j] - (of_row[i] + of_column[j]) * (1 - value)) ** 2
        for i, j in cells
    )
    variance = (spread - (value - expected * (1 - value)) ** 2) / (n * lost * lost)
    # Full agreement has no variance; what rounding leaves of it would grow under the root.
    se = math.sqrt(variance) if variance > _ROUNDING else 0.0
    low, high = max(value - z * se, -1.0), min(value + z * se, 1.0)
    return Kappa(value, se, low, high, observed, expected, n)


def table_of(counts: Mapping[tuple[int, int], float], size: int) -> list[list[float]]:
    """Counts keyed by (level of the profile, level called) as a square table.

    Raises:
        ValueError: a level outside 0 to `size` - 1.
    """
    table = [[0.0] * size for _ in range(size)]
    for (typical, called), times in counts.items():
        if not (0 <= typical < size and 0 <= called < size):
            raise ValueError(f"there is no level {max(typical, called)} of {size}")
        table[typical][called] += times
    return table
