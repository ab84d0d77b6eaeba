"""From worth to an order: what fades first, a share of unseen, pairs interleaved."""

from __future__ import annotations

from typing import Any

import numpy as np

from drills.planning.value import Worth

# However much fades, some cards are unseen: who only repeats never meets the rest. One in so many
# where what fades fits into a drill, fewer the longer the backlog.
UNSEEN_EVERY, UNSEEN_LEAST = 10, 40
# Cards of a drill of ten minutes (our assumption, until a caller says otherwise).
USUAL_ROOM = 50


def places(value: Worth, seen: Any, *, last_days: bool, room: float = USUAL_ROOM) -> Any:
    """A number for each contrast (the last axis), smaller for earlier; inf for not today.

    What fades comes by worth, with a share of places kept for the worthiest unseen contrasts: one
    in UNSEEN_EVERY, down to one in UNSEEN_LEAST where more fades than the `room` of a drill. When
    nothing fades any more, all unseen follow, then whatever else was learnt. In the last days
    before an exam worth alone decides.
    """
    there = np.isfinite(value.worth)
    by_worth = np.where(there, -value.worth, np.inf)
    if last_days:
        return by_worth
    fading = value.fading & there
    nth_fading = _nth(np.where(fading, by_worth, np.inf))
    nth_unseen = _nth(np.where(seen | ~there, np.inf, by_worth))
    nth_rest = _nth(np.where(seen & there & ~fading, by_worth, np.inf))
    number = fading.sum(axis=-1, keepdims=True)
    every = np.clip(UNSEEN_EVERY * number // max(room, 1), UNSEEN_EVERY, UNSEEN_LEAST)
    much = 10.0 * by_worth.shape[-1]
    held = nth_fading + nth_fading // (every - 1)
    # An unseen contrast keeps its place among the fading; beyond the last of these all follow.
    unseen = nth_unseen * every + (every - 1)
    follows = number + nth_unseen
    found = np.where(fading, held, np.where(seen, much + nth_rest, np.minimum(unseen, follows)))
    return np.where(there, found, np.inf)


def _nth(key: Any) -> Any:
    """The rank of each along the last axis, 0 for the smallest; equal ones in their order."""
    order = np.argsort(key, axis=-1, kind="stable")
    ranks = np.empty_like(order)
    np.put_along_axis(ranks, order, np.broadcast_to(np.arange(key.shape[-1]), key.shape), axis=-1)
    return ranks
