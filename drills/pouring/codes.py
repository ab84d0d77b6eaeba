"""Three-digit blind codes without tell-tales. Pure.

Three-digit random codes are sensory practice (ISO 6658; Lawless and Heymann, Sensory Evaluation of
Food). What makes a code a tell-tale is our own list.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Iterable, Sequence
from itertools import permutations

from drills.errors import PouringError

_RUNS = ("0123456789", "9876543210")


def _plain(code: str) -> bool:
    """Three different digits that are no run."""
    return len(set(code)) == 3 and not any(code in run for run in _RUNS)


CODES = tuple(code for code in map(str, range(100, 1000)) if _plain(code))
"""Every code that may be drawn: 100 to 999 without repeated digits and runs (123, 987)."""

# Draws until no order shows in the codes; a draw of four wines fails once in twelve.
_TRIES = 1000


def draw_codes(
    number: int,
    *,
    seed: int,
    used: Collection[str] = (),
    orders: Iterable[Sequence[int]] = (),
) -> tuple[str, ...]:
    """A code for each of so many pours, in the pours' order.

    None of the `used` ones, and no two of the same digits, since a hurried hand swaps digits.
    `orders` are the serving orders as places of the pours (0 the first): from three pours on the
    codes rise or fall neither along the pours nor along any serving order. Where the serving orders
    leave no such codes (three wines in all six orders), only the pours' own order is kept from
    showing.

    Raises:
        PouringError: fewer codes are left than pours.
    """
    taken = set(used)
    free = [code for code in CODES if code not in taken]
    by_digits: dict[frozenset[str], list[str]] = {}
    for code in free:
        by_digits.setdefault(frozenset(code), []).append(code)
    if len(by_digits) < number:
        raise PouringError(
            f"{number} codes are needed and only {len(by_digits)} different ones are unused: "
            f"{number - len(by_digits)} short; let codes of long ago be used again"
        )
    rng = random.Random(f"codes {seed}")
    plain = range(number)
    served = [tuple(order) for order in orders]
    if not _some_order_free(number, served):
        served = []
    for _ in range(_TRIES):
        sets = rng.sample(sorted(by_digits, key=sorted), number)
        codes = tuple(rng.choice(by_digits[digits]) for digits in sets)
        if number < 3 or not any(_sorted_along(codes, order) for order in (plain, *served)):
            return codes
    raise PouringError(
        f"no {number} of the {len(free)} unused codes keep the serving orders from showing; "
        "let codes of long ago be used again"
    )


def _sorted_along(codes: Sequence[str], order: Sequence[int]) -> bool:
    """Whether the codes rise or fall from one place of the order to the next."""
    along = [codes[place] for place in order]
    return along in (sorted(along), sorted(along, reverse=True))


def _some_order_free(number: int, orders: Sequence[tuple[int, ...]]) -> bool:
    """Whether some ranking of the codes is neither along the pours nor along an order."""
    if number > 4:
        return True
    shown = {tuple(range(number)), *orders}
    return any(
        order not in shown and order[::-1] not in shown for order in permutations(range(number))
    )
