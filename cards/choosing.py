"""The contrasts of many pairs at once, worked out with arrays: the choice of cards.contrasts.

`contrasts_of_pair` says by which rules; here the same rules run over thousands of pairs together,
which costs a twentieth. That would pay for the import of numpy (90 ms) from some four hundred pairs
on; the shipped table does without all the same, so that its first card never waits for numpy.
Weights are looked up, never computed anew, and added in the same order, so that both ways give the
same contrasts to the last bit; a test compares them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import islice
from typing import Any

import numpy as np

from cards.arrays import NONE, CueTable, Flags, Floats, Ints, Sides
from cards.contrasts import (
    DESCRIPTORS,
    GROUP,
    IDLE,
    MEASURED_LEAST,
    SCALES,
    SINGLES,
    THRESHOLD,
    Contrast,
    begun_id,
)
from cards.cues import BOTH_SIDES, SIDE_A, SIDE_B, card_family
from cards.evidence import Picture
from cards.joining import MEMBERS, Masks, as_sides, askable, join, slots_of
from cards.lexicon import UNMEASURED

# Pairs worked out together: enough to forget the cost of a call, few enough to stay in the cache.
_TOGETHER = 2048
_BEARINGS = tuple(
    "".join("a" if shown >> place & 1 else "b" for place in range(size))
    for size in range(4)
    for shown in range(8)
)
# What Contrast(*fields) makes, in a third of the time: there are millions.
_contrast: Callable[[tuple[Any, ...]], Contrast] = partial(tuple.__new__, Contrast)


@dataclass(frozen=True, slots=True)
class Chosen:
    """The contrasts of some pairs as arrays: those of a pair together, in their order."""

    a: Ints  # the places of each pair's wines
    b: Ints
    number: Ints  # how many contrasts each pair has
    cues: Ints  # places of their names, sorted, a row a member; behind them that of no cue
    sides: Sides
    bearing: Ints  # place in _BEARINGS
    strength: Floats  # decibans, rounded


class Chooser:
    """Chooses the contrasts of any pairs of the given wines, which are named by their places.

    Pictures are the average taster's, of one lexicon, sorted by wine.
    """

    def __init__(self, pictures: Sequence[Picture]) -> None:
        self._wines = [picture.wine for picture in pictures]
        if self._wines != sorted(set(self._wines)):
            raise ValueError("the pictures are not sorted by wine")
        self._cues = table = CueTable(pictures)
        self._names = names = table.names
        self._none = len(names)
        # The key of a cue: the more it tells the higher; of equal ones the first by name highest.
        totals, ranks = np.unique(table.toward_a + table.toward_b, return_inverse=True)
        bits = len(names).bit_length()
        self._ranks = ranks.astype(np.int64) << bits
        self._least_key = int(np.searchsorted(totals, 2 * IDLE)) << bits
        self._low = (1 << bits) - 1
        alone = max(THRESHOLD, MEASURED_LEAST)
        self._alone = as_sides(table.toward_a >= alone, table.toward_b >= alone)
        measured = [name not in UNMEASURED for name in names]
        self._measured = np.array([*measured, False], dtype=bool)
        known: dict[str, int] = {}
        families = [card_family(name, pictures[0].family_of) for name in names]
        numbers = [known.setdefault(family, len(known)) for family in families]
        self._family = np.array([*numbers, NONE], dtype=np.int16)
        missing = max(SCALES - len(table.scales), 0)
        self._scales = np.append(table.scales, [self._none] * missing).astype(np.int64)
        self._words = _listed(table.marked, DESCRIPTORS)
        self._keys_of_wines = np.array(self._wines, dtype=object)
        self._texts = _Texts(names)

    def choose(self, pairs: Sequence[tuple[int, int]] | Ints) -> Iterator[Chosen]:
        """The contrasts of the pairs (places of wines, the first before the second), in order."""
        places = np.asarray(pairs, dtype=np.int64).reshape(-1, 2)
        for start in range(0, len(places), _TOGETHER):
            part = places[start : start + _TOGETHER]
            yield self._choose(part[:, 0], part[:, 1])

    def groups(self, pairs: Sequence[tuple[int, int]] | Ints) -> Iterator[list[Contrast]]:
        """The contrasts of each pair (places of wines, the first before the second), in order."""
        for chosen in self.choose(pairs):
            made = self._contrasts(chosen)
            for many in chosen.number.tolist():
                yield list(islice(made, many))

    def _choose(self, a: Ints, b: Ints) -> Chosen:
        columns = self._candidates(a, b)
        codes = self._cues.code(a[:, None], b[:, None], columns)
        keys = self._ranks.take(codes)
        keys |= ~columns & self._low
        # A word of both wines stands there twice; it counts once.
        again = len(self._scales) + self._words.shape[1]
        keys[:, again:] *= ~self._cues.marked[a[:, None], columns[:, again:]]
        singles = self._singles(keys, codes, columns)
        slots = self._considered(keys)
        masks = self._joint(a, b, slots, GROUP - (singles < self._none).sum(1))
        return self._weighed(a, b, *self._named(singles, slots, masks))

    def _candidates(self, a: Ints, b: Ints) -> Ints:
        """The columns that may tell anything of each pair: all scales, and the words of either."""
        scales = np.broadcast_to(self._scales, (len(a), len(self._scales)))
        return np.hstack([scales, self._words[a], self._words[b]])

    def _singles(self, keys: Ints, codes: Ints, columns: Ints) -> Ints:
        """The columns of the single cues of each pair, that of no cue behind them."""
        sides = self._alone.take(codes)
        # A single cue is measured whole or not at all; every word is.
        sides[:, : len(self._scales)] *= self._measured[self._scales]
        left = keys * (sides > 0)
        families = self._family.take(columns)
        pairs = np.arange(len(keys))
        chosen = np.full((len(keys), SINGLES), self._none, dtype=np.int64)
        told = {side: np.zeros(len(keys), dtype=np.int64) for side in (SIDE_A, SIDE_B)}
        wanted = np.full(len(keys), BOTH_SIDES, dtype=np.int8)
        for place in range(SINGLES):
            best = left.argmax(1)
            found = left[pairs, best] > 0
            chosen[found, place] = columns[pairs, best][found]
            answered = sides[pairs, best] * found & wanted
            for side, count in told.items():
                count += (answered & side) > 0
                # Half the places are kept for either wine.
                wanted[count > SINGLES // 2] &= ~side
            still = families != families[pairs, best][:, None]
            still &= (sides & wanted[:, None]) > 0
            left *= still
        return chosen

    def _considered(self, keys: Ints) -> Ints:
        """The columns that joint contrasts are made of, in order; that of no cue in empty slots."""
        scales, words = np.split(keys, [len(self._scales)], axis=1)
        best = [
            np.sort(part, axis=1)[:, : -most - 1 : -1]
            for part, most in ((scales, SCALES), (words, DESCRIPTORS))
        ]
        slots = np.hstack(best)
        columns: Ints = np.where(slots >= self._least_key, ~slots & self._low, self._none)
        return columns

    def _joint(self, a: Ints, b: Ints, slots: Ints, room: Ints) -> Masks:
        columns = np.ascontiguousarray(slots.T)
        codes = self._cues.code(a, b, columns)
        toward_a, toward_b = self._cues.toward_a.take(codes), self._cues.toward_b.take(codes)
        measured, families = self._measured.take(columns), self._family.take(columns)
        return join(slots_of(toward_a, toward_b, measured, columns, families), room)

    def _named(self, singles: Ints, slots: Ints, masks: Masks) -> tuple[Ints, Ints]:
        """The pair of each contrast, and its cues."""
        pair, place = np.nonzero(np.hstack([singles < self._none, masks.T > 0]))
        alone = np.flatnonzero(place < SINGLES)
        joint = np.flatnonzero(place >= SINGLES)
        cues = np.full((3, len(pair)), self._none, dtype=np.int64)
        cues[0, alone] = singles[pair[alone], place[alone]]
        by_name = np.append(np.sort(slots, axis=1), np.full((len(slots), 1), self._none), axis=1)
        members = MEMBERS[masks[place[joint] - SINGLES, pair[joint]]]
        cues[:, joint] = by_name[pair[joint], members.T]
        return pair, cues

    def _weighed(self, a: Ints, b: Ints, pair: Ints, cues: Ints) -> Chosen:
        codes = self._cues.code(a[pair], b[pair], cues)
        toward_a, toward_b = self._cues.toward_a.take(codes), self._cues.toward_b.take(codes)
        measured, absent = self._measured.take(cues), cues == self._none
        # Added in the order of names: the last bit may differ from the sum that was chosen by.
        joint_a, joint_b = _added(toward_a), _added(toward_b)
        known = _added(toward_a * measured), _added(toward_b * measured)
        sides = askable((joint_a, joint_b, *known))
        sides &= as_sides(
            ((toward_a >= IDLE) | absent).all(0),
            ((toward_b >= IDLE) | absent).all(0),
        )
        weaker = np.minimum(
            np.where(sides & SIDE_A, joint_a, np.inf), np.where(sides & SIDE_B, joint_b, np.inf)
        )
        more = self._cues.more.take(codes)
        bearing = 8 * (3 - absent.sum(0)) + more[0] + 2 * more[1] + 4 * more[2]
        number = np.bincount(pair, minlength=len(a))
        return Chosen(a, b, number, cues, sides, bearing, rounded(weaker))

    def _contrasts(self, chosen: Chosen) -> Iterator[Contrast]:
        first, second, third = chosen.cues
        codes = (first * self._texts.base + second) * self._texts.base + third
        texts = [self._texts[code] for code in codes.tolist()]
        fields = zip(
            self._ids(chosen, [text for _, text in texts]),
            self._keys_of_wines[chosen.a].repeat(chosen.number).tolist(),
            self._keys_of_wines[chosen.b].repeat(chosen.number).tolist(),
            [names for names, _ in texts],
            chosen.sides.tolist(),
            [_BEARINGS[bearing] for bearing in chosen.bearing.tolist()],
            chosen.strength.tolist(),
            strict=True,
        )
        return map(_contrast, fields)

    def _ids(self, chosen: Chosen, texts: Sequence[bytes]) -> list[int]:
        """The ids of all contrasts, given the joined names of the cues of each."""
        left = iter(texts)
        digests = []
        for a, b, many in zip(
            chosen.a.tolist(), chosen.b.tolist(), chosen.number.tolist(), strict=True
        ):
            begin = begun_id(self._wines[a], self._wines[b]).copy
            for text in islice(left, many):
                whole = begin()
                whole.update(text)
                digests.append(whole.digest())
        ids: list[int] = (np.frombuffer(b"".join(digests), dtype=">u8") >> 1).tolist()
        return ids


class _Texts(dict[int, tuple[tuple[str, ...], bytes]]):
    """The cues of a set by its number: their names, and these joined as bytes.

    The digits of the number, to `base`, are the places of the cues, that of no cue behind them.
    """

    def __init__(self, names: Sequence[str]) -> None:
        super().__init__()
        self._all = names
        self.base = len(names) + 1

    def __missing__(self, number: int) -> tuple[tuple[str, ...], bytes]:
        places = (number // self.base**2, number // self.base % self.base, number % self.base)
        names = tuple(self._all[place] for place in places if place < len(self._all))
        found = self[number] = (names, "+".join(names).encode())
        return found


def _added(weights: Floats) -> Floats:
    added: Floats = weights[0] + weights[1] + weights[2]
    return added


def _listed(marked: Flags, least: int) -> Ints:
    """The marked columns of each row, in order; as many, at least so many, with the last behind."""
    last = marked.shape[1] - 1
    columns = np.where(marked, np.arange(last + 1), last)
    columns.sort(axis=1)
    wide = max(least, int(marked.sum(1).max(initial=0)))
    listed: Ints = columns[:, :wide]
    return listed


def rounded(weights: Floats) -> Floats:
    """Rounded to hundredths as `round` does, which goes by the exact decimal value."""
    hundreds = weights * 100
    found: Floats = np.rint(hundreds) / 100
    # Near a half the product may lie on the other side of it.
    doubtful = np.flatnonzero(np.abs(hundreds - np.floor(hundreds) - 0.5) < 1e-6)
    found[doubtful] = [round(weight, 2) for weight in weights[doubtful].tolist()]
    return found
