"""The contrasts of many pairs at once, worked out with arrays: the choice of cards.contrasts.

`contrasts_of_pair` says by which rules; here the same rules run over thousands of pairs together,
which costs a seventh. It pays for the import of numpy (90 ms) from about a thousand pairs on, so
the shipped table does without. Weights are looked up, never computed anew, and added in the same
order, so that both ways give the same contrasts to the last bit; a test compares them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations, islice
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cards.arrays import NONE, Flags, Floats, Ints, ScaleCues, Sides, Weighed, WordCues
from cards.contrasts import (
    DESCRIPTORS,
    FOR_BOTH,
    GROUP,
    IDLE,
    MEASURED_LEAST,
    MOST_WEIGHT,
    PER_NEEDED,
    SCALES,
    SINGLES,
    STRONG_MEMBER,
    THRESHOLD,
    USES,
    Contrast,
    ids_of_pair,
)
from cards.cues import SIDE_A, SIDE_B, card_family
from cards.evidence import Picture
from cards.lexicon import UNMEASURED

# Pairs worked out together: enough to forget the cost of a call, few enough to stay in the cache.
_TOGETHER = 1024
_LEAST_SINGLE = max(THRESHOLD, MEASURED_LEAST)
_SLOTS = SCALES + DESCRIPTORS
_BEARINGS = {
    (size, shown): "".join("a" if shown >> place & 1 else "b" for place in range(size))
    for size in (1, 2, 3)
    for shown in range(2**size)
}


class _Sets:
    """The sets of two or of three slots, and for each its subsets with one member less."""

    def __init__(self, size: int) -> None:
        members = list(combinations(range(_SLOTS), size))
        self.members = np.array(members, dtype=np.int64)
        self.holds = np.zeros((_SLOTS, len(members)), dtype=bool)
        for place, slots in enumerate(members):
            self.holds[list(slots), place] = True
        smaller = {
            slots: place for place, slots in enumerate(combinations(range(_SLOTS), size - 1))
        }
        self.smaller = np.array(
            [[smaller[rest] for rest in combinations(slots, size - 1)] for slots in members],
            dtype=np.int64,
        )

    def folded(self, values: NDArray[Any], join: Callable[[Any, Any], Any]) -> NDArray[Any]:
        """The values of each set's members, a row a slot, joined in their order: a row a set."""
        joined = values[self.members[:, 0]]
        for place in range(1, self.members.shape[1]):
            joined = join(joined, values[self.members[:, place]])
        return joined


_SETS = (_Sets(2), _Sets(3))


class Chooser:
    """Chooses the contrasts of any pairs of the given wines, which are named by their places.

    Pictures are the average taster's, of one lexicon, sorted by wine.
    """

    def __init__(self, pictures: Sequence[Picture]) -> None:
        self._wines = [picture.wine for picture in pictures]
        if self._wines != sorted(set(self._wines)):
            raise ValueError("the pictures are not sorted by wine")
        scales = sorted({attribute for picture in pictures for attribute in picture.scales})
        words = sorted({key for picture in pictures for key in picture.noted})
        self._scales = [ScaleCues(attribute, pictures) for attribute in scales]
        # Sorted, so that of equal cues the first is the one that comes first by name.
        self._names = sorted([*scales, *words])
        self._words = WordCues(self._names, pictures)
        column = {name: place for place, name in enumerate(self._names)}
        self._scale_columns = np.array([column[name] for name in scales], dtype=np.int64)
        self._word_columns = np.array([column[name] for name in words], dtype=np.int64)
        families = [card_family(name, pictures[0].family_of) for name in self._names]
        known = {family: place for place, family in enumerate(sorted(set(families)))}
        self._family = np.array([known[family] for family in families], dtype=np.int64)
        self._measured = np.array([name not in UNMEASURED for name in self._names], dtype=bool)
        # Where names of sets are compared, a member that others follow ends in a plus sign.
        followed = sorted(range(len(self._names)), key=lambda place: f"{self._names[place]}+")
        self._followed = np.argsort(np.array(followed, dtype=np.int64))
        self._texts: dict[int, tuple[tuple[str, ...], bytes]] = {}

    def groups(self, pairs: Sequence[tuple[int, int]] | Ints) -> Iterator[list[Contrast]]:
        """The contrasts of each pair (places of wines, the first before the second), in order."""
        places = np.asarray(pairs, dtype=np.int64).reshape(-1, 2)
        for start in range(0, len(places), _TOGETHER):
            part = places[start : start + _TOGETHER]
            yield from self._groups(part[:, 0], part[:, 1])

    def _weigh(self, a: Ints, b: Ints) -> Weighed:
        weighed = self._words.weigh(a, b)
        for place, scale in zip(self._scale_columns, self._scales, strict=True):
            weights, weighed.more[:, place] = scale.weigh(a, b)
            weighed.toward_a[:, place], weighed.toward_b[:, place] = weights.T
        return weighed

    def _groups(self, a: Ints, b: Ints) -> Iterator[list[Contrast]]:
        weighed = self._weigh(a, b)
        chosen = np.full((len(a), GROUP, 3), NONE, dtype=np.int64)
        totals = weighed.toward_a + weighed.toward_b
        number = self._singles(weighed, totals, chosen)
        self._joint(weighed, totals, chosen, number)
        return self._contrasts(a, b, weighed, chosen, number)

    def _singles(self, weighed: Weighed, totals: Floats, chosen: Ints) -> Ints:
        """Write the single cues of each pair into `chosen`; how many there are."""
        # A single cue is measured whole or not at all.
        sides = _as_sides(
            (weighed.toward_a >= _LEAST_SINGLE) & self._measured,
            (weighed.toward_b >= _LEAST_SINGLE) & self._measured,
        )
        rows = np.arange(len(chosen))
        number = np.zeros(len(chosen), dtype=np.int64)
        told = {SIDE_A: number.copy(), SIDE_B: number.copy()}
        for place in range(SINGLES):
            still = sum(side * (told[side] < SINGLES // 2 + 1) for side in told)
            open_sides = sides & np.asarray(still)[:, None]
            best = np.where(open_sides > 0, totals, -1.0).argmax(1)
            wanted = open_sides[rows, best]
            found = wanted > 0
            chosen[:, place, 0] = np.where(found, best, NONE)
            number += found
            for side, count in told.items():
                count += (wanted & side) > 0
            sides *= self._family != np.where(found, self._family[best], NONE)[:, None]
        return number

    def _considered(self, totals: Floats) -> tuple[Ints, Flags]:
        """The columns that joint contrasts are made of, and which of these slots are filled."""
        picked = []
        for columns, most in (
            (self._scale_columns, SCALES),
            (self._word_columns, DESCRIPTORS),
        ):
            left = totals[:, columns]
            best = np.argsort(-left, axis=1, kind="stable")[:, :most]
            full = np.zeros((len(totals), most), dtype=np.int64)
            filled = np.zeros((len(totals), most), dtype=bool)
            full[:, : best.shape[1]] = columns[best]
            filled[:, : best.shape[1]] = np.take_along_axis(left, best, 1) >= 2 * IDLE
            picked.append((full, filled))
        (scales, scales_filled), (words, words_filled) = picked
        return np.hstack([scales, words]), np.hstack([scales_filled, words_filled])

    def _joint(self, weighed: Weighed, totals: Floats, chosen: Ints, number: Ints) -> None:
        """Write the sets of two, then of three, behind the single cues, the best first."""
        slots, filled = self._considered(totals)
        cues = weighed.at(slots)
        # Turned, a row a slot: a set then gathers whole rows.
        toward_a, toward_b = (
            np.ascontiguousarray(values.T) for values in (cues.toward_a, cues.toward_b)
        )
        measured = self._measured[slots].T
        family = self._family[slots]
        weights = (toward_a, toward_b, toward_a * measured, toward_b * measured)
        answered = _askable(*weights)
        uses = np.zeros(slots.shape, dtype=np.int64)
        for sets in _SETS:
            apart = sets.folded(np.ascontiguousarray(filled.T), np.logical_and)
            for one, other in combinations(range(sets.members.shape[1]), 2):
                rows = family.T[sets.members[:, one]], family.T[sets.members[:, other]]
                apart &= rows[0] != rows[1]
            joint = [sets.folded(values, np.add) for values in weights]
            smaller = np.bitwise_or.reduce(answered[sets.smaller], axis=1)
            answered = _askable(*joint) * apart
            merits = _merits(sets, (toward_a, toward_b), joint, answered, smaller)
            self._take(sets, slots, family, np.ascontiguousarray(merits.T), uses, chosen, number)

    def _take(
        self,
        sets: _Sets,
        slots: Ints,
        family: Ints,
        merits: Floats,
        uses: Ints,
        chosen: Ints,
        number: Ints,
    ) -> None:
        """Take the best set of each pair in turn, families new and no cue used too often."""
        rows = np.nonzero((number < GROUP) & np.isfinite(merits).any(1))[0]
        merits = merits[rows]
        names = self._order_of_names(sets, slots[rows])
        groups = _as_numbers(np.sort(family[rows][:, sets.members], axis=2), len(self._family))
        merits[(uses[rows] >= USES) @ sets.holds] = np.inf
        while len(rows):
            lowest = merits.min(1)
            tied = merits == lowest[:, None]
            best = np.where(tied, names, np.iinfo(np.int64).max).argmin(1)
            there = np.nonzero(np.isfinite(lowest))[0]
            best, rows = best[there], rows[there]
            merits, names, groups = merits[there], names[there], groups[there]
            members = sets.members[best]
            chosen[rows, number[rows], : members.shape[1]] = np.take_along_axis(
                slots[rows], members, 1
            )
            number[rows] += 1
            for place in range(members.shape[1]):
                uses[rows, members[:, place]] += 1
            merits[groups == groups[np.arange(len(rows)), best][:, None]] = np.inf
            merits[(uses[rows] >= USES) @ sets.holds] = np.inf
            still = np.nonzero(number[rows] < GROUP)[0]
            rows, merits, names, groups = rows[still], merits[still], names[still], groups[still]

    def _order_of_names(self, sets: _Sets, slots: Ints) -> Ints:
        """A number for the name of each set: of two sets the name with the lower comes first."""
        members = np.sort(slots[:, sets.members], axis=2)
        members[:, :, :-1] = self._followed[members[:, :, :-1]]
        return _as_numbers(members, len(self._names))

    def _contrasts(
        self, a: Ints, b: Ints, weighed: Weighed, chosen: Ints, number: Ints
    ) -> Iterator[list[Contrast]]:
        # Sorted by name, as the cues of a contrast are; what is absent stands last.
        columns = np.where(chosen == NONE, len(self._names), chosen)
        columns.sort(axis=2)
        pair, place = np.nonzero(columns[:, :, 0] < len(self._names))
        columns = columns[pair, place]
        there = columns < len(self._names)
        filled = np.where(there, columns, 0)
        toward_a = weighed.toward_a[pair[:, None], filled] * there
        toward_b = weighed.toward_b[pair[:, None], filled] * there
        more = weighed.more[pair[:, None], filled] & there
        measured = self._measured[filled]
        joint_a, joint_b = _added(toward_a), _added(toward_b)
        sides = _askable(joint_a, joint_b, _added(toward_a * measured), _added(toward_b * measured))
        sides &= _as_sides(
            np.logical_and.reduce(~there | (toward_a > 0), axis=1),
            np.logical_and.reduce(~there | (toward_b > 0), axis=1),
        )
        weaker = np.minimum(
            np.where(sides & SIDE_A, joint_a, np.inf), np.where(sides & SIDE_B, joint_b, np.inf)
        )
        made = zip(
            _as_numbers(columns, len(self._names) + 1).tolist(),
            (more @ np.array([1, 2, 4])).tolist(),
            sides.tolist(),
            weaker.tolist(),
            strict=True,
        )
        for one, other, many in zip(a.tolist(), b.tolist(), number.tolist(), strict=True):
            wine_a, wine_b = self._wines[one], self._wines[other]
            id_of = ids_of_pair(wine_a, wine_b)
            group = []
            for code, shown, asked, strength in islice(made, many):
                names, text = self._texts.get(code) or self._text(code)
                group.append(
                    Contrast(
                        id_of(text),
                        wine_a,
                        wine_b,
                        names,
                        asked,
                        _BEARINGS[len(names), shown],
                        round(strength, 2),
                    )
                )
            yield group

    def _text(self, code: int) -> tuple[tuple[str, ...], bytes]:
        """The cues of a set, told by its number: their names, and these joined as bytes."""
        many, rest = len(self._names), code
        places = []
        for _ in range(3):
            rest, place = divmod(rest, many + 1)
            places.append(place)
        names = tuple(self._names[place] for place in reversed(places) if place < many)
        found = self._texts[code] = (names, "+".join(names).encode())
        return found


def _merits(
    sets: _Sets,
    toward: tuple[Floats, Floats],
    joint: Sequence[Floats],
    answered: Sides,
    smaller: Sides,
) -> Floats:
    """The merit of each set that some side needs whole: the best lowest, infinite elsewhere."""
    sides = np.zeros_like(answered)
    needed = np.zeros_like(answered)
    weaker = np.full(answered.shape, MOST_WEIGHT)
    for side, each, whole in zip((SIDE_A, SIDE_B), toward, joint, strict=False):
        least, most = sets.folded(each, np.minimum), sets.folded(each, np.maximum)
        asked = ((answered & side) > 0) & (least > 0)
        sides |= side * asked.astype(np.int8)
        np.minimum(weaker, whole, out=weaker, where=asked)
        needed += asked & ((smaller & side) == 0) & (least >= IDLE) & (most >= STRONG_MEMBER)
    both = sides == (SIDE_A | SIDE_B)
    merits = -(needed * PER_NEEDED + FOR_BOTH * both + weaker)
    found: Floats = np.where(needed > 0, merits, np.inf)
    return found


def _askable(toward_a: Floats, toward_b: Floats, known_a: Floats, known_b: Floats) -> Sides:
    told_a = (toward_a >= THRESHOLD) & (known_a >= MEASURED_LEAST)
    told_b = (toward_b >= THRESHOLD) & (known_b >= MEASURED_LEAST)
    return _as_sides(told_a, told_b)


def _as_sides(told_a: Flags, told_b: Flags) -> Sides:
    return SIDE_A * told_a.astype(np.int8) | SIDE_B * told_b.astype(np.int8)


def _added(weights: Floats) -> Floats:
    added: Floats = weights[:, 0] + weights[:, 1] + weights[:, 2]
    return added


def _as_numbers(members: Ints, many: int) -> Ints:
    """The places along the last axis as the digits of one number each."""
    numbers: Ints = members[..., 0]
    for place in range(1, members.shape[-1]):
        numbers = numbers * many + members[..., place]
    return numbers
