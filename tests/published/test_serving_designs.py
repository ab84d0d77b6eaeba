"""Serving orders and incomplete blocks against published ones.

Squares: E. J. Williams, Australian Journal of Scientific Research A 2 (1949) 149-168, whose pages
were not at hand, nor the tables of MacFie, Bratchell, Greenhoff and Vallis, Journal of Sensory
Studies 4 (1989) 129-148. Compared are the squares printed in the reference manual of the R package
`crossdes` (Sailer), which gives Williams as its source: 3 and 10 wines, read there; 4 wines, read
in a tutorial that prints its output. The squares of 6 and 7 wines were read in a lecture note,
“Counterbalancing for Immediate Sequential Effects”. For 5 wines no printed square was read: its
first five rows were worked out by hand from the steps in the published source of `crossdes` (0, 1,
then on by +3, -2, +1; each row adds 1 to the one above), and all ten are held to Williams's two
properties.

Blocks: parameters from memory of the Handbook of Combinatorial Designs (Colbourn and Dinitz), table
of designs with r <= 41, and of Cochran and Cox, Experimental Designs (1957), chapter 11. That no
design (15, 21, 7, 5, 2) exists though the identities allow it was read in the manual of SAS/OR, CLP
procedure (example of block designs), which cites Prestwich 2001.
"""

from __future__ import annotations

from collections import Counter
from itertools import combinations, pairwise

import pytest

from drills.pouring.blocks import incomplete_blocks, sizes
from drills.pouring.designs import williams

PRINTED = {
    3: "123 231 312 321 132 213",
    4: "1243 2314 3421 4132",
    5: "12534 23145 34251 45312 51423",
    6: "126354 231465 342516 453621 564132 615243",
    7: "1273645 2314756 3425167 4536271 5647312 6751423 7162534",
}
TEN = (1, 2, 10, 3, 9, 4, 8, 5, 7, 6)


@pytest.mark.parametrize("wines", PRINTED)
def test_the_squares_are_those_printed(wines: int) -> None:
    rows = ["".join(str(wine + 1) for wine in row) for row in williams(wines)]
    printed = PRINTED[wines].split()
    assert rows[: len(printed)] == printed


def test_the_second_square_of_an_odd_number_is_the_first_read_backwards() -> None:
    rows = williams(7)
    assert list(rows[7:]) == [row[::-1] for row in rows[:7]]


def test_the_square_of_ten() -> None:
    rows = williams(10)
    assert tuple(wine + 1 for wine in rows[0]) == TEN
    # The printed rows each add 1 to the one above.
    for above, below in pairwise(rows):
        assert below == tuple((wine + 1) % 10 for wine in above)


def test_five_wines_take_ten_orders_with_each_neighbour_twice() -> None:
    rows = williams(5)
    assert len(rows) == 10
    neighbours = Counter(step for row in rows for step in pairwise(row))
    assert len(neighbours) == 20
    assert set(neighbours.values()) == {2}
    for column in zip(*rows, strict=True):
        assert Counter(column) == dict.fromkeys(range(5), 2)


# v wines in b blocks of k, each r times, every two together lambda times.
DESIGNS = [
    (5, 10, 6, 3, 3),
    (6, 10, 5, 3, 2),
    (7, 7, 3, 3, 1),
    (7, 7, 4, 4, 2),
    (8, 14, 7, 4, 3),
    (9, 12, 4, 3, 1),
    (9, 18, 8, 4, 3),
    (10, 15, 6, 4, 2),
    (10, 18, 9, 5, 4),
    (10, 30, 9, 3, 2),
    (11, 11, 5, 5, 2),
    (12, 22, 11, 6, 5),
    (13, 13, 4, 4, 1),
    (13, 26, 6, 3, 1),
    (15, 15, 7, 7, 3),
    (15, 35, 7, 3, 1),
    (16, 20, 5, 4, 1),
]


@pytest.mark.parametrize(("v", "b", "r", "k", "together"), DESIGNS)
def test_the_smallest_designs_have_the_printed_parameters(
    v: int, b: int, r: int, k: int, together: int
) -> None:
    found = incomplete_blocks(v, k)
    assert len(found.blocks) == b
    poured = Counter(wine for block in found.blocks for wine in block)
    met = Counter(pair for block in found.blocks for pair in combinations(sorted(block), 2))
    assert poured == dict.fromkeys(range(v), r)
    assert met == dict.fromkeys(combinations(range(v), 2), together)


def test_identities_do_not_make_a_design() -> None:
    assert next(sizes(15, 5)) == 21
    assert not incomplete_blocks(15, 5, 21).balanced
