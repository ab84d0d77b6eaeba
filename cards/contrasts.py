"""Contrasts: the cues, alone or two or three together, that tell a pair of wines apart."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

from cards.evidence import (
    AVERAGE_READER,
    DECIBANS,
    NOTED,
    Picture,
    Reader,
    Reading,
    decibans,
    picture_of,
    separation,
)
from cards.lexicon import ALCOHOL, HUES, STRUCTURE, UNMEASURED, scale_family
from cards.scale import Typical
from cards.tables import Table

# A card's right answer must be at least this probable, from even odds.
LEAST_PROBABLE = 0.85
THRESHOLD = decibans(LEAST_PROBABLE)
# The measured cues of a card must themselves lean to its answer by this much (decibans): words
# without a measured basis may help but never decide.
MEASURED_LEAST = 3.0
# A member that adds less than this on a side is idle there.
IDLE = 1.5
# Cues that share a question must have at least one strong one among them.
_STRONG = 5.0
GROUP = 8
_SINGLES = 4
# So many scales and so many descriptors are looked at for joint contrasts: tasters decide on
# structure first, and lists of descriptors would otherwise crowd it out.
_SCALES, _DESCRIPTORS = 5, 6
_USES = 2
NEAREST = 12
# Pairs are met this many at a time, one contrast of each in turn.
_TOGETHER = 5
# Decibans by which each lateral of its wines brings a pair forward in the order of introduction.
_PER_LINK = 3.0

SIDE_A, SIDE_B, BOTH_SIDES = 1, 2, 3


@dataclass(frozen=True, slots=True)
class CueWeight:
    """One cue of a pair: the reading typical of either wine that tells most, and its weight.

    Weights are decibans toward that wine, never negative for a telling cue; `more` is true where
    wine A shows more of it. `known` is false for a descriptor that is only occasional in either
    wine: its presence tells, but nobody should be asked for it.
    """

    attribute: str
    family: str
    reading_a: Reading
    toward_a: float
    reading_b: Reading
    toward_b: float
    more: bool
    known: bool = True

    @property
    def total(self) -> float:
        """Both weights together: how much the cue tells whichever wine is poured."""
        return self.toward_a + self.toward_b

    def reading(self, side: int) -> Reading:
        """The reading that points to wine A (SIDE_A) or B (SIDE_B)."""
        return self.reading_a if side == SIDE_A else self.reading_b

    def toward(self, side: int) -> float:
        """The weight toward wine A (SIDE_A) or B (SIDE_B) of the reading for that side."""
        return self.toward_a if side == SIDE_A else self.toward_b


@dataclass(frozen=True, slots=True)
class Contrast:
    """A cue, or two or three, and which wine of a pair each of its readings points to.

    `wine_a` sorts before `wine_b`. `sides` says for which of them the question can be asked with
    the answer at least 85% probable. `bearing` records the direction of each cue, so that an edit
    of the table which turns the answer is noticed. `strength` is the weight, in decibans, of the
    weaker side that can be asked.
    """

    id: int
    wine_a: str
    wine_b: str
    cues: tuple[str, ...]
    sides: int
    bearing: str
    strength: float

    @property
    def pair(self) -> tuple[str, str]:
        """The two wines, sorted."""
        return (self.wine_a, self.wine_b)


def contrast_id(wine_a: str, wine_b: str, cues: Iterable[str]) -> int:
    """A number from 0 to 2^63 - 1 that depends on the pair and the cues' names alone."""
    text = f"{wine_a}|{wine_b}|{'+'.join(sorted(cues))}"
    return int.from_bytes(hashlib.blake2b(text.encode(), digest_size=8).digest(), "big") >> 1


def ordered_pair(one: str, other: str) -> tuple[str, str]:
    """The two keys, sorted; ValueError if they are the same wine."""
    if one == other:
        raise ValueError("a pair needs two different wines")
    return (one, other) if one < other else (other, one)


@lru_cache(maxsize=4096)
def _noted_weight(p: float, q: float) -> float:
    return DECIBANS * math.log(p / q)


def _scale_cue(attribute: str, a: Picture, b: Picture) -> CueWeight | None:
    mine, theirs = a.scales[attribute], b.scales[attribute]
    if mine == theirs:
        return None

    def telling(readings: Sequence[Reading], sign: int) -> tuple[float, Reading]:
        weighed = [(sign * DECIBANS * (mine.log(r) - theirs.log(r)), r) for r in readings]
        return max(weighed, key=lambda found: found[0])

    toward_a, reading_a = telling(a.typical[attribute], 1)
    toward_b, reading_b = telling(b.typical[attribute], -1)
    # Where ranges overlap only the far ends tell; a wine that has none shows nothing of its own.
    return CueWeight(
        attribute,
        scale_family(attribute),
        reading_a,
        max(toward_a, 0.0),
        reading_b,
        max(toward_b, 0.0),
        _place(a, attribute) > _place(b, attribute),
    )


# The level of oak and the smells of oak are one observation, for cards at least.
_AS_ONE = {"oak-sweet": "oak", "oak-toast": "oak"}
_COLOURS: Mapping[Reading, int] = {
    hue: index for group in HUES.values() for index, hue in enumerate(group)
}


def _place(picture: Picture, attribute: str) -> float:
    readings = picture.typical[attribute]
    numbers = [float(_COLOURS[r]) if isinstance(r, str) else float(r) for r in readings]
    return sum(numbers) / len(numbers)


def cues_of_pair(a: Picture, b: Picture) -> list[CueWeight]:
    """Every cue that speaks for one of two wines, the most telling first."""
    cues = [
        cue
        for attribute in a.scales
        if attribute in b.scales and (cue := _scale_cue(attribute, a, b)) is not None
    ]
    families = a.family_of
    for key in {*a.noted, *b.noted}:
        p, q = a.chance_noted(key), b.chance_noted(key)
        if p == q:
            continue
        more = p > q
        found, missed = _noted_weight(p, q), _noted_weight(1 - q, 1 - p)
        cues.append(
            CueWeight(
                key,
                _AS_ONE.get(families[key], families[key]),
                more,
                found if more else -missed,
                not more,
                missed if more else -found,
                more,
                max(p, q) >= NOTED[Typical.COMMON],
            )
        )
    cues = [cue for cue in cues if cue.total > 0]
    cues.sort(key=lambda cue: (-cue.total, cue.attribute))
    return cues


def contrasts_of_pair(a: Picture, b: Picture) -> list[Contrast]:
    """The small group of contrasts that teaches one pair, single cues first; at most GROUP."""
    if a.wine > b.wine:
        a, b = b, a
    cues = [cue for cue in cues_of_pair(a, b) if cue.known]
    chosen = [*_singles(cues)]
    chosen += _joint(cues, GROUP - len(chosen))
    return [_contrast(a.wine, b.wine, members) for members in chosen]


def _askable(toward_a: float, toward_b: float, measured_a: float, measured_b: float) -> int:
    """The sides that joint weights answer, given how much of each rests on measured cues."""
    return (toward_a >= THRESHOLD and measured_a >= MEASURED_LEAST and SIDE_A) | (
        toward_b >= THRESHOLD and measured_b >= MEASURED_LEAST and SIDE_B
    )


def _sides(members: Sequence[CueWeight]) -> int:
    joint, least, _ = _together([_weights(cue) for cue in members])
    return _askable(*joint) & _told_by_all(least)


def _together(
    weights: Sequence[tuple[float, float, float, float]],
) -> tuple[tuple[float, float, float, float], tuple[float, float], tuple[float, float]]:
    """The joint weights of several cues, and the least and the most of one on either side.

    One loop: it runs for two hundred sets of every pair.
    """
    toward_a = toward_b = measured_a = measured_b = most_a = most_b = 0.0
    least_a = least_b = math.inf
    for a, b, known_a, known_b in weights:
        toward_a += a
        toward_b += b
        measured_a += known_a
        measured_b += known_b
        if a < least_a:
            least_a = a
        if b < least_b:
            least_b = b
        if a > most_a:
            most_a = a
        if b > most_b:
            most_b = b
    return (toward_a, toward_b, measured_a, measured_b), (least_a, least_b), (most_a, most_b)


def _told_by_all(least: tuple[float, float]) -> int:
    """The sides on which every cue has a reading that tells, given the least weight on each.

    Elsewhere a weight of nothing may hide one that speaks, a little, for the other wine.
    """
    return (least[0] > 0 and SIDE_A) | (least[1] > 0 and SIDE_B)


def _weights(cue: CueWeight) -> tuple[float, float, float, float]:
    if cue.attribute in UNMEASURED:
        return (cue.toward_a, cue.toward_b, 0.0, 0.0)
    return (cue.toward_a, cue.toward_b, cue.toward_a, cue.toward_b)


def _singles(cues: Sequence[CueWeight]) -> Iterator[tuple[CueWeight, ...]]:
    families: set[str] = set()
    told = {SIDE_A: 0, SIDE_B: 0}
    for cue in cues:
        if len(families) == _SINGLES:
            return
        sides = _sides([cue])
        # Half the places are kept for either wine, lest every answer be the more marked one.
        wanted = [s for s in (SIDE_A, SIDE_B) if sides & s and told[s] < _SINGLES // 2 + 1]
        if cue.family not in families and wanted:
            families.add(cue.family)
            for side in wanted:
                told[side] += 1
            yield (cue,)


def _joint(cues: Sequence[CueWeight], places: int) -> list[tuple[CueWeight, ...]]:
    """Sets of two, then of three, that are needed together on some side; the best first."""
    telling = [cue for cue in cues if cue.total >= 2 * IDLE]
    considered = [cue for cue in telling if is_scale(cue.attribute)][:_SCALES]
    considered += [cue for cue in telling if not is_scale(cue.attribute)][:_DESCRIPTORS]
    weights = [_weights(cue) for cue in considered]
    answered: dict[tuple[int, ...], int] = {
        (i,): _askable(*weight) for i, weight in enumerate(weights)
    }
    found: list[tuple[CueWeight, ...]] = []
    uses = [0] * len(considered)
    met: set[frozenset[str]] = set()
    for size in (2, 3):
        ranked: list[tuple[float, str, tuple[int, ...]]] = []
        for places_of in combinations(range(len(considered)), size):
            if len({considered[i].family for i in places_of}) < size:
                answered[places_of] = 0
                continue
            ranked += _needed(places_of, considered, weights, answered)
        for _, _, places_of in sorted(ranked):
            if len(found) == places:
                return found
            families = frozenset(considered[i].family for i in places_of)
            if families not in met and all(uses[i] < _USES for i in places_of):
                met.add(families)
                found.append(tuple(considered[i] for i in places_of))
                for i in places_of:
                    uses[i] += 1
        if len(found) == places:
            return found
    return found


def _needed(
    members: tuple[int, ...],
    cues: Sequence[CueWeight],
    weights: Sequence[tuple[float, float, float, float]],
    answered: dict[tuple[int, ...], int],
) -> Iterator[tuple[float, str, tuple[int, ...]]]:
    """The set with its merit, if some side needs all its members: no smaller set answers there."""
    joint, least, most = _together([weights[i] for i in members])
    answered[members] = _askable(*joint)
    sides = answered[members] & _told_by_all(least)
    if not sides:
        return
    smaller = 0
    for rest in combinations(members, len(members) - 1):
        smaller |= answered[rest]
    needed = sum(
        1
        for side in (SIDE_A, SIDE_B)
        if sides & side & ~smaller and least[side - 1] >= IDLE and most[side - 1] >= _STRONG
    )
    if needed:
        weaker = min(joint[side - 1] for side in (SIDE_A, SIDE_B) if sides & side)
        name = "+".join(sorted(cues[i].attribute for i in members))
        yield (-(needed * 8 + 4 * (sides == BOTH_SIDES) + min(weaker, 12.0)), name, members)


def _contrast(wine_a: str, wine_b: str, members: tuple[CueWeight, ...]) -> Contrast:
    members = tuple(sorted(members, key=lambda cue: cue.attribute))
    names = tuple(cue.attribute for cue in members)
    sides = _sides(members)
    joint = [sum(c.toward(side) for c in members) for side in (SIDE_A, SIDE_B) if sides & side]
    return Contrast(
        id=contrast_id(wine_a, wine_b, names),
        wine_a=wine_a,
        wine_b=wine_b,
        cues=names,
        sides=sides,
        bearing="".join("a" if cue.more else "b" for cue in members),
        strength=round(min(joint), 2),
    )


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

    def pairs(self) -> list[tuple[str, str]]:
        """The pairs worth teaching, in the order in which they are met.

        Those the trade takes for each other first, then those of which one wine is among the
        other's NEAREST of the same style; both by separation, the closest first, less _PER_LINK
        decibans for every lateral that either wine has.
        """
        styles: dict[str, list[str]] = {}
        for key, profile in self.table.profiles.items():
            styles.setdefault(profile.style, []).append(key)
        apart: dict[tuple[str, str], float] = {}
        for keys in styles.values():
            for one, other in combinations(sorted(keys), 2):
                apart[(one, other)] = self.separation(one, other)
        near: dict[str, list[tuple[float, tuple[str, str]]]] = {}
        for pair, gap in apart.items():
            for wine in pair:
                near.setdefault(wine, []).append((gap, pair))
        wanted = {pair for found in near.values() for _, pair in sorted(found)[:NEAREST]}
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
        if len(members) < len(cues) or not _sides(members):
            return None
        return _contrast(a, b, members)

    def all_contrasts(self) -> list[Contrast]:
        """Every contrast of the table in the order of introduction, pairs interleaved."""
        left = [group for pair in self.pairs() if (group := self.contrasts(*pair))]
        ordered: list[Contrast] = []
        while left:
            together = _apart(left)
            for place in range(max(map(len, together))):
                ordered += [group[place] for group in together if place < len(group)]
        return ordered


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


def is_scale(attribute: str) -> bool:
    """Whether a cue is read on a scale, rather than noted or not."""
    return attribute in STRUCTURE or attribute in (ALCOHOL, "hue", "depth")
