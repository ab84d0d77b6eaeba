"""The index of names: which wines a grape, a place, a country or a style word leaves standing.

Sets of wines are whole numbers with one bit for each wine, so that a name of several words is
read by a few “and”s; measured, reading one takes some tens of microseconds.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from cards.lexicon import HUES
from cards.naming.folding import spellings, words
from cards.naming.mentions import Facts, Mention, Place
from cards.naming.vocabulary import (
    CHOOSING,
    COUNTRIES,
    NOISE,
    STOPS,
    style_phrases,
)
from cards.profiles import Profile
from cards.scale import Level
from cards.tables import Table

LONGEST = 8  # words in one name; the longest appellations have seven
_LEFT_OVER = 100  # dearer than any number of phrases


class NameIndex:
    """Phrases of the table with their readings, and the names that wines bear."""

    def __init__(self, table: Table) -> None:
        self._table = table
        self.keys = tuple(table.profiles)
        self.bits = {key: 1 << number for number, key in enumerate(self.keys)}
        self.all = (1 << len(self.keys)) - 1
        self.mentions: dict[str, Mention] = {}
        self.exact: dict[str, int] = {}
        self.any_order: dict[tuple[str, ...], int] = {}
        self._said: set[str] = set()
        self._noise: set[str] = set()
        self.facts = [
            Facts(key, self.bits[key], profile) for key, profile in table.profiles.items()
        ]
        self._add_style_words()
        self._add_countries()
        self._add_grapes()
        places = self._places()
        self._find_own_places(places)
        self._add_places(places)
        self._add_style_sets()
        self._add_wine_names()
        self.vocabulary = tuple(sorted(self._said))

    def wines(self, bits: int) -> Iterator[str]:
        """The keys in a set of wines, in the table's order."""
        while bits:
            low = bits & -bits
            yield self.keys[low.bit_length() - 1]
            bits ^= low

    def of(self, bits: int) -> Iterator[Facts]:
        """The facts of the wines in a set."""
        while bits:
            low = bits & -bits
            yield self.facts[low.bit_length() - 1]
            bits ^= low

    def signature(self, said: Iterable[str]) -> tuple[str, ...]:
        """The words that count, in alphabetical order, so that “Rioja, red” is “red Rioja”."""
        return tuple(sorted(word for word in said if word not in self._noise))

    def read(
        self, said: Sequence[str], *, whole_names: bool = True
    ) -> tuple[list[Mention], list[str]]:
        """The phrases in `said` and the words left over, in the reading that leaves fewest over.

        Phrases are compared without spaces: “Mc Laren” is “McLaren”. Without `whole_names`, names
        of wines that are no grape, place or style are not looked for.
        """
        count = len(said)
        # The best reading of the first words: its cost, the last phrase and where that began.
        best: list[tuple[int, Mention | None, int]] = [(0, None, 0)] * (count + 1)
        for end in range(1, count + 1):
            best[end] = (best[end - 1][0] + _LEFT_OVER, None, end - 1)
            for start in range(max(0, end - LONGEST), end):
                mention = self.mentions.get("".join(said[start:end]))
                if mention is None or not (whole_names or mention.has_parts):
                    continue
                cost = best[start][0] + (_LEFT_OVER if mention.stop else 10 - (end - start))
                if cost < best[end][0]:
                    best[end] = (cost, mention, start)
        found: list[Mention] = []
        left: list[str] = []
        while count:
            _, mention, start = best[count]
            if mention is None:
                left.append(said[start])
            else:
                found.append(mention)
            count = start
        return found[::-1], left[::-1]

    # Building. Order matters: names of wines are read with the words of grapes, places and styles.

    def _mention(self, phrase: Sequence[str]) -> Mention:
        compact = "".join(phrase)
        mention = self.mentions.get(compact)
        if mention is None:
            mention = self.mentions[compact] = Mention(" ".join(phrase), len(phrase))
            self._said.update(word for word in phrase if not word.isdigit())
        return mention

    def _add_style_words(self) -> None:
        for text in NOISE:
            for phrase in spellings(text):
                self._mention(phrase).noise = True
                if len(phrase) == 1:
                    self._noise.add(phrase[0])
        for text in STOPS:
            self._mention(words(text)).stop = True
        for text, category, value in style_phrases():
            for phrase in spellings(text):
                mention = self._mention(phrase)
                mention.category, mention.value = category, value
                mention.noise = False

    def _add_countries(self) -> None:
        self._of_country = of_country = dict[str, int]()
        for facts in self.facts:
            country = facts.profile.country
            of_country[country] = of_country.get(country, 0) | facts.bit
        for country in of_country.keys() | COUNTRIES.keys():
            for text in (country, *COUNTRIES.get(country, ())):
                for phrase in spellings(text):
                    mention = self._mention(phrase)
                    mention.country |= of_country.get(country, 0)
                    mention.is_country = True

    def _add_grapes(self) -> None:
        main: dict[str, int] = {}
        share: dict[str, int] = {}
        for facts in self.facts:
            grapes = facts.profile.grapes
            most = max((span.middle for span in grapes.values()), default=0)
            # A sparkling wine is called by one grape only if it is nearly all of it.
            least = max(0.8 * most, 60 if facts.profile.style == "sparkling" else 0)
            for grape, span in grapes.items():
                share[grape] = share.get(grape, 0) | facts.bit
                if span.middle >= least:
                    main[grape] = main.get(grape, 0) | facts.bit
        for key, thing in self._table.names.grapes.items():
            for text in (thing.name, *thing.synonyms):
                for phrase in spellings(text):
                    if not phrase:
                        continue
                    mention = self._mention(phrase)
                    mention.is_grape = True
                    mention.noise = mention.stop = False
                    mention.main |= main.get(key, 0)
                    mention.share |= share.get(key, 0)

    def _places(self) -> dict[str, Place]:
        things = self._table.names.places
        places = {}
        for key, thing in things.items():
            round_it: list[str] = []
            outer = thing.within
            while outer in things and outer not in round_it and outer != key:
                round_it.append(outer)
                outer = things[outer].within
            places[key] = Place(thing, tuple(round_it))
        return places

    def _place_phrases(self, places: Mapping[str, Place]) -> dict[str, set[str]]:
        """Keys of places by compact phrase; a country's name is no place."""
        phrases: dict[str, set[str]] = {}
        of_country = {
            country: {"".join(phrase) for text in texts for phrase in spellings(text)}
            for country, texts in COUNTRIES.items()
        }
        for key, place in places.items():
            thing = place.thing
            for text in (thing.name, *thing.synonyms):
                for phrase in spellings(text):
                    compact = "".join(phrase)
                    if not compact or compact in of_country.get(thing.country, ()):
                        continue
                    phrases.setdefault(compact, set()).add(key)
                    mention = self._mention(phrase)
                    mention.is_place = True
                    mention.noise = mention.stop = False
        return phrases

    def _find_own_places(self, places: Mapping[str, Place]) -> None:
        self._phrases = self._place_phrases(places)

        def in_words(said: Sequence[str], bit: int) -> set[str]:
            """Places named in `said`, those that are also the wine's grape only if need be."""
            places_only: set[str] = set()
            grapes_too: set[str] = set()
            for mention in self.read(said)[0]:
                if mention.is_place:
                    found = self._phrases.get(mention.phrase.replace(" ", ""), set())
                    (grapes_too if mention.main & bit else places_only).update(found)
            return places_only or grapes_too

        for facts in self.facts:
            profile = facts.profile
            key_words = tuple(facts.key.replace("_", "-").split("-"))
            mentions, _ = self.read(key_words)
            for mention in mentions:
                if mention.category == "colour":
                    facts.tint.add((mention.category, mention.value))
                elif mention.category and mention.category != "dosage":
                    facts.marks.add((mention.category, mention.value))
            for number in key_words:
                if number in ("10", "20", "30", "40"):
                    facts.marks.add(("years", number))
            facts.marks.discard(("sweetness", "dry"))
            own = in_words(key_words, facts.bit)
            for text in (profile.short, profile.name, profile.region):
                if own:
                    break
                own = in_words(words(text), facts.bit)
            facts.own = {
                key for key in own if not any(key in places[other].round_it for other in own)
            }
            facts.own = facts.own or own

    def _add_places(self, places: Mapping[str, Place]) -> None:
        of_country = self._of_country
        at: dict[str, int] = {}
        inside: dict[str, int] = {}
        for facts in self.facts:
            for key in facts.own:
                at[key] = at.get(key, 0) | facts.bit
                for outer in places[key].round_it:
                    inside[outer] = inside.get(outer, 0) | facts.bit
        still = sum(f.bit for f in self.facts if f.profile.style in ("white", "red"))
        only_special = {key for key, bits in at.items() if not bits & still}
        for compact, keys in self._phrases.items():
            mention = self.mentions[compact]
            for key in keys:
                place = places[key]
                classic = self.bits.get(place.thing.classic, 0)
                own = at.get(key, 0)
                upward = near = 0
                for outer in (key, *place.round_it):
                    upward |= at.get(outer, 0)
                    # Port lies in the Douro, but a Port is no wine of the Douro.
                    if outer in only_special:
                        break
                for outer in place.round_it:
                    near |= inside.get(outer, 0)
                mention.near |= near or of_country.get(place.thing.country, 0)
                mention.classic |= classic
                mention.exact |= own | classic
                mention.upward |= upward | classic
                mention.around |= inside.get(key, 0)

    def _add_style_sets(self) -> None:
        by_value: dict[tuple[str, str], int] = {}
        extra = self._table.names.wines
        for facts in self.facts:
            profile = facts.profile
            found = set(facts.marks)
            found.update(_style_facts(profile))
            listed = (profile.name, profile.short, *profile.synonyms, *extra.get(facts.key, ()))
            for text in listed:
                mentions, left = self.read(words(text))
                said = [mention for mention in mentions if not mention.noise]
                for mention in said:
                    if mention.category:
                        found.add((mention.category, mention.value))
                if not left and len(said) == 2 and any(m.main & facts.bit for m in said):
                    for mention in said:
                        if mention.is_place:
                            mention.listed |= facts.bit
            for category, value in found:
                facts.values.setdefault(category, set()).add(value)
                by_value[category, value] = by_value.get((category, value), 0) | facts.bit
        kinds = {m.phrase: m.value for m in self.mentions.values() if m.category == "kind"}
        for mention in self.mentions.values():
            if mention.is_place and not mention.category:
                # “Amarone della Valpolicella” is a kind of wine before it is a place.
                mention.value = next(
                    (kinds[word] for word in mention.phrase.split() if word in kinds), ""
                )
                mention.category = "kind" if mention.value else ""
            if mention.category and mention.category not in CHOOSING:
                mention.style = by_value.get((mention.category, mention.value), 0)
        for facts in self.facts:
            parts = facts.key.split("-")
            for end in range(1, len(parts)):
                base = "-".join(parts[:end])
                if base in self.bits:
                    facts.base |= self.bits[base]
                    self.facts[self.bits[base].bit_length() - 1].variants |= facts.bit

    def _add_wine_names(self) -> None:
        extra = self._table.names.wines
        for facts in self.facts:
            profile = facts.profile
            listed = (profile.name, profile.short, *profile.synonyms, *extra.get(facts.key, ()))
            said = {phrase for text in listed for phrase in spellings(text)}
            said.add(words(facts.key))
            for phrase in said:
                if not phrase:
                    continue
                compact = "".join(phrase)
                self.exact[compact] = self.exact.get(compact, 0) | facts.bit
                signature = self.signature(phrase)
                if signature:
                    self.any_order[signature] = self.any_order.get(signature, 0) | facts.bit
                if len(phrase) <= LONGEST:
                    mention = self._mention(phrase)
                    mention.wines |= facts.bit
                    mention.kin |= facts.variants
                    mention.noise = mention.stop = False


def _style_facts(profile: Profile) -> Iterator[tuple[str, str]]:
    """What the facts of a profile say in the words of a label."""
    for colour, hues in HUES.items():
        if profile.hues and profile.hues[0] in hues:
            # Rosé glasses have hues of their own; a folder “rose” says it in any case.
            yield "colour", "rose" if profile.style == "rose" else colour
    if profile.style == "sparkling":
        yield "fizz", "sparkling"
        yield "dosage", profile.sugar_class
    else:
        yield "fizz", "still"
    if profile.style == "fortified":
        yield "fortified", "fortified"
    sweetness = {
        "dry": "dry",
        "medium dry": "off-dry",
        "medium": "off-dry",
        "sweet": "sweet",
    }.get(profile.sugar_class)
    if sweetness and profile.style != "sparkling":
        yield "sweetness", sweetness
    if profile.sugar_class == "medium dry" and profile.style != "sparkling":
        yield "sweetness", "dry"  # a few grams that most tasters call dry
    if profile.style == "sparkling" and profile.sugar_class in ("medium dry", "sweet"):
        yield "sweetness", "sweet"
    oak = profile.structure.get("oak")
    if oak is not None:
        yield "oak", "oaked" if oak.high >= Level.MED else "unoaked"
