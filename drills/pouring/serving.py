"""An order for every taster: sittings, groups, and rows of a design. Pure."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise
from math import ceil

from drills.errors import UsageError
from drills.pouring.blocks import Blocks, incomplete_blocks
from drills.pouring.designs import squares
from drills.pouring.sittings import sittings_of

# Pours in one sitting: six to eight a flight is common practice, no source. The rules of OIV wine
# competitions allow juries about 15 dry wines a session; that is a ceiling, no measure of fatigue.
PALATE = 8
# Common practice, no source: sparkling first, white before rosé before red, sweet and fortified
# last. The words are the styles of the profile table.
SERVED = ("sparkling", "white", "rose", "red", "sweet", "fortified")
# In a mixed flight too: sugar and spirit dull the palate for what is dry. Common practice, no
# source.
LAST = ("sweet", "fortified")
# Ways of giving the wines their places in the design that are compared with what was had before.
_DRAWS = 24


@dataclass(frozen=True, slots=True)
class Glass:
    """One pour to be served: a key of its own, its wine, and the wine's style in the table."""

    key: str
    wine: str
    style: str


@dataclass(frozen=True, slots=True)
class Served:
    """What one taster had at earlier flights.

    `positions` counts (wine, position in its sitting, 0 the first), `carried` counts (wine before,
    wine after) in one sitting.
    """

    positions: Mapping[tuple[str, int], int] = field(default_factory=dict)
    carried: Mapping[tuple[str, str], int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class TasterOrder:
    """One taster's sittings, each the keys of its pours in the order they are served."""

    taster: str
    sittings: tuple[tuple[str, ...], ...]

    @property
    def keys(self) -> tuple[str, ...]:
        """All pours, one sitting after the other."""
        return tuple(key for sitting in self.sittings for key in sitting)


@dataclass(frozen=True, slots=True)
class Serving:
    """The orders of all tasters, and how far they are from balance at this flight.

    `position_gap` is the largest difference between how often two wines of one group of one sitting
    stand in the same position; `carry_gap` between how often two of them follow each other, and two
    others, or the same two the other way round. Both are 0 where the tasters fill whole designs;
    with fewer the first is at most 1. `blocks` where every taster has only some of the wines.
    """

    orders: tuple[TasterOrder, ...]
    position_gap: int
    carry_gap: int
    blocks: Blocks | None = None


def serve(
    glasses: Sequence[Glass],
    tasters: Sequence[str],
    *,
    white_first: bool = False,
    earlier: Mapping[str, Served] | None = None,
    together: Iterable[tuple[str, str]] = (),
    palate: int = PALATE,
    seed: int,
) -> Serving:
    """Sittings and an order in each for every taster.

    More pours than `palate` are split into sittings of nearly the same size, the same for all
    tasters; `together` are pairs of wines that stay in one sitting where they can. `white_first`
    serves by style (SERVED), each group in an order of a design of its size; otherwise one design
    holds all that is dry, and sweet and fortified wines come after it. The rows of a design go
    round among the tasters; `earlier`, by name, evens out what a taster had before.

    Raises:
        UsageError: no glass, no taster, a name or key twice, an unknown style, or no palate.
    """
    _check(glasses, tasters, palate)
    rng = random.Random(f"serving {seed}")
    pours = {glass.key: glass for glass in sorted(glasses, key=lambda glass: glass.key)}
    ranks = {
        key: SERVED.index(pour.style) if white_first or pour.style in LAST else 0
        for key, pour in pours.items()
    }
    wines = {key: pour.wine for key, pour in pours.items()}
    so_far = {taster: (earlier or {}).get(taster, Served()) for taster in tasters}
    served: dict[str, list[tuple[str, ...]]] = {taster: [] for taster in tasters}
    groups = []
    for sitting in sittings_of(wines, ranks, palate, together, rng):
        orders: dict[str, tuple[str, ...]] = dict.fromkeys(tasters, ())
        for rank in sorted({ranks[key] for key in sitting}):
            group = [key for key in sitting if ranks[key] == rank]
            rows = _rows(group, wines, orders, so_far, rng)
            groups.append((group, list(rows.values())))
            for taster, row in rows.items():
                orders[taster] += row
        for taster, order in orders.items():
            served[taster].append(order)
    return Serving(
        tuple(TasterOrder(taster, tuple(served[taster])) for taster in tasters),
        max(_position_gap(*group) for group in groups),
        max(_carry_gap(*group) for group in groups),
    )


def share(
    glasses: Sequence[Glass], tasters: Sequence[str], *, palate: int = PALATE, seed: int
) -> Serving:
    """One sitting a taster where there are more wines than a palate bears: each has some of them.

    The tasters' wines are the blocks of a balanced incomplete block design where the number of
    tasters allows it, else nearly so (`Serving.blocks` says how nearly). Within the blocks every
    wine stands in each position as often as can be; who follows whom is left to chance, and
    `carry_gap` reports it.

    Raises:
        UsageError: as `serve`; or no more wines than the palate, or too few tasters to taste all.
    """
    _check(glasses, tasters, palate)
    if len(glasses) <= palate:
        raise UsageError(
            f"{len(glasses)} wines are not too many for one: every taster has them all"
        )
    if len(tasters) * palate < len(glasses):
        need = -(-len(glasses) // palate)
        raise UsageError(
            f"{len(glasses)} wines at {palate} a taster need {need} tasters, not {len(tasters)}"
        )
    rng = random.Random(f"sharing {seed}")
    keys = sorted(glass.key for glass in glasses)
    rng.shuffle(keys)
    found = incomplete_blocks(len(keys), palate, len(tasters), seed=seed)
    blocks = [[keys[place] for place in block] for block in found.blocks]
    rng.shuffle(blocks)
    rows = _evenly_placed(blocks, rng)
    return Serving(
        tuple(
            TasterOrder(taster, (tuple(row),)) for taster, row in zip(tasters, rows, strict=True)
        ),
        _position_gap(keys, rows),
        _carry_gap(keys, rows),
        found,
    )


def served_so_far(flights: Iterable[Sequence[Sequence[str]]]) -> Served:
    """Counts of one taster's earlier flights, each as sittings of wines in the order served."""
    sittings = [sitting for flight in flights for sitting in flight]
    return Served(
        Counter((wine, place) for sitting in sittings for place, wine in enumerate(sitting)),
        Counter(step for sitting in sittings for step in pairwise(sitting)),
    )


def _check(glasses: Sequence[Glass], tasters: Sequence[str], palate: int) -> None:
    if not glasses:
        raise UsageError("there is no wine to serve")
    if not tasters:
        raise UsageError("there is no taster to serve")
    if palate < 1:
        raise UsageError(f"a sitting has at least one pour, not {palate}")
    for what, names in (("glass", [glass.key for glass in glasses]), ("taster", tasters)):
        twice = [name for name, times in Counter(names).items() if times > 1]
        if twice:
            raise UsageError(f"the {what} {twice[0]} is there twice")
    for glass in glasses:
        if glass.style not in SERVED:
            raise UsageError(f"“{glass.style}” is none of {', '.join(SERVED)}")


def _rows(
    group: list[str],
    wines: Mapping[str, str],
    orders: Mapping[str, tuple[str, ...]],
    so_far: Mapping[str, Served],
    rng: random.Random,
) -> dict[str, tuple[str, ...]]:
    """For every taster the group in the order of a row, after what the sitting has already.

    The tasters take the squares in turn, each row of a square once, so that positions stay balanced
    whoever takes which row; who takes which is decided by what each had before.
    """
    tasters = list(orders)
    if len(group) == 1:
        return dict.fromkeys(tasters, (group[0],))
    best: tuple[float, dict[str, tuple[str, ...]]] | None = None
    for _ in range(_DRAWS):
        keys = rng.sample(group, len(group))
        designs = list(squares(len(keys)))
        rng.shuffle(designs)
        cost = 0.0
        rows: dict[str, tuple[str, ...]] = {}
        for start in range(0, len(tasters), len(keys)):
            design = designs[start // len(keys) % len(designs)]
            named = [tuple(keys[place] for place in row) for row in design]
            some = tasters[start : start + len(keys)]
            paid, taken = _allotted(some, named, wines, orders, so_far)
            cost += paid
            rows |= taken
        if best is None or cost < best[0]:
            best = cost, rows
    assert best is not None
    return best[1]


def _allotted(
    tasters: Sequence[str],
    rows: Sequence[tuple[str, ...]],
    wines: Mapping[str, str],
    orders: Mapping[str, tuple[str, ...]],
    so_far: Mapping[str, Served],
) -> tuple[float, dict[str, tuple[str, ...]]]:
    """Each taster's row such that least is repeated of what all had before, and how much is."""
    from scipy.optimize import linear_sum_assignment

    costs = [
        [_repeated(row, wines, orders[taster], so_far[taster]) for row in rows]
        for taster in tasters
    ]
    places, chosen = linear_sum_assignment(costs)
    return (
        float(sum(costs[place][row] for place, row in zip(places, chosen, strict=True))),
        {tasters[place]: rows[row] for place, row in zip(places, chosen, strict=True)},
    )


def _repeated(
    row: Sequence[str], wines: Mapping[str, str], before: Sequence[str], so_far: Served
) -> int:
    """How often this taster had these wines in these positions, and after these wines."""
    had = sum(
        so_far.positions.get((wines[key], position), 0)
        for position, key in enumerate(row, start=len(before))
    )
    steps = pairwise((*before[-1:], *row))
    return had + sum(so_far.carried.get((wines[one], wines[two]), 0) for one, two in steps)


def _evenly_placed(blocks: Sequence[Sequence[str]], rng: random.Random) -> list[tuple[str, ...]]:
    """Every block in an order such that every wine takes each position nearly equally often.

    One position after the other is given to a wine of every block, as evenly as can be; where all
    wines are poured equally often, and each block's size divides that, this is exact (a Youden
    square; by Koenig's theorem what is left stays as regular as it was).
    """
    from scipy.optimize import linear_sum_assignment

    left = [rng.sample(block, len(block)) for block in blocks]
    rows: list[tuple[str, ...]] = [() for _ in blocks]
    keys = sorted({key for block in blocks for key in block})
    for position in range(len(blocks[0])):
        poured = Counter(key for block in left for key in block)
        # A wine may take up to its fair share, rounded up; each further time costs what it adds to
        # the sum of squared differences from the shares.
        share = {key: poured[key] / (len(blocks[0]) - position) for key in keys}
        offers = [(key, nth) for key in keys for nth in range(ceil(share[key]))]
        never = float(len(blocks)) ** 3
        costs = [
            [2 * (nth - share[key]) + 1 if key in block else never for key, nth in offers]
            for block in left
        ]
        for nth, offer in zip(*linear_sum_assignment(costs), strict=True):
            key = offers[offer][0]
            rows[nth] += (key,)
            left[nth] = [other for other in left[nth] if other != key]
    return rows


def _position_gap(group: Sequence[str], rows: Sequence[Sequence[str]]) -> int:
    had = Counter((key, place) for row in rows for place, key in enumerate(row))
    counts = [[had[key, place] for key in group] for place in range(max(map(len, rows)))]
    return max(max(count) - min(count) for count in counts)


def _carry_gap(group: Sequence[str], rows: Sequence[Sequence[str]]) -> int:
    had = Counter(step for row in rows for step in pairwise(row))
    steps = [step for one, two in combinations(group, 2) for step in ((one, two), (two, one))]
    counts = [had[step] for step in steps] or [0]
    return max(counts) - min(counts)
