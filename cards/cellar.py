"""The cellar: the table as pictures, and what follows from it for pairs of its wines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations

from cards.contrasts import Contrast, contrast_of, contrasts_of_pair, ordered_pair, sides_of
from cards.cues import CueWeight, cues_of_pair
from cards.evidence import AVERAGE_READER, Picture, Reader, picture_of, separation
from cards.lexicon import HUES
from cards.tables import Table

NEAREST = 12
# Decibans beyond which a pair is taught only where it is among the first of a wine's nearest: at
# equal spreads an ideal taster errs there less than once in 200 pours (Phi(-d'/2), Green and Swets
# 1966). Without this every fortified wine would be held against every other.
FARTHEST, ALWAYS = 60.0, 3
# Hues of age lie on the scales of white and of red wine, and are taken for each other.
_AGED = frozenset({"amber", "brown", "brick", "tawny"})
# Pairs are met this many at a time, one contrast of each in turn.
_TOGETHER = 5
# Decibans by which each lateral of its wines brings a pair forward in the order of introduction.
_PER_LINK = 3.0
# From so many wines of a style, and so many pairs, on, arrays are worth the import of numpy. Either
# way gives the same pairs and contrasts.
_MANY, _MANY_PAIRS = 150, 1500


class Cellar:
    """The table as pictures and what follows from it for pairs; computed when first asked.

    `reader` is whose eyes and nose the pictures are drawn for. Contrasts are kept for all, so they
    are made of the average taster's pictures only.
    """

    def __init__(self, table: Table, reader: Reader = AVERAGE_READER) -> None:
        self.table = table
        self.reader = reader
        self._pictures: dict[str, Picture] = {}
        # A card is asked and then explained: both weigh the cues of the same pair.
        self._latest: tuple[tuple[str, str], list[CueWeight]] = (("", ""), [])

    def picture(self, wine: str) -> Picture:
        """The picture of one wine by key."""
        found = self._pictures.get(wine)
        if found is None:
            found = picture_of(self.table.profiles[wine], self.table.lexicon, self.reader)
            self._pictures[wine] = found
        return found

    def cues(self, wine_a: str, wine_b: str) -> list[CueWeight]:
        """Every cue of a pair, most telling first."""
        pair = (wine_a, wine_b)
        latest = self._latest
        if latest[0] != pair:
            latest = (pair, cues_of_pair(self.picture(wine_a), self.picture(wine_b)))
            # Whole: screens that count in the background share this cellar.
            self._latest = latest
        return list(latest[1])

    def separation(self, one: str, other: str) -> float:
        """How far apart two wines are, decibans."""
        a, b = ordered_pair(one, other)
        return separation(self.picture(a), self.picture(b))

    def laterals(self, wine: str, others: Iterable[str] | None = None) -> list[tuple[str, float]]:
        """The other wines with their separation in decibans, nearest first."""
        keys = self.table.profiles if others is None else others
        found = [(other, self.separation(wine, other)) for other in keys if other != wine]
        return sorted(found, key=lambda item: (item[1], item[0]))

    def same_style(self, wine: str) -> list[str]:
        """The keys of all wines of the same style, the wine itself among them."""
        style = self.table.profiles[wine].style
        return [key for key, profile in self.table.profiles.items() if profile.style == style]

    def taken_for(self, wine: str) -> list[tuple[str, float]]:
        """The wines that may pass for one, with their separation in decibans, nearest first.

        They are of its style or named as its laterals, of a like colour, and no farther than
        FARTHEST.
        """
        profile = self.table.profiles[wine]
        colours = _colours(profile.hues)
        others = [
            key
            for key, other in self.table.profiles.items()
            if (other.style == profile.style or key in profile.laterals)
            and colours & _colours(other.hues)
        ]
        return [one for one in self.laterals(wine, others) if one[1] <= FARTHEST]

    def pairs(self) -> list[tuple[str, str]]:
        """The pairs worth teaching, in the order in which they are met.

        Those the trade takes for each other first, then those of which one wine is among the
        other's NEAREST of the same style and not too far from it, and not of another colour; both
        by separation, the closest first, less _PER_LINK decibans for every lateral that either wine
        has.
        """
        styles: dict[str, list[str]] = {}
        for key, profile in self.table.profiles.items():
            styles.setdefault(profile.style, []).append(key)
        apart: dict[tuple[str, str], float] = {}
        for keys in styles.values():
            colours = {key: _colours(self.table.profiles[key].hues) for key in keys}
            for pair in self._perhaps_near(sorted(keys), colours):
                if colours[pair[0]] & colours[pair[1]]:
                    apart[pair] = self.separation(*pair)
        near: dict[str, list[tuple[float, tuple[str, str]]]] = {}
        for pair, gap in apart.items():
            for wine in pair:
                near.setdefault(wine, []).append((gap, pair))
        wanted = {
            pair
            for found in near.values()
            for number, (gap, pair) in enumerate(sorted(found)[:NEAREST])
            if number < ALWAYS or gap <= FARTHEST
        }
        named = {
            ordered_pair(key, lateral)
            for key, profile in self.table.profiles.items()
            for lateral in profile.laterals
            if lateral in self.table.profiles
        }
        for pair in named - apart.keys():
            apart[pair] = self.separation(*pair)
        links = {key: len(profile.laterals) for key, profile in self.table.profiles.items()}

        def place(pair: tuple[str, str]) -> tuple[bool, float, tuple[str, str]]:
            # A wine that many are taken for is one that flights pour: it is met earlier.
            return (pair not in named, apart[pair] - _PER_LINK * sum(links[w] for w in pair), pair)

        return sorted(named | wanted, key=place)

    def _perhaps_near(
        self, keys: Sequence[str], colours: Mapping[str, int]
    ) -> Iterable[tuple[str, str]]:
        """The pairs of these wines among which are, for each, its NEAREST of a like colour."""
        if len(keys) < _MANY:
            return combinations(keys, 2)
        # Imported here: the shipped table, and so the first card, does without numpy.
        import numpy as np

        from cards.apart import ROUNDING, separations

        apart = separations([self.picture(key) for key in keys])
        np.fill_diagonal(apart, np.inf)
        seen = np.array([colours[key] for key in keys])
        apart[seen[:, None] & seen == 0] = np.inf
        reach = np.partition(apart, NEAREST - 1, axis=1)[:, NEAREST - 1] + ROUNDING
        near = np.triu((apart <= reach[:, None]) | (apart <= reach), 1)
        return [(keys[one], keys[other]) for one, other in np.argwhere(near).tolist()]

    def _groups(self, pairs: Sequence[tuple[str, str]]) -> Iterator[list[Contrast]]:
        """The contrasts of each pair, in order."""
        if len(pairs) < _MANY_PAIRS or not self._sorted_joined():
            yield from (self.contrasts(*pair) for pair in pairs)
            return
        from cards.choosing import Chooser

        keys = sorted(self.table.profiles)
        place = {key: number for number, key in enumerate(keys)}
        chooser = Chooser([self.picture(key) for key in keys])
        yield from chooser.groups([(place[one], place[other]) for one, other in pairs])

    def _sorted_joined(self) -> bool:
        """Whether names joined by plus signs are sorted as their lists are; arrays go by these."""
        return all(sign > "+" for word in self.table.lexicon.descriptors for sign in word)

    def contrasts(self, wine_a: str, wine_b: str) -> list[Contrast]:
        """The group of contrasts that teaches one pair."""
        a, b = ordered_pair(wine_a, wine_b)
        return contrasts_of_pair(self.picture(a), self.picture(b))

    def contrast(self, wine_a: str, wine_b: str, cues: Sequence[str]) -> Contrast | None:
        """The contrast of these cues, chosen for the pair or not.

        None where the table knows one of the cues no more, or no side of it can be asked.
        """
        a, b = ordered_pair(wine_a, wine_b)
        weights = {cue.attribute: cue for cue in self.cues(a, b) if cue.known}
        members = tuple(weights[cue] for cue in cues if cue in weights)
        if len(members) < len(cues) or not sides_of(members):
            return None
        return contrast_of(a, b, members)

    def all_contrasts(self) -> list[Contrast]:
        """Every contrast of the table in the order of introduction, pairs interleaved."""
        left = [group for group in self._groups(self.pairs()) if group]
        ordered: list[Contrast] = []
        while left:
            together = _apart(left)
            for place in range(max(map(len, together))):
                ordered += [group[place] for group in together if place < len(group)]
        return ordered


def _colours(hues: Iterable[str]) -> int:
    """What a wine looks like, as bits: white, red or rosé, and whether it shows age.

    Wines that share none are told apart before they are smelt; a card on them would be wasted.
    """
    groups = list(HUES.values())
    bits = 0
    for hue in hues:
        bits |= 1 << next(place for place, group in enumerate(groups) if hue in group)
        bits |= (hue in _AGED) << len(groups)
    return bits


def _apart(left: list[list[Contrast]]) -> list[list[Contrast]]:
    """Take the next _TOGETHER groups out of `left`, no wine in two of them where that can be."""
    taken: list[int] = []
    wines: set[str] = set()
    for place, group in enumerate(left[: 8 * _TOGETHER]):
        if len(taken) == _TOGETHER:
            break
        if wines.isdisjoint(group[0].pair):
            wines.update(group[0].pair)
            taken.append(place)
    return [left.pop(place) for place in reversed(taken)][::-1]
