"""Three-digit blind codes without tell-tales. Pure.

Three-digit random codes are sensory practice (ISO 6658; ISO 13299:2016; Lawless and Heymann,
Sensory Evaluation of Food). What makes a code a tell-tale is our own list.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Iterable, Sequence
from itertools import count

from drills.errors import PouringError

_RUNS = ("0123456789", "9876543210")


def _plain(code: str) -> bool:
    """Three different digits that are no run."""
    return len(set(code)) == 3 and not any(code in run for run in _RUNS)


CODES = tuple(code for code in map(str, range(100, 1000)) if _plain(code))
"""Every code that may be drawn: 100 to 999 without repeated digits and runs (123, 987)."""

# Draws until no serving order shows in the codes; of four wines one draw in twelve shows it.
_TRIES = 1000


def draw_codes(
    number: int,
    *,
    seed: int,
    used: Collection[str] = (),
    orders: Iterable[Sequence[int]] = (),
) -> tuple[str, ...]:
    """A code for each of so many pours, in the pours' order.

    None of the `used` ones, and no two of the same digits, since a hurried hand swaps digits. From
    three pours on the codes neither rise nor fall along the pours. The same holds along each of the
    `orders`: serving orders, whole or a sitting, as places of the pours (0 the first). It is given
    up for these where no such codes are found: three wines in all six orders leave none.

    Raises:
        PouringError: fewer codes are left than pours.
    """
    taken = set(used)
    by_digits: dict[str, list[str]] = {}
    for code in CODES:
        if code not in taken:
            by_digits.setdefault("".join(sorted(code)), []).append(code)
    if len(by_digits) < number:
        raise PouringError(
            f"{number} codes are needed and {len(by_digits)} of different digits are unused: "
            f"{number - len(by_digits)} short; let codes of long ago be used again"
        )
    rng = random.Random(f"codes {seed}")
    pours = range(number)
    served = list(orders)
    for tried in count():
        digits = rng.sample(sorted(by_digits), number)
        codes = tuple(rng.choice(by_digits[one]) for one in digits)
        if not any(_shows(order, codes) for order in (pours, *(served if tried < _TRIES else ()))):
            return codes
    raise AssertionError("counting never ends")


def _shows(order: Sequence[int], codes: Sequence[str]) -> bool:
    """Whether the codes rise or fall from one place of the order to the next; two always do."""
    along = [codes[place] for place in order]
    return len(along) > 2 and along in (sorted(along), sorted(along, reverse=True))
