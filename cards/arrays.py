"""Many pictures as arrays: which wines read alike on a scale, and how probable words are.

With few kinds of wines on every scale, and few chances of a word, what two wines are to each other
is looked up in small tables. They hold the very numbers that cards.cues and cards.evidence give:
logarithms are taken by those, and the rest is the same arithmetic in the same order.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cards.cues import descriptor_cue, place_on_scale
from cards.evidence import DECIBANS, NOTED, Categorical, Likelihood, Picture
from cards.scale import Typical

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Sides = NDArray[np.int8]
Flags = NDArray[np.bool_]

NONE = -1
"""Stands where there is no place."""


class Kinds:
    """The wines by what they show on one scale: those that read alike are one kind."""

    def __init__(self, attribute: str, pictures: Sequence[Picture]) -> None:
        self.attribute = attribute
        self.examples: list[Picture] = []
        known: dict[object, int] = {}
        kinds = []
        for picture in pictures:
            likelihood = picture.scales.get(attribute)
            if likelihood is None:
                kinds.append(NONE)
                continue
            key = (_hashable(likelihood), picture.typical[attribute])
            if key not in known:
                known[key] = len(known)
                self.examples.append(picture)
            kinds.append(known[key])
        self.of_wines = np.array(kinds, dtype=np.int64)


def _hashable(likelihood: Likelihood) -> object:
    if isinstance(likelihood, Categorical):
        return tuple(likelihood.chances.items())
    return likelihood


class Chances:
    """How probable each word is to be noted in each wine: `values[places[wine, word]]`."""

    def __init__(self, words: Sequence[str], pictures: Sequence[Picture]) -> None:
        shape = (len(pictures), len(words))
        chances = [[picture.chance_noted(word) for word in words] for picture in pictures]
        self.values = sorted({chance for row in chances for chance in row})
        place = {value: index for index, value in enumerate(self.values)}
        self.places = np.array(
            [[place[chance] for chance in row] for row in chances], dtype=np.int64
        ).reshape(shape)
        self.listed = np.array(
            [[word in picture.noted for word in words] for picture in pictures], dtype=bool
        ).reshape(shape)

    def of_wines(self) -> Floats:
        """The chance of each word, a column, in each wine, a row."""
        found: Floats = np.array(self.values)[self.places]
        return found


class CueTable:
    """Every cue of any two wines: `code` says where its weights stand, in decibans.

    Columns are the names of all cues, sorted, and behind them one that is no cue. Where nothing
    tells, or nobody should be asked for it, both weights are 0.
    """

    def __init__(self, pictures: Sequence[Picture]) -> None:
        scales = sorted({attribute for picture in pictures for attribute in picture.scales})
        words = sorted({key for picture in pictures for key in picture.noted})
        self.names = sorted([*scales, *words])
        column = {name: place for place, name in enumerate(self.names)}
        self.scales = np.array([column[name] for name in scales], dtype=np.int64)
        self._width = len(self.names) + 1
        shape = (len(pictures), self._width)
        self._as_a, self._as_b = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
        # Code 0: nothing tells.
        parts = [(np.zeros((1, 1)), np.zeros((1, 1)), np.zeros((1, 1), dtype=bool))]
        for name in scales:
            kinds = Kinds(name, pictures)
            # What is on no scale is of the last kind, which tells nothing.
            of_wines = np.where(kinds.of_wines == NONE, len(kinds.examples), kinds.of_wines)
            self._place(parts, column[name], of_wines, _scale_weights(kinds))
        chances = Chances(words, pictures)
        places = np.array([column[word] for word in words], dtype=np.int64)
        of_wines = 2 * chances.places + chances.listed
        self._place(parts, places, of_wines, _word_weights(chances.values))
        self.toward_a, self.toward_b, self.more = (
            np.concatenate([part[place].ravel() for part in parts]) for place in range(3)
        )
        self.marked = np.zeros(shape, dtype=bool)
        self.marked[:, places] = chances.of_wines() >= NOTED[Typical.COMMON]

    def _place(
        self,
        parts: list[tuple[Floats, Floats, Flags]],
        columns: int | Ints,
        of_wines: Ints,
        part: tuple[Floats, Floats, Flags],
    ) -> None:
        """Put a table of kinds by kinds behind the others, for these columns."""
        self._as_a[:, columns] = sum(more.size for _, _, more in parts) + of_wines * len(part[0])
        self._as_b[:, columns] = of_wines
        parts.append(part)

    def code(self, a: Ints, b: Ints, columns: Ints) -> Ints:
        """Where the cues of these columns stand; wines and columns are broadcast."""
        codes: Ints = self._as_a.ravel().take(a * self._width + columns)
        codes += self._as_b.ravel().take(b * self._width + columns)
        return codes


def _scale_weights(kinds: Kinds) -> tuple[Floats, Floats, Flags]:
    """As `cards.cues.scale_cue` of each two kinds, and of one more that is on no scale."""
    examples, attribute = kinds.examples, kinds.attribute
    many = len(examples)
    readings = list(dict.fromkeys(r for one in examples for r in one.typical[attribute]))
    place = {reading: number for number, reading in enumerate(readings)}
    logs = np.array([[one.scales[attribute].log(r) for r in readings] for one in examples])
    toward = np.zeros((many + 1, many + 1))
    for row, one in enumerate(examples):
        own = [place[reading] for reading in one.typical[attribute]]
        toward[row, :many] = (DECIBANS * (logs[row, own] - logs[:, own])).max(1)
    np.maximum(toward, 0.0, out=toward)
    more = np.zeros(toward.shape, dtype=bool)
    shown = np.array([place_on_scale(one, attribute) for one in examples])
    more[:many, :many] = shown[:, None] > shown
    return toward, toward.T, more


def _word_weights(chances: Sequence[float]) -> tuple[Floats, Floats, Flags]:
    """As `cards.cues.descriptor_cue` of each two chances, unlisted and listed."""
    kinds = [(chance, listed) for chance in chances for listed in (False, True)]
    shape = (len(kinds), len(kinds))
    toward_a, toward_b, more = np.zeros(shape), np.zeros(shape), np.zeros(shape, dtype=bool)
    for row, (p, one) in enumerate(kinds):
        for column, (q, other) in enumerate(kinds):
            cue = descriptor_cue("", "", p, q)
            # A word that neither profile lists, or that is only occasional, is no cue to be asked
            # for: it weighs nothing here.
            if cue is not None and cue.known and (one or other):
                place = row, column
                toward_a[place], toward_b[place], more[place] = cue.toward_a, cue.toward_b, cue.more
    return toward_a, toward_b, more
