"""How far apart every two of many wines are, with arrays."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cards.arrays import NONE, Chances, Floats, Kinds
from cards.evidence import DECIBANS, FAMILY_CORRELATION, Binary, Picture, divergence

ROUNDING = 1e-6
"""By more than this many decibans no separation here is off: sums are added in another order."""


def separations(pictures: Sequence[Picture]) -> Floats:
    """The separation in decibans of each two wines, a row and a column a wine.

    As `cards.evidence.separation`, within ROUNDING.
    """
    total = np.zeros((len(pictures), len(pictures)))
    for attribute in sorted({name for picture in pictures for name in picture.scales}):
        total += _on_scale(attribute, pictures)
    words = sorted({key for picture in pictures for key in picture.noted})
    chances = Chances(words, pictures)
    sizes = _sizes(chances.values)
    families: dict[str, list[int]] = {}
    for place, word in enumerate(words):
        families.setdefault(pictures[0].family_of[word], []).append(place)
    for places in families.values():
        whole, squares = np.zeros_like(total), np.zeros_like(total)
        for place in places:
            column, listed = chances.places[:, place], chances.listed[:, place]
            size = sizes[column[:, None], column] * (listed[:, None] | listed)
            whole += size
            squares += size * size
        effective = np.divide(whole * whole, squares, out=np.ones_like(whole), where=squares > 0)
        total += whole / (1 + (effective - 1) * FAMILY_CORRELATION)
    return total


def _on_scale(attribute: str, pictures: Sequence[Picture]) -> Floats:
    kinds = Kinds(attribute, pictures)
    many = len(kinds.examples)
    # What is on no scale is of the last kind, which tells nothing.
    sizes = np.zeros((many + 1, many + 1))
    for one, a in enumerate(kinds.examples):
        for other, b in enumerate(kinds.examples[:one]):
            sizes[one, other] = sizes[other, one] = divergence(attribute, a, b)
    of_wines = np.where(kinds.of_wines == NONE, many, kinds.of_wines)
    found: Floats = sizes[of_wines[:, None], of_wines]
    return found


def _sizes(chances: Sequence[float]) -> Floats:
    return np.array(
        [[DECIBANS * Binary(p).divergence(Binary(q)) for q in chances] for p in chances]
    )
