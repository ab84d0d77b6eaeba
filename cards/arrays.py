"""Many pictures as arrays: which wines read alike on a scale, and how probable words are.

With few kinds of wines on every scale, and few chances of a word, what two wines are to each other
is looked up in small tables. These are filled by the plain functions of cards.cues and
cards.evidence, so that arrays hold the very numbers that those give.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cards.cues import descriptor_cue, scale_cue
from cards.evidence import Categorical, Likelihood, Picture

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


@dataclass(frozen=True, slots=True)
class Weighed:
    """The cues of some pairs, a row each: weights toward either wine, and which way they point."""

    toward_a: Floats
    toward_b: Floats
    more: Flags

    def at(self, columns: Ints) -> Weighed:
        """The cues of so many columns of each row."""
        return Weighed(
            np.take_along_axis(self.toward_a, columns, 1),
            np.take_along_axis(self.toward_b, columns, 1),
            np.take_along_axis(self.more, columns, 1),
        )


class ScaleCues:
    """The cue of one scale for any two wines."""

    def __init__(self, attribute: str, pictures: Sequence[Picture]) -> None:
        self._kinds = Kinds(attribute, pictures)
        many = len(self._kinds.examples)
        self._worked_out = np.zeros(many * many, dtype=bool)
        self._weights = np.zeros((many * many, 2))
        self._more = np.zeros(many * many, dtype=bool)

    def weigh(self, a: Ints, b: Ints) -> tuple[Floats, Flags]:
        """Weights toward either wine, a row a pair, and whether A shows more."""
        one, other = self._kinds.of_wines[a], self._kinds.of_wines[b]
        placed = (one != NONE) & (other != NONE)
        many = len(self._kinds.examples)
        codes = np.where(placed, one * many + other, 0)
        for code in np.unique(codes[placed & ~self._worked_out[codes]]):
            first, second = (self._kinds.examples[place] for place in divmod(int(code), many))
            if (cue := scale_cue(self._kinds.attribute, first, second)) is not None:
                self._weights[code] = cue.toward_a, cue.toward_b
                self._more[code] = cue.more
            self._worked_out[code] = True
        return self._weights[codes] * placed[:, None], self._more[codes]


class WordCues:
    """The cues of all descriptors for any two wines.

    `words` may hold names of scales, which weigh nothing here.
    """

    def __init__(self, words: Sequence[str], pictures: Sequence[Picture]) -> None:
        chances = Chances(words, pictures)
        kinds = [(chance, listed) for chance in chances.values for listed in (False, True)]
        kind_of = 2 * chances.places + chances.listed
        self._first, self._second = kind_of * len(kinds), kind_of
        # A word that neither profile lists, or that is only occasional, is no cue to be asked for:
        # it weighs nothing here.
        asked = [
            cue if cue is not None and cue.known and (one or other) else None
            for p, one in kinds
            for q, other in kinds
            for cue in (descriptor_cue("", "", p, q),)
        ]
        self._toward_a = np.array([cue.toward_a if cue else 0.0 for cue in asked])
        self._toward_b = np.array([cue.toward_b if cue else 0.0 for cue in asked])
        self._more = np.array([cue is not None and cue.more for cue in asked])

    def weigh(self, a: Ints, b: Ints) -> Weighed:
        """The cues of some pairs, a row each."""
        codes = self._first[a] + self._second[b]
        return Weighed(self._toward_a[codes], self._toward_b[codes], self._more[codes])
