"""What to show in the next minutes, and in which order. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

# Seconds for one card until the taster's own pace is known (our assumption).
USUAL_SECONDS = 12.0
# Of every so many cards that are not confusions one is unseen, however much is due: a taster who
# only repeats never meets the rest of the table.
UNSEEN_EVERY = 4
# Contrasts of one pair keep at least this many others between them where the queue allows.
APART = 3


class Why(StrEnum):
    """Why a card is shown now."""

    CONFUSED = "mixed up in a tasting"
    DUE = "due"
    UNSEEN = "not seen before"
    CHECK = "slipped a moment ago"
    SURE_SLIP = "wrong last time, and you were sure"
    ASKED = "this pair was asked for"


@dataclass(frozen=True, slots=True)
class Waiting:
    """A contrast that could be shown: its id, its pair, why, and the seconds it should take."""

    contrast_id: int
    pair: tuple[str, str]
    why: Why
    seconds: float = USUAL_SECONDS


def plan(
    confused: Sequence[Waiting],
    due: Sequence[Waiting],
    unseen: Sequence[Waiting],
    *,
    seconds: float,
) -> list[Waiting]:
    """Fill `seconds` by what each card should take: confusions first, then due mixed with unseen.

    Each contrast comes once. Within each part the given order is kept except that pairs are
    interleaved. At least one card is planned while any waits.
    """
    first = _fresh(confused, set())
    taken = {one.contrast_id for one in first}
    planned = that_fit(first + _mixed(_fresh(due, taken), _fresh(unseen, taken)), seconds)
    first = interleave(planned[: len(first)])
    return first + interleave(planned[len(first) :], after=first)


def that_fit(waiting: Sequence[Waiting], seconds: float) -> list[Waiting]:
    """The cards from the first on that fit into a time, at least one; the last may end after it.

    A card that would be half over when the time is up is still begun, so that neither too many nor
    too few are planned on average.
    """
    gone = 0.0
    for number, one in enumerate(waiting):
        # Nobody is taken to answer faster than one card a second.
        takes = max(one.seconds, 1.0)
        if number and gone + takes / 2 > seconds:
            return list(waiting[:number])
        gone += takes
    return list(waiting)


def _fresh(waiting: Iterable[Waiting], taken: set[int]) -> list[Waiting]:
    seen = set(taken)
    fresh = []
    for one in waiting:
        if one.contrast_id not in seen:
            seen.add(one.contrast_id)
            fresh.append(one)
    return fresh


def _mixed(due: Sequence[Waiting], unseen: Sequence[Waiting]) -> list[Waiting]:
    mixed: list[Waiting] = []
    old, new = iter(due), iter(_fresh(unseen, {one.contrast_id for one in due}))
    while True:
        part = [one for _, one in zip(range(UNSEEN_EVERY - 1), old, strict=False)]
        part += [one for _, one in zip(range(1 if part else UNSEEN_EVERY), new, strict=False)]
        if not part:
            return mixed
        mixed += part


def interleave(waiting: Sequence[Waiting], after: Sequence[Waiting] = ()) -> list[Waiting]:
    """The same cards, each taken as early as its place allows while its pair was not just shown.

    A pair is kept APART cards from itself where others are left to put between.
    """
    left = list(waiting)
    ordered: list[Waiting] = []
    recent = [one.pair for one in after[-APART:]]
    while left:
        near = recent[-APART:]
        place = next((i for i, one in enumerate(left) if one.pair not in near), None)
        if place is None:
            # All that is left was shown lately: take the pair that was shown longest ago.
            place = min(range(len(left)), key=lambda i: (_last(near, left[i].pair), i))
        one = left.pop(place)
        ordered.append(one)
        recent.append(one.pair)
    return ordered


def _last(pairs: Sequence[tuple[str, str]], pair: tuple[str, str]) -> int:
    return max(index for index, other in enumerate(pairs) if other == pair)
