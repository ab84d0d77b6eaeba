"""From worth to an order: what fades first, a share of unseen, pairs interleaved."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from drills.planning.value import Worth

# However much fades, some cards are unseen: who only repeats never meets the rest. One in so many
# where what fades fits into a drill, fewer the longer the backlog.
UNSEEN_EVERY, UNSEEN_LEAST = 10, 40
# Cards of a drill of ten minutes (our assumption, until a caller says otherwise).
USUAL_ROOM = 50


def places(value: Worth, seen: Any, *, last_days: Any, room: float = USUAL_ROOM) -> Any:
    """A number for each contrast (the last axis), smaller for earlier; inf for not today.

    What fades comes by worth, with a share of places kept for the worthiest unseen contrasts: one
    in UNSEEN_EVERY, down to one in UNSEEN_LEAST where more fades than the `room` of a drill. When
    nothing fades any more, all unseen follow, then whatever else was learnt. In the last days
    before an exam worth alone decides.
    """
    there = np.isfinite(value.worth)
    by_worth = np.where(there, -value.worth, np.inf)
    fading = value.fading & there
    nth_fading = _nth(np.where(fading, by_worth, np.inf))
    nth_unseen = _nth(np.where(seen | ~there, np.inf, by_worth))
    nth_rest = _nth(np.where(seen & there & ~fading, by_worth, np.inf))
    number = fading.sum(axis=-1, keepdims=True)
    every = unseen_every(number, room)
    much = 10.0 * by_worth.shape[-1]
    held, unseen = _held(nth_fading, every), _unseen(nth_unseen, every, number)
    found = np.where(fading, held, np.where(seen, much + nth_rest, unseen))
    return np.where(there, np.where(last_days, by_worth, found), np.inf)


def first_places(
    value: Worth,
    seen: Any,
    number: int,
    *,
    last_days: bool,
    room: float = USUAL_ROOM,
    since: int = 0,
    left_out: Iterable[int] = (),
) -> list[int]:
    """The first `number` contrasts of one taster in the order of `places`, without sorting all.

    `since` is how many were handed out since the last unseen one, so that a plan made anew between
    two cards keeps the share of unseen; those of `left_out` are passed over.
    """
    there = np.isfinite(value.worth)
    there[list(left_out)] = False
    if last_days:
        return [int(one) for one in _worthiest(value.worth, there, number)]
    fading = there & value.fading
    every = unseen_every(int(fading.sum()), room)
    held = _worthiest(value.worth, fading, number)
    fresh = _worthiest(value.worth, there & ~seen, number)
    rest = _worthiest(value.worth, there & seen & ~value.fading, number)
    merged = np.concatenate([held, fresh])
    nth = [
        _held(np.arange(len(held)), every, since),
        _unseen(np.arange(len(fresh)), every, int(fading.sum()), since),
    ]
    order = np.argsort(np.concatenate(nth), kind="stable")
    return [int(one) for one in (*merged[order], *rest)][:number]


def unseen_every(fading: Any, room: float) -> Any:
    """One card in so many is unseen, by how many contrasts fade and a drill has `room` for."""
    return np.clip(UNSEEN_EVERY * fading // max(room, 1), UNSEEN_EVERY, UNSEEN_LEAST)


def _held(nth: Any, every: Any, since: int = 0) -> Any:
    """The places of what fades: all but those kept for unseen contrasts."""
    before = every - 1 - np.minimum(since, every - 1)
    return nth + np.where(nth >= before, (nth - before) // (every - 1) + 1, 0)


def _unseen(nth: Any, every: Any, fading: Any, since: int = 0) -> Any:
    """The places of unseen contrasts: those kept among what fades, and all after the last of it."""
    kept = every - 1 - np.minimum(since, every - 1) + nth * every
    return np.minimum(kept, fading + nth)


def _worthiest(worth: Any, among: Any, number: int) -> Any:
    """The worthiest of some contrasts in their order, equal ones as they stand."""
    rows = np.flatnonzero(among)
    if len(rows) > number > 0:
        least = -np.partition(-worth[rows], number - 1)[number - 1]
        rows = rows[worth[rows] >= least]
    return rows[np.argsort(-worth[rows], kind="stable")][:number]


def _nth(key: Any) -> Any:
    """The rank of each along the last axis, 0 for the smallest; equal ones in their order."""
    order = np.argsort(key, axis=-1, kind="stable")
    ranks = np.empty_like(order)
    np.put_along_axis(ranks, order, np.broadcast_to(np.arange(key.shape[-1]), key.shape), axis=-1)
    return ranks
