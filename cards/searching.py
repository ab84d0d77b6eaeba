"""Searching the table as a taster types: every word must be found, and a beginning is enough.

A wine is found by its names, its grapes and places in any language, country, world and style, by
what it is known for in any wording, and by its structure (“high acid”). What a profile calls
“never” finds nothing.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import IntEnum

from cards.lexicon import ALCOHOL, DEPTH, HUES
from cards.naming.folding import spellings, words
from cards.naming.vocabulary import COUNTRIES, STYLES
from cards.profiles import STYLES as STYLE_ORDER
from cards.profiles import Profile
from cards.scale import Level, Typical
from cards.tables import NamedThing, Table
from cards.wording import words_for

# Bands by which a table is browsed, % vol (common practice, no source): below the one few dry
# wines fall, above the other the glass feels warm.
LOW_ALCOHOL, HIGH_ALCOHOL = 12.0, 14.0


class Tier(IntEnum):
    """How closely what was found belongs to the wine, the closest first."""

    NAME = 0
    KIND = 1
    SIGNATURE = 2
    COMMON = 3
    OCCASIONAL = 4


_OF_TYPICAL = {
    Typical.SIGNATURE: Tier.SIGNATURE,
    Typical.COMMON: Tier.COMMON,
    Typical.OCCASIONAL: Tier.OCCASIONAL,
}
_TIERS = len(Tier)
_EMPTY = frozenset({"no", "a", "to"})
_MOST_WORDS = 12
_NOT_FOUND = 1_000
# A strength: “13.5” or “14%”. A whole number without the sign may be the age of a wine.
_STRENGTH = re.compile(r"(?<![\w.,])(\d{1,2}(?:[.,]\d{1,2})?)\s*%|(?<![\w.,])(\d{1,2}[.,]\d{1,2})")
_LEAST_STRENGTH = 4
_LAST = re.compile(r"[^\W_]+$")

Tiers = list[int]


class TableSearch:
    """Finds wines of a table; the index is built once, a search takes well under a millisecond."""

    def __init__(self, table: Table) -> None:
        self._table = table
        # In the order in which they are listed when nothing else decides.
        self._wines = sorted(
            table.profiles,
            key=lambda key: (
                STYLE_ORDER.index(table.profiles[key].style)
                if table.profiles[key].style in STYLE_ORDER
                else len(STYLE_ORDER),
                words(table.profiles[key].short),
            ),
        )
        self._bits = {key: 1 << number for number, key in enumerate(self._wines)}
        # Bits of wines by tier, by single word and by whole phrase. A whole phrase is taken as one,
        # so that “new world” does not find the old world's new oak.
        self._by_word: dict[str, Tiers] = {}
        self._by_phrase: dict[str, Tiers] = {}
        # Single words that mean one thing alone: “red” is no redcurrant.
        self._whole: set[str] = set()
        self._folded: dict[str, tuple[tuple[str, ...], ...]] = {}
        self._longest = 1
        for key, profile in table.profiles.items():
            self._add_names(key, profile)
            self._add_kind(key, profile)
        self._add_structure()
        self._add_grapes()
        self._add_places()
        self._add_descriptors()
        self._words = sorted(self._by_word)
        self._phrases = sorted(self._by_phrase)

    def find(self, text: str) -> list[str]:
        """The keys of the wines in which every word of `text` is found, the best first.

        A word counts from its beginning; case, accents and the order of words do not matter. Text
        without a word finds every wine.
        """
        strengths: list[float] = []

        def taken(match: re.Match[str]) -> str:
            strength = float((match[1] or match[2]).replace(",", "."))
            if strength < _LEAST_STRENGTH:  # “1,8-cineole” is no strength
                return match[0]
            strengths.append(strength)
            return " "

        rest = _STRENGTH.sub(taken, text)
        said = words(rest)[:_MOST_WORDS]
        typed = _LAST.search(rest.casefold())
        costs = self._costs(said, 0, typed[0] if typed else "")
        profiles = self._table.profiles
        found = [
            (cost, number)
            for number, cost in enumerate(costs)
            if cost < _NOT_FOUND
            and all(
                profiles[self._wines[number]].alcohol.low
                <= strength
                <= profiles[self._wines[number]].alcohol.high
                for strength in strengths
            )
        ]
        return [self._wines[number] for _, number in sorted(found)]

    # ---- finding

    def _costs(self, said: Sequence[str], start: int, typed: str) -> list[int]:
        """What it costs every wine to answer to the words from `start` on."""
        count = len(said)
        if start == count:
            return [0] * len(self._wines)
        for end in range(min(count, start + self._longest), start, -1):
            tiers = self._by_phrase.get(" ".join(said[start:end]))
            if tiers is not None and (end - start > 1 or said[start] in self._whole):
                named = self._named(said[start:end], unfinished=bool(typed) and end == count)
                found = _either(self._spread(tiers), named)
                return _both(found, self._costs(said, end, typed))
        # The last word may be the beginning of one: “new z” is New Zealand.
        begun = self._begun(self._phrases, self._by_phrase, " ".join(said[start:]))
        if said[start] == "no":
            return begun
        word = self._word(said[start], typed if start == count - 1 else "")
        found = _both(word, self._costs(said, start + 1, typed))
        return _either(found, begun)

    def _named(self, said: Sequence[str], *, unfinished: bool) -> list[int]:
        """“white” is a style, but stands in White Zinfandel; “dolce” may become Dolcetto."""
        bits = (1 << len(self._wines)) - 1
        for word in said:
            last = unfinished and word is said[-1]
            of_word = 0
            for name in self._starting(self._words, word) if last else (word,):
                of_word |= self._by_word[name][Tier.NAME] if name in self._by_word else 0
            bits &= of_word
        return self._spread_levels([0] * (2 * Tier.KIND + 1) + [bits])

    @staticmethod
    def _starting(names: Sequence[str], start: str) -> Iterator[str]:
        for place in range(bisect_left(names, start), len(names)):
            if not names[place].startswith(start):
                break
            yield names[place]

    def _word(self, word: str, typed: str) -> list[int]:
        """A single word; `typed` is given for the last one, which may not be finished yet."""
        tiers = self._by_word.get(word)
        if tiers is not None and not typed:
            return self._spread(tiers)
        found = self._begun(self._words, self._by_word, word)
        if typed and typed != word:
            # “st” is read as “saint”, but may be the beginning of Stellenbosch.
            found = _either(found, self._begun(self._words, self._by_word, typed))
        return found

    def _begun(self, names: Sequence[str], index: Mapping[str, Tiers], start: str) -> list[int]:
        exact = index.get(start)
        levels = [0] * (2 * _TIERS)
        if exact is not None:
            for tier in Tier:
                levels[2 * tier] = exact[tier]
        for name in self._starting(names, start):
            for number, bits in enumerate(index[name]):
                levels[2 * number + 1] |= bits
        return self._spread_levels(levels)

    def _spread(self, tiers: Tiers) -> list[int]:
        return self._spread_levels([bits for found in tiers for bits in (found, 0)])

    def _spread_levels(self, levels: Sequence[int]) -> list[int]:
        costs = [_NOT_FOUND] * len(self._wines)
        seen = 0
        for cost, level in enumerate(levels):
            left = level & ~seen
            seen |= level
            while left:
                low = left & -left
                costs[low.bit_length() - 1] = cost
                left ^= low
        return costs

    # ---- building

    def _fold(self, text: str) -> tuple[tuple[str, ...], ...]:
        found = self._folded.get(text)
        if found is None:
            found = self._folded[text] = tuple(phrase for phrase in spellings(text) if phrase)
        return found

    def _add(
        self,
        texts: Iterable[str],
        bits: int,
        tier: Tier,
        *,
        phrase: bool = True,
        loose: bool = True,
        whole: bool = False,
    ) -> None:
        """Let `bits` be found by each of `texts` as a `phrase`, and by its `loose` words.

        A text of one word that is `whole` means nothing else.
        """
        if not bits:
            return
        for text in texts:
            for said in self._fold(text):
                for word in said if loose else ():
                    _mark(self._by_word, word, tier, bits)
                if phrase:
                    _mark(self._by_phrase, " ".join(said), tier, bits)
                    self._longest = max(self._longest, len(said))
                if whole and len(said) == 1:
                    self._whole.add(said[0])

    def _add_names(self, key: str, profile: Profile) -> None:
        listed = (
            profile.name,
            profile.short,
            profile.region,
            key.replace("-", " "),
            *profile.synonyms,
            *self._table.names.wines.get(key, ()),
        )
        # Names are no phrases: “white Rioja” may well be more wines than the one that lists it.
        self._add(listed, self._bits[key], Tier.NAME, phrase=False)

    def _add_kind(self, key: str, profile: Profile) -> None:
        bit = self._bits[key]
        self._add(
            (profile.country, *COUNTRIES.get(profile.country, ())), bit, Tier.KIND, whole=True
        )
        self._add((f"{profile.world} world",), bit, Tier.KIND, whole=True)
        self._add((f"{profile.climate} climate",), bit, Tier.KIND)
        for tier, texts in _styles(profile):
            self._add(texts, bit, tier, whole=True)

    def _add_structure(self) -> None:
        lexicon = self._table.lexicon
        placed: dict[tuple[str, Level, Tier], int] = {}
        for wine, profile in self._table.profiles.items():
            bit = self._bits[wine]
            for attribute, typical in (*profile.structure.items(), (DEPTH, profile.depth)):
                tier = Tier.KIND if typical.low == typical.high else Tier.COMMON
                for level in typical:
                    placed[attribute, level, tier] = placed.get((attribute, level, tier), 0) | bit
            for band in strength_bands(profile):
                self._add((f"{band} {ALCOHOL}",), bit, Tier.KIND)
            oak = profile.structure.get("oak")
            if oak is not None:
                value = "oaked" if oak.high >= Level.MED else "unoaked"
                self._add(STYLES["oak"][value], bit, Tier.KIND)
        for (attribute, level, tier), bits in placed.items():
            texts = [words_for(attribute, level, lexicon)]
            if level in (Level.LOW, Level.MED, Level.HIGH):
                texts.append(f"{level.label} {attribute}")
            for text in texts:
                # The words of “no oak to speak of” say nothing one by one.
                self._add((text,), bits, tier, loose=not _EMPTY.intersection(text.split()))

    def _add_grapes(self) -> None:
        main: dict[str, int] = {}
        some: dict[str, int] = {}
        for key, profile in self._table.profiles.items():
            most = max((span.middle for span in profile.grapes.values()), default=0)
            for grape, span in profile.grapes.items():
                group = main if span.middle >= 0.8 * most else some
                group[grape] = group.get(grape, 0) | self._bits[key]
        for key in main.keys() | some.keys():
            thing = self._table.names.grapes.get(key)
            texts = (thing.name, *thing.synonyms) if thing else (key.replace("-", " "),)
            self._add(texts, main.get(key, 0), Tier.KIND)
            self._add(texts, some.get(key, 0), Tier.COMMON)

    def _add_places(self) -> None:
        places = self._table.names.places
        around = {key: list(_around(key, places)) for key in places}
        at = self._wines_at(places)
        inside: dict[str, int] = {}
        for key, bits in at.items():
            for outer in around[key]:
                inside[outer] = inside.get(outer, 0) | bits
        for key, thing in places.items():
            texts = (thing.name, *thing.synonyms)
            near = at.get(key, 0) | inside.get(key, 0) | self._bits.get(thing.classic, 0)
            self._add(texts, near, Tier.KIND)
            if not near:
                # A place with no wine of its own is found by those of the country round it.
                upward = next((at[outer] for outer in around[key] if outer in at), 0)
                self._add(texts, upward, Tier.OCCASIONAL)

    def _wines_at(self, places: Mapping[str, NamedThing]) -> dict[str, int]:
        """Bits of the wines by the places that their region, names and keys tell of."""
        called: dict[str, list[str]] = {}
        for key, thing in places.items():
            for text in (thing.name, *thing.synonyms):
                for said in self._fold(text):
                    called.setdefault(" ".join(said), []).append(key)
        at: dict[str, int] = {}
        for wine, profile in self._table.profiles.items():
            region = self._places_in(profile.region, called, profile.country)
            found = set(region)
            for text in (profile.name, profile.short, wine.replace("-", " ")):
                for place in self._places_in(text, called, profile.country):
                    # The grape of the Abruzzo shares its name with a town of Tuscany.
                    if not region or region.intersection(_around(place, places)):
                        found.add(place)
            for place in found:
                at[place] = at.get(place, 0) | self._bits[wine]
        return at

    def _places_in(self, text: str, called: Mapping[str, list[str]], country: str) -> set[str]:
        said = self._fold(text)[0]
        ends = ((i, j) for i in range(len(said)) for j in range(i + 1, min(len(said), i + 5) + 1))
        return {
            place
            for start, end in ends
            for place in called.get(" ".join(said[start:end]), ())
            if self._table.names.places[place].country == country
        }

    def _add_descriptors(self) -> None:
        lexicon = self._table.lexicon
        noted: dict[tuple[str, Tier], int] = {}
        families: dict[tuple[str, Tier], int] = {}
        for wine, profile in self._table.profiles.items():
            for key, typical in profile.descriptors.items():
                tier = _OF_TYPICAL.get(typical)
                if tier is not None:
                    bit = self._bits[wine]
                    noted[key, tier] = noted.get((key, tier), 0) | bit
                    family = lexicon.family_of(key)
                    families[family, tier] = families.get((family, tier), 0) | bit
        for (key, tier), bits in noted.items():
            self._add(lexicon.descriptors[key].wordings, bits, tier)
        for (family, tier), bits in families.items():
            self._add((lexicon.families[family],), bits, tier)


def _mark(index: dict[str, Tiers], name: str, tier: Tier, bits: int) -> None:
    tiers = index.get(name)
    if tiers is None:
        tiers = index[name] = [0] * _TIERS
    tiers[tier] |= bits


def strength_bands(profile: Profile) -> Iterator[str]:
    """“low”, “high” or nothing: where the middle of a wine's strength lies when browsing."""
    if profile.alcohol.middle <= LOW_ALCOHOL:
        yield "low"
    if profile.alcohol.middle >= HIGH_ALCOHOL:
        yield "high"


def _either(one: Sequence[int], other: Sequence[int]) -> list[int]:
    return [min(a, b) for a, b in zip(one, other, strict=True)]


def _both(one: Sequence[int], other: Sequence[int]) -> list[int]:
    return [a + b for a, b in zip(one, other, strict=True)]


def _around(key: str, places: Mapping[str, NamedThing]) -> Iterator[str]:
    seen = {key}
    outer = places[key].within
    while outer in places and outer not in seen:
        seen.add(outer)
        yield outer
        outer = places[outer].within


def _styles(profile: Profile) -> Iterator[tuple[Tier, Iterable[str]]]:
    """Words of the style, and of the colour in the glass whatever the style."""
    colour = next(
        (name for name, hues in HUES.items() if profile.hues and profile.hues[0] in hues), ""
    )
    if profile.style in STYLES["colour"]:
        yield Tier.KIND, STYLES["colour"][profile.style]
    elif colour:
        yield Tier.COMMON, STYLES["colour"][colour]
    for category in ("fizz", "fortified"):
        if profile.style in STYLES[category]:
            yield Tier.KIND, STYLES[category][profile.style]
    yield Tier.KIND, (profile.style,)
    sweetness = {"dry": "dry", "sweet": "sweet", "medium dry": "off-dry", "medium": "off-dry"}
    value = sweetness.get(profile.sugar_class)
    if value:
        yield Tier.KIND, STYLES["sweetness"][value]
    if profile.style == "sparkling":
        yield Tier.KIND, STYLES["dosage"].get(profile.sugar_class, ())
