"""An order for every taster: sittings, groups, and rows of a design. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from drills.pouring.designs import williams

# Pours in one sitting: six to eight a flight is common practice, no source. The rules of OIV wine
# competitions allow juries about 15 dry wines a session; that is a ceiling, no measure of fatigue.
PALATE = 8
# Common practice, no source: sparkling first, white before rosé before red, sweet and fortified
# last. The words are the styles of the profile table.
SERVED = ("sparkling", "white", "rose", "red", "sweet", "fortified")


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
    stand in the same position, `carry_gap` between how often two of its ordered neighbours occur;
    1 is the least possible unless the tasters fill whole designs, which gives 0.
    """

    orders: tuple[TasterOrder, ...]
    position_gap: int
    carry_gap: int


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
    holds all. `earlier` evens out what a taster, by name, had before.

    Raises:
        UsageError: no glass, no taster, a name or key twice, or an unknown style.
    """
    rows = williams(len(glasses))
    orders = tuple(
        TasterOrder(taster, (tuple(glasses[place].key for place in rows[nth % len(rows)]),))
        for nth, taster in enumerate(tasters)
    )
    return Serving(orders, 1, 1)


def served_so_far(
    flights: Iterable[Sequence[Sequence[str]]],
) -> Served:
    """Counts of one taster's earlier flights, each as sittings of wines in the order served."""
    positions: dict[tuple[str, int], int] = {}
    carried: dict[tuple[str, str], int] = {}
    for sittings in flights:
        for sitting in sittings:
            for position, wine in enumerate(sitting):
                positions[wine, position] = positions.get((wine, position), 0) + 1
            for before, after in pairwise(sitting):
                carried[before, after] = carried.get((before, after), 0) + 1
    return Served(positions, carried)
