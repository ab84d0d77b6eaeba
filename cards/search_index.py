"""The index in which the table is searched: which wines answer to a word or a phrase.

A wine is found by its names, its grapes and places in any language, country, world and style, by
what it is known for in any wording, and by its structure (“high acid”). What a profile calls
“never” finds nothing. Sets of wines are whole numbers with one bit for each wine.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
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

Tiers = list[int]


class SearchIndex:
    """Bits of wines by word and by phrase, in tiers."""

    def __init__(self, table: Table) -> None:
        self._table = table
        # In the order in which they are listed when nothing else decides.
        self.wines = sorted(
            table.profiles,
            key=lambda key: (
                STYLE_ORDER.index(table.profiles[key].style)
                if table.profiles[key].style in STYLE_ORDER
                else len(STYLE_ORDER),
                words(table.profiles[key].short),
            ),
        )
        self._bits = {key: 1 << number for number, key in enumerate(self.wines)}
        # Bits of wines by tier, by single word and by whole phrase. A whole phrase is taken as one,
        # so that “new world” does not find the old world's new oak.
        self.by_word: dict[str, Tiers] = {}
        self.by_phrase: dict[str, Tiers] = {}
        # Single words that mean one thing alone: “red” is no redcurrant.
        self.whole: set[str] = set()
        self._folded: dict[str, tuple[tuple[str, ...], ...]] = {}
        self.longest = 1
        for key, profile in table.profiles.items():
            self._add_names(key, profile)
            self._add_kind(key, profile)
        self._add_structure()
        self._add_grapes()
        self._add_places()
        self._add_descriptors()
        self.words = sorted(self.by_word)
        self.phrases = sorted(self.by_phrase)

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
                    _mark(self.by_word, word, tier, bits)
                if phrase:
                    _mark(self.by_phrase, " ".join(said), tier, bits)
                    self.longest = max(self.longest, len(said))
                if whole and len(said) == 1:
                    self.whole.add(said[0])

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
