"""Browsing the table: which wines answer to the words typed and to the filters set."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from functools import cached_property

from cards.evidence import NOTED
from cards.lexicon import ALCOHOL, STRUCTURE
from cards.profiles import STYLE_NAMES, Profile, Span
from cards.profiles import STYLES as STYLE_ORDER
from cards.scale import Level, Typical
from cards.search_index import strength_bands
from cards.searching import TableSearch
from cards.tables import Table
from cards.wording import words_for

_KNOWN = (Typical.SIGNATURE, Typical.COMMON)


@dataclass(frozen=True, slots=True)
class WineRow:
    """One wine of the table in a line: `telling` holds the few words it is best known for."""

    wine: str
    short: str
    style: str
    country: str
    alcohol: str
    grapes: str
    telling: str


@dataclass(frozen=True, slots=True)
class Filters:
    """What the wines must be; an empty filter lets every wine through.

    `cue` is a descriptor that the wine is noted for, or an attribute with its end of the scale,
    such as “acid high” or “alcohol low”.
    """

    style: str = ""
    world: str = ""
    country: str = ""
    grape: str = ""
    cue: str = ""

    def __bool__(self) -> bool:
        return any(getattr(self, field.name) for field in fields(self))


@dataclass(frozen=True, slots=True)
class Choice:
    """One value of a filter: its key, its words, and how many of the wines shown it leaves."""

    key: str
    words: str
    wines: int


class Browser:
    """Browses one table; what searching needs is built when the first word is typed."""

    def __init__(self, table: Table) -> None:
        self.table = table

    @cached_property
    def search(self) -> TableSearch:
        """The search index."""
        return TableSearch(self.table)

    @cached_property
    def _in_order(self) -> list[str]:
        profiles = self.table.profiles
        return sorted(
            profiles,
            key=lambda key: (_style_place(profiles[key].style), profiles[key].short.casefold()),
        )

    def find(self, text: str, filters: Filters) -> list[str]:
        """The wines that answer to the words and to every filter, the best first."""
        wines = self.search.find(text) if text.strip() else self._in_order
        found = [wine for wine in wines if self._passes(self.table.profiles[wine], filters)]
        if filters.cue in self.table.lexicon.descriptors and not text.strip():
            noted = [*NOTED]
            found.sort(
                key=lambda wine: noted.index(self.table.profiles[wine].descriptors[filters.cue])
            )
        return found

    def row(self, wine: str) -> WineRow:
        """A wine in a line."""
        profile = self.table.profiles[wine]
        known = sorted(
            (key for key in profile.descriptors if profile.descriptors[key] in _KNOWN),
            key=lambda key: profile.descriptors[key] is not Typical.SIGNATURE,
        )
        return WineRow(
            wine=wine,
            short=profile.short,
            style=style_name(profile.style),
            country=profile.country,
            alcohol=f"{profile.alcohol.low:g}–{profile.alcohol.high:g}",
            grapes=", ".join(name for name, _ in grape_shares(self.table, profile)),
            telling=", ".join(self.table.lexicon.name_of(key) for key in known[:5]),
        )

    def choices(self, name: str, text: str, filters: Filters) -> list[Choice]:
        """The values of one filter that leave at least one wine, the others as they are set."""
        shown = self.find(text, replace(filters, **{name: ""}))
        counts: dict[str, int] = {}
        for wine in shown:
            for key in self._values(self.table.profiles[wine], name):
                counts[key] = counts.get(key, 0) + 1
        found = [Choice(key, self.words(name, key), number) for key, number in counts.items()]
        if name == "style":
            return sorted(found, key=lambda one: _style_place(one.key))
        if name == "world":
            return sorted(found, key=lambda one: one.key == "new")
        if name == "cue":
            # The structure first, as a taster goes through a glass; then the words.
            return sorted(found, key=lambda one: (_structure_place(one.key), one.words.casefold()))
        return sorted(found, key=lambda one: one.words.casefold())

    def words(self, name: str, key: str) -> str:
        """The value of a filter in words; the filter's name where it is not set."""
        if not key:
            return name
        if name == "style":
            return style_name(key)
        if name == "world":
            return f"{key} world"
        if name == "grape":
            thing = self.table.names.grapes.get(key)
            return thing.name if thing else key.replace("-", " ")
        if name == "cue" and " " in key:
            attribute, end = key.split(" ")
            if attribute == ALCOHOL:
                return f"{end} alcohol"
            level = Level.LOW if end == "low" else Level.HIGH
            return words_for(attribute, level, self.table.lexicon)
        return self.table.lexicon.name_of(key) if name == "cue" else key

    def _passes(self, profile: Profile, filters: Filters) -> bool:
        return all(
            wanted in self._values(profile, name)
            for name, wanted in (
                ("style", filters.style),
                ("world", filters.world),
                ("country", filters.country),
                ("grape", filters.grape),
                ("cue", filters.cue),
            )
            if wanted
        )

    def _values(self, profile: Profile, name: str) -> Iterable[str]:
        if name == "grape":
            return profile.grapes
        if name == "cue":
            return self._cues[profile.key]
        return (getattr(profile, name),)

    @cached_property
    def _cues(self) -> dict[str, tuple[str, ...]]:
        return {key: tuple(_cues(profile)) for key, profile in self.table.profiles.items()}


def style_name(style: str) -> str:
    """A style in words."""
    return STYLE_NAMES.get(style, style)


def _style_place(style: str) -> int:
    return STYLE_ORDER.index(style) if style in STYLE_ORDER else len(STYLE_ORDER)


def _structure_place(key: str) -> int:
    attribute, _, end = key.partition(" ")
    places = (*STRUCTURE, ALCOHOL)
    return 2 * places.index(attribute) + (end == "high") if end else 2 * len(places)


def _cues(profile: Profile) -> Iterable[str]:
    for attribute, typical in profile.structure.items():
        if Level.LOW in typical:
            yield f"{attribute} low"
        if Level.HIGH in typical:
            yield f"{attribute} high"
    for end in strength_bands(profile):
        yield f"{ALCOHOL} {end}"
    for key, typical_ in profile.descriptors.items():
        if typical_ is not Typical.NEVER:
            yield key


def grape_shares(table: Table, profile: Profile) -> list[tuple[str, Span]]:
    """The grapes of a wine by name with their shares in per cent, the largest first."""
    found = []
    for key, share in sorted(profile.grapes.items(), key=lambda item: -item[1].middle):
        thing = table.names.grapes.get(key)
        found.append((thing.name if thing else key.replace("-", " "), share))
    return found
