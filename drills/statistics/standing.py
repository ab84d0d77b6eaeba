"""Which pairs are resolved in the glass, from dated calls alone.

A pair comes on the list when one of its wines is called the other. It is resolved while, of the
last RECENT pours that were one of the two and called one of the two,

- the right calls are more than luck at ALPHA, by the paired comparison of ISO 5495 with allowance
  for the habit of calling one name (`difference.p_value_any_habit`), and
- the last CLEAN calls were all right.

The rule looks at nothing but the calls as they stand, so a new confusion brings the pair back, an
import of old tastings changes what it should, and the order of imports does not matter. At any one
moment a pair that a taster cannot tell apart stands as resolved with a probability of at most
ALPHA. Looked at after every pour, the chance that it has stood so at some time is larger: of
simulated tasters who guess, 19 in 100 within 60 pours (and 1 in 100 at a given moment); the next
confusion takes it back.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import NamedTuple, Protocol

from drills.statistics.difference import ALPHA, p_value, p_value_any_habit
from drills.statistics.dprime import DPrime, yes_no

# How many of a pair's latest pours count, and how many of the latest must be right (our
# assumptions): older pours say little of today's taster, and 15 of 20 right suffice at 5%.
RECENT = 20
CLEAN = 3


class RevealedCall(Protocol):
    """A revealed pour with its final call: wine keys, and the day (None: not known)."""

    @property
    def was(self) -> str: ...
    @property
    def called(self) -> str | None: ...
    @property
    def tasted_on(self) -> date | None: ...


class State(StrEnum):
    """Where a pair that was confused stands."""

    CONFUSED = "confused"
    RESOLVED = "resolved"
    CONFUSED_AGAIN = "confused again"  # it had been resolved before


@dataclass(frozen=True, slots=True)
class Standing:
    """A pair that was confused at least once; `wine_a` sorts before `wine_b`.

    `right` of `n` are the recent pours of the two that were called one of the two, `right_a` of
    `n_a` those of the first wine; `p_value` says how probable that many are by luck, with the habit
    that makes luck most likely. `clean` counts
    the right calls since the last confusion, `times` all confusions either way, `resolved_before`
    how often a confusion ended a time of being resolved.
    """

    wine_a: str
    wine_b: str
    state: State
    right: int
    n: int
    right_a: int
    n_a: int
    p_value: float
    clean: int
    times: int
    resolved_before: int
    last_confused: date | None

    @property
    def d_prime(self) -> DPrime | None:
        """How far apart the two stand in the glass; None until both were poured of late.

        Every pour is a question “is it the first wine?”: d-prime of yes and no, from the recent
        pours, corrected so that it stays finite.
        """
        n_b = self.n - self.n_a
        if not (self.n_a and n_b):
            return None
        wrong_b = n_b - (self.right - self.right_a)
        return yes_no(self.right_a, self.n_a, wrong_b, n_b, corrected=True)


def standings(
    calls: Iterable[RevealedCall],
    *,
    alpha: float = ALPHA,
    recent: int = RECENT,
    clean: int = CLEAN,
) -> dict[tuple[str, str], Standing]:
    """Where every pair stands that was ever confused, keyed (wine_a, wine_b).

    Calls are put in the order of their dates; undated ones count as older than all others, and
    calls of one day keep the order they come in. Pours without a call, or called a third wine, are
    no comparison of the two and are left out.

    Raises:
        ValueError: `recent` or `clean` is below 1, or `clean` above `recent`.
    """
    if not 1 <= clean <= recent:
        raise ValueError("the last clean calls are at least 1, and among the recent ones")
    ordered = sorted(calls, key=lambda call: call.tasted_on or date.min)
    # Places in the order of calls: right ones of each wine, confusions of each pair either way.
    right: defaultdict[str, list[int]] = defaultdict(list)
    wrong: defaultdict[tuple[str, str], tuple[list[int], list[int]]] = defaultdict(lambda: ([], []))
    for place, call in enumerate(ordered):
        was, called = call.was, call.called
        if called == was:
            right[was].append(place)
        elif called is not None:
            pair = (was, called) if was < called else (called, was)
            wrong[pair][was != pair[0]].append(place)
    found = {}
    for (a, b), missed in wrong.items():
        history = _History(right.get(a, ()), right.get(b, ()), *missed)
        found[a, b] = _standing(a, b, history, ordered, alpha, recent, clean)
    return found


def unresolved(
    standing: Iterable[Standing],
) -> list[Standing]:
    """Those that are not resolved: the list of weak pairs as it stands."""
    return [one for one in standing if one.state is not State.RESOLVED]


class _Recent(NamedTuple):
    """Right calls and pours of either wine of a pair."""

    right_a: int
    of_a: int
    right_b: int
    of_b: int

    @property
    def right(self) -> int:
        return self.right_a + self.right_b


@dataclass(frozen=True, slots=True)
class _History:
    """Places of a pair's calls in the order of all calls: right of A, right of B, A taken for B,
    B taken for A."""

    right_a: Sequence[int]
    right_b: Sequence[int]
    missed_a: Sequence[int]
    missed_b: Sequence[int]

    def recent(self, before: int, many: int) -> _Recent:
        """The latest `many` calls before a place."""
        rows = (self.right_a, self.missed_a, self.right_b, self.missed_b)
        ends = [bisect_left(places, before) for places in rows]
        latest: list[int] = []
        for places, end in zip(rows, ends, strict=True):
            latest += places[max(end - many, 0) : end]
        latest.sort()
        first = latest[-many] if len(latest) > many else -1
        kept = [end - bisect_left(row, first) for row, end in zip(rows, ends, strict=True)]
        return _Recent(kept[0], kept[0] + kept[1], kept[2], kept[2] + kept[3])

    def clean(self, after: int, before: int) -> int:
        """Right calls between two places that no confusion lies between."""
        return sum(
            bisect_left(places, before) - bisect_left(places, after)
            for places in (self.right_a, self.right_b)
        )


def _standing(
    a: str,
    b: str,
    history: _History,
    ordered: Sequence[RevealedCall],
    alpha: float,
    recent: int,
    clean: int,
) -> Standing:
    confusions = sorted([*history.missed_a, *history.missed_b])
    resolved_before = 0
    for earlier, place in zip([-1, *confusions], confusions, strict=False):
        # Before its first confusion a pair is on no list that it could leave.
        if (
            earlier >= 0
            and history.clean(earlier, place) >= clean
            and _beyond_luck(history, place, alpha, recent)
        ):
            resolved_before += 1
    last = confusions[-1]
    since = history.clean(last, len(ordered))
    late = history.recent(len(ordered), recent)
    if since >= clean and _beyond_luck(history, len(ordered), alpha, recent):
        state = State.RESOLVED
    else:
        state = State.CONFUSED_AGAIN if resolved_before else State.CONFUSED
    return Standing(
        wine_a=a,
        wine_b=b,
        state=state,
        right=late.right,
        n=late.of_a + late.of_b,
        right_a=late.right_a,
        n_a=late.of_a,
        p_value=p_value_any_habit(late.right, late.of_a, late.of_b),
        clean=since,
        times=len(confusions),
        resolved_before=resolved_before,
        last_confused=ordered[last].tasted_on,
    )


def _beyond_luck(history: _History, before: int, alpha: float, recent: int) -> bool:
    late = history.recent(before, recent)
    # The plain test is quick and never the stricter one.
    if p_value(late.right, late.of_a + late.of_b) > alpha:
        return False
    return p_value_any_habit(late.right, late.of_a, late.of_b) <= alpha
