"""Incomplete blocks: more wines than a palate bears, shared out so that each meets each. Pure.

A balanced incomplete block design of v wines has b blocks of k, every wine in r of them, every two
wines together in lambda of them: b k = v r, lambda (v - 1) = r (k - 1) and b >= v (R. A. Fisher,
Annals of Eugenics 10, 1940, 52-75). These do not suffice: designs are looked for, not assumed.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from math import comb, gcd, lcm

from drills.pouring.designs import Row

# A larger design is not looked for: nobody pours it.
MOST_BLOCKS = 60
# Blocks to choose from, orbits of them, and branches of the search for one cyclic design. With
# these the search finds, in seconds, a design for all parameters that its tests name.
_MOST_SUBSETS, _MOST_ORBITS, _NODES = 13_000, 1_000, 300
# Starts of the search for nearly balanced blocks, for so many blocks times wines; at least three.
_STARTS = 2_000


@dataclass(frozen=True, slots=True)
class Blocks:
    """Blocks of `size` out of so many `wines`, each in rising order."""

    wines: int
    size: int
    blocks: tuple[Row, ...]

    @property
    def poured(self) -> tuple[int, int]:
        """In how many blocks a wine is: the fewest and the most."""
        counts = Counter(wine for block in self.blocks for wine in block)
        found = [counts[wine] for wine in range(self.wines)]
        return min(found), max(found)

    @property
    def meetings(self) -> tuple[int, int]:
        """In how many blocks two wines are together: the fewest and the most."""
        counts = Counter(pair for block in self.blocks for pair in combinations(block, 2))
        found = [counts[pair] for pair in combinations(range(self.wines), 2)]
        return min(found), max(found)

    @property
    def balanced(self) -> bool:
        """Every wine equally often, and every two wines equally often together."""
        return self.poured[0] == self.poured[1] and self.meetings[0] == self.meetings[1]


def sizes(wines: int, size: int) -> Iterator[int]:
    """The numbers of blocks that the identities allow for a balanced design, from the least on.

    All multiples of one number, from the first that is not below Fisher's bound.
    """
    # b k / v and b k (k - 1) / (v (v - 1)) must be whole.
    step = lcm(
        wines // gcd(wines, size),
        wines * (wines - 1) // gcd(wines * (wines - 1), size * (size - 1)),
    )
    number = step
    while True:
        if number >= wines:
            yield number
        number += step


def incomplete_blocks(wines: int, size: int, number: int | None = None, *, seed: int = 0) -> Blocks:
    """Blocks of `size` in which every two wines meet equally often, or nearly.

    Without a `number` the smallest balanced design that is found with at most MOST_BLOCKS blocks,
    else as many nearly balanced blocks as wines. With one, that many: balanced where such a design
    is found, else nearly so, by a search from the seed; `Blocks.poured` and `Blocks.meetings` tell
    how nearly.

    Raises:
        ValueError: blocks of fewer than two wines or not fewer than all, or too few blocks for
            every wine to be in one.
    """
    if not 2 <= size < wines:
        raise ValueError(f"a block holds from 2 to {wines - 1} of {wines} wines, not {size}")
    if number is not None and number * size < wines:
        raise ValueError(f"{number} blocks of {size} do not hold {wines} wines")
    for blocks in sizes(wines, size):
        if blocks > (MOST_BLOCKS if number is None else number):
            break
        if number is not None and number % blocks:
            continue
        found = _balanced(wines, size, blocks)
        if found is not None:
            return Blocks(wines, size, found * ((number or blocks) // blocks))
    return _nearly(wines, size, number or wines, random.Random(f"blocks {seed}"))


def _balanced(wines: int, size: int, number: int) -> tuple[Row, ...] | None:
    """A balanced design of so many blocks, if one with some cyclic symmetry is found.

    Kramer and Mesner, Discrete Mathematics 15 (1976) 263-296: where a group of permutations keeps
    the design, whole orbits of blocks are taken, and it is enough that every orbit of pairs is met
    equally often. Tried are up to three cycles of one length, with at most two wines that stay.
    """
    if size > wines // 2 and wines - size >= 2:
        # What is left out of the blocks of a balanced design is balanced too.
        other = _balanced(wines, wines - size, number)
        everything = set(range(wines))
        return other and tuple(sorted(tuple(sorted(everything - set(b))) for b in other))
    if number % comb(wines, size) == 0:
        return tuple(combinations(range(wines), size)) * (number // comb(wines, size))
    if comb(wines, size) > _MOST_SUBSETS:
        return None
    for length in range(wines, 1, -1):
        if wines % length <= 2 and wines // length <= 3:
            found = _with_cycles(wines, size, number, length)
            if found is not None:
                return found
    return None


def _with_cycles(wines: int, size: int, number: int, length: int) -> tuple[Row, ...] | None:
    """A balanced design kept by turning as many cycles of this length as there is room for."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    turned = [
        wine // length * length + (wine + 1) % length if wine < wines // length * length else wine
        for wine in range(wines)
    ]
    of_pairs = _orbits(combinations(range(wines), 2), turned)
    of_blocks = _orbits(combinations(range(wines), size), turned)
    if len(of_blocks) > _MOST_ORBITS:
        return None
    meetings = number * size * (size - 1) // (wines * (wines - 1))
    nth_orbit = {pair: nth for nth, orbit in enumerate(of_pairs) for pair in orbit}
    met = np.zeros((len(of_pairs) + 1, len(of_blocks)))
    for column, orbit in enumerate(of_blocks):
        for block in orbit:
            for pair in combinations(block, 2):
                met[nth_orbit[pair], column] += 1
        met[-1, column] = len(orbit)
    wanted = [*(meetings * len(orbit) for orbit in of_pairs), number]
    found = milp(
        np.zeros(len(of_blocks)),
        integrality=np.ones(len(of_blocks)),
        bounds=Bounds(0, meetings),
        constraints=LinearConstraint(met, wanted, wanted),
        options={"node_limit": _NODES},
    )
    if found.x is None:
        return None
    return tuple(
        sorted(
            block
            for orbit, times in zip(of_blocks, found.x, strict=True)
            for block in orbit * round(times)
        )
    )


def _orbits(subsets: Iterator[Row], turned: list[int]) -> list[list[Row]]:
    """The subsets, gathered with all that they become by turning again and again."""
    orbits = []
    seen: set[Row] = set()
    for subset in subsets:
        if subset in seen:
            continue
        orbit = []
        while subset not in seen:
            seen.add(subset)
            orbit.append(subset)
            subset = tuple(sorted(turned[wine] for wine in subset))
        orbits.append(orbit)
    return orbits


def _nearly(wines: int, size: int, number: int, rng: random.Random) -> Blocks:
    """The most even of several searches that exchange wines between blocks while it helps."""
    starts = max(_STARTS // (wines * number), 3)
    found = (_searched(wines, size, number, rng) for _ in range(starts))
    return min(found, key=lambda blocks: (_spread(blocks), blocks.blocks))


def _spread(blocks: Blocks) -> tuple[int, int, int]:
    fewest, most = blocks.meetings
    least, largest = blocks.poured
    counts = Counter(pair for block in blocks.blocks for pair in combinations(block, 2))
    return largest - least, most - fewest, sum(count * count for count in counts.values())


def _searched(wines: int, size: int, number: int, rng: random.Random) -> Blocks:
    """Blocks with every wine poured equally often, or once more, exchanged until none helps."""
    blocks = _dealt(wines, size, number, rng)
    met = Counter(pair for block in blocks for pair in combinations(sorted(block), 2))

    def count(one: int, other: int) -> int:
        return met[min(one, other), max(one, other)]

    def move(block: set[int], out: int, into: int) -> None:
        for wine in block - {out}:
            met[min(wine, out), max(wine, out)] -= 1
            met[min(wine, into), max(wine, into)] += 1
        block.discard(out)
        block.add(into)

    improved = True
    while improved:
        improved = False
        for one, other in combinations(blocks, 2):
            for out in sorted(one - other):
                for into in sorted(other - one):
                    # Exchanging them changes each pair count c by one: c^2 by 2c + 1 or 1 - 2c.
                    gain = sum(count(w, out) - count(w, into) - 1 for w in one - {out})
                    gain += sum(count(w, into) - count(w, out) - 1 for w in other - {into})
                    if gain > 0 and out in one and into in other:
                        move(one, out, into)
                        move(other, into, out)
                        improved = True
                        break
    return Blocks(wines, size, tuple(sorted(tuple(sorted(block)) for block in blocks)))


def _dealt(wines: int, size: int, number: int, rng: random.Random) -> list[set[int]]:
    """Blocks dealt at random, always of the wines that were poured least."""
    poured = [0] * wines
    blocks = []
    for _ in range(number):
        order = sorted(range(wines), key=lambda wine: (poured[wine], rng.random()))
        blocks.append(set(order[:size]))
        for wine in order[:size]:
            poured[wine] += 1
    return blocks
