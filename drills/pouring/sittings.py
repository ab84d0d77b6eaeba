"""A long flight split into sittings that keep weak pairs side by side. Pure."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping, Sequence

# Starts of the search for the best split.
_STARTS = 8


def sittings_of(
    wines: Mapping[str, str],
    ranks: Mapping[str, int],
    palate: int,
    together: Iterable[tuple[str, str]],
    rng: random.Random,
) -> list[list[str]]:
    """The keys of the pours by sitting: as few as the palate allows, of nearly the same size.

    `wines` is the wine of every key, `ranks` the place of its style in the order of serving (all
    equal where that does not matter), `together` the pairs of wines to keep in one sitting. Pairs
    come first, then that lower ranks are in earlier sittings; found by exchanging pours while that
    helps, from several draws.
    """
    keys = sorted(wines)
    number = -(-len(keys) // palate)
    if number == 1:
        return [keys]
    wanted = {frozenset(pair) for pair in together}
    bonds = [
        (one, two)
        for nth, one in enumerate(keys)
        for two in keys[:nth]
        if frozenset((wines[one], wines[two])) in wanted
    ]
    found = []
    for _ in range(_STARTS):
        order = sorted(keys, key=lambda key: (ranks[key], rng.random()))
        sitting = {key: nth * number // len(order) for nth, key in enumerate(order)}
        found.append(_exchanged(sitting, bonds, ranks))
    best = max(found, key=lambda sitting: _worth(sitting, bonds, ranks))
    return [[key for key in keys if best[key] == nth] for nth in range(number)]


def _exchanged(
    sitting: dict[str, int], bonds: Sequence[tuple[str, str]], ranks: Mapping[str, int]
) -> dict[str, int]:
    """The sittings after exchanging two pours again and again, each time where it helps."""
    worth = _worth(sitting, bonds, ranks)
    keys = list(sitting)
    improved = True
    while improved:
        improved = False
        for nth, one in enumerate(keys):
            for two in keys[:nth]:
                if sitting[one] == sitting[two]:
                    continue
                sitting[one], sitting[two] = sitting[two], sitting[one]
                after = _worth(sitting, bonds, ranks)
                if after > worth:
                    worth, improved = after, True
                else:
                    sitting[one], sitting[two] = sitting[two], sitting[one]
    return sitting


def _worth(
    sitting: Mapping[str, int], bonds: Sequence[tuple[str, str]], ranks: Mapping[str, int]
) -> tuple[int, int]:
    """How many pairs share a sitting, then how well later sittings have the later styles."""
    kept = sum(sitting[one] == sitting[two] for one, two in bonds)
    return kept, sum(place * ranks[key] for key, place in sitting.items())
