"""Serving orders and incomplete blocks keep the balance that they are for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import combinations, pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.pouring.blocks import Blocks, incomplete_blocks, sizes
from drills.pouring.designs import Row, squares, williams


def places(rows: Sequence[Row]) -> Counter[tuple[int, int]]:
    """How often a wine stands in a position."""
    return Counter((wine, place) for row in rows for place, wine in enumerate(row))


@given(wines=st.integers(1, 24))
def test_every_wine_stands_equally_often_in_every_position(wines: int) -> None:
    rows = williams(wines)
    counts = places(rows)
    assert set(counts) == {(wine, place) for wine in range(wines) for place in range(wines)}
    assert set(counts.values()) == {len(rows) // wines}


@given(wines=st.integers(2, 24))
def test_every_wine_follows_every_other_equally_often(wines: int) -> None:
    counts = Counter(step for row in williams(wines) for step in pairwise(row))
    assert set(counts) == set(permutations(range(wines), 2))
    assert set(counts.values()) == {1 if wines % 2 == 0 else 2}


@given(wines=st.integers(1, 24))
def test_every_square_alone_is_balanced_for_position(wines: int) -> None:
    for square in squares(wines):
        assert len(square) == wines
        assert set(places(square).values()) == {1}


def test_no_flight_has_less_than_one_wine() -> None:
    with pytest.raises(ValueError, match="at least one wine"):
        williams(0)


@settings(max_examples=40, deadline=None)
@given(data=st.data(), wines=st.integers(3, 12), seed=st.integers(0, 1000))
def test_blocks_hold_every_wine_nearly_equally_often(
    data: st.DataObject, wines: int, seed: int
) -> None:
    size = data.draw(st.integers(2, wines - 1))
    number = data.draw(st.integers(-(-wines // size), 12))
    found = incomplete_blocks(wines, size, number, seed=seed)
    assert len(found.blocks) == number
    assert all(
        len(set(block)) == size and set(block) <= set(range(wines)) for block in found.blocks
    )
    fewest, most = found.poured
    assert fewest == number * size // wines
    assert most == -(-number * size // wines)
    counts = [
        sum({one, two} <= set(block) for block in found.blocks)
        for one, two in combinations(range(wines), 2)
    ]
    assert found.meetings == (min(counts), max(counts))
    assert found.balanced == (fewest == most and min(counts) == max(counts))


@given(wines=st.integers(3, 24), data=st.data())
def test_sizes_are_those_that_the_identities_allow(wines: int, data: st.DataObject) -> None:
    size = data.draw(st.integers(2, wines - 1))
    least = next(sizes(wines, size))
    allowed = [
        blocks
        for blocks in range(wines, least + 1)
        if blocks * size % wines == 0 and blocks * size * (size - 1) % (wines * (wines - 1)) == 0
    ]
    assert allowed == [least]


def test_as_many_blocks_as_two_whole_designs_are_balanced() -> None:
    assert incomplete_blocks(7, 3, 14).balanced
    assert not incomplete_blocks(7, 3, 10).balanced


def test_the_search_is_nearer_to_balance_than_chance() -> None:
    # Nine wines in three blocks of six: every two wines can meet once or twice.
    assert incomplete_blocks(9, 6, 3, seed=4).meetings == (1, 2)


def test_the_same_seed_makes_the_same_blocks() -> None:
    assert incomplete_blocks(12, 8, 5, seed=7) == incomplete_blocks(12, 8, 5, seed=7)


@pytest.mark.parametrize(
    ("wines", "size", "number", "message"),
    [
        (6, 6, None, "from 2 to 5 of 6 wines, not 6"),
        (6, 1, None, "from 2 to 5 of 6 wines, not 1"),
        (9, 3, 2, "2 blocks of 3 do not hold 9 wines"),
    ],
)
def test_blocks_that_cannot_be_are_refused(
    wines: int, size: int, number: int | None, message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        incomplete_blocks(wines, size, number)


def test_a_gap_in_the_meetings_is_told() -> None:
    found = Blocks(4, 2, ((0, 1), (2, 3)))
    assert found.poured == (1, 1)
    assert found.meetings == (0, 1)
    assert not found.balanced
