"""Blind codes: three digits that tell nothing."""

from __future__ import annotations

from itertools import combinations, pairwise, permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.errors import PouringError
from drills.pouring.codes import CODES, draw_codes
from drills.pouring.designs import williams

SEEDS = st.integers(0, 10**9)


def rises_or_falls(codes: list[str]) -> bool:
    steps = {one < two for one, two in pairwise(codes)}
    return len(steps) == 1


@given(seed=SEEDS, number=st.integers(1, 24), used=st.sets(st.sampled_from(CODES), max_size=300))
def test_codes_are_three_digits_without_tell_tales(seed: int, number: int, used: set[str]) -> None:
    codes = draw_codes(number, seed=seed, used=used)
    assert len(codes) == number
    for code in codes:
        assert 100 <= int(code) <= 999
        assert code not in used
        digits = [int(digit) for digit in code]
        assert len(set(digits)) == 3
        assert {digits[1] - digits[0], digits[2] - digits[1]} not in ({1}, {-1})
    for one, two in combinations(codes, 2):
        assert sorted(one) != sorted(two)
    if number > 2:
        assert not rises_or_falls(list(codes))


@given(seed=SEEDS, number=st.integers(4, 9))
def test_codes_show_no_serving_order_of_a_whole_design(seed: int, number: int) -> None:
    rows = williams(number)
    codes = draw_codes(number, seed=seed, orders=rows)
    for row in rows:
        assert not rises_or_falls([codes[place] for place in row])


def test_the_same_seed_draws_the_same_codes_and_another_seed_others() -> None:
    assert draw_codes(6, seed=3) == draw_codes(6, seed=3)
    assert len({draw_codes(6, seed=seed) for seed in range(20)}) == 20


def test_where_all_orders_are_served_the_order_of_the_pours_still_does_not_show() -> None:
    for seed in range(10):
        codes = draw_codes(3, seed=seed, orders=list(permutations(range(3))))
        assert not rises_or_falls(list(codes))


def test_two_pours_in_a_sitting_always_rise_or_fall_and_are_served_all_the_same() -> None:
    assert len(set(draw_codes(4, seed=1, orders=[(0, 1), (2, 3)]))) == 4


def test_every_code_of_a_year_of_flights_can_differ() -> None:
    used: set[str] = set()
    for week in range(52):
        used.update(draw_codes(8, seed=week, used=used))
    assert len(used) == 52 * 8


def test_the_last_codes_are_drawn_and_then_what_is_short_is_said() -> None:
    used = set(CODES) - {"184", "590", "736"}
    assert set(draw_codes(3, seed=1, used=used)) == {"184", "590", "736"}
    with pytest.raises(PouringError, match=r"4 codes are needed and 3 .* are unused: 1 short"):
        draw_codes(4, seed=1, used=used)


def test_what_is_left_with_the_same_digits_counts_once() -> None:
    used = set(CODES) - {"184", "481", "148"}
    with pytest.raises(PouringError, match="2 codes are needed and 1 "):
        draw_codes(2, seed=1, used=used)
