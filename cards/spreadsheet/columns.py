"""The columns of a sheet: which fact each holds, how it is named, how it is found again."""

from __future__ import annotations

import re
from collections.abc import Mapping

from cards.facts import FactPath
from cards.lexicon import DEPTH, HUE, STRUCTURE
from cards.tables import Table

KEY, STYLE, BASES = "key", "style", "bases"

# One column for each fact that every wine has, and for tannin; the columns of descriptors follow.
PLACES: Mapping[str, FactPath] = {
    "name": ("name",),
    "short": ("short",),
    "synonyms": ("synonyms",),
    "telling": ("telling",),
    "laterals": ("laterals",),
    "grapes": ("grape", "shares"),
    "country": ("place", "country"),
    "region": ("place", "region"),
    "world": ("place", "world"),
    "climate": ("place", "climate"),
    HUE: ("colour", "hue"),
    DEPTH: ("colour", "depth"),
    "rim": ("colour", "rim"),
    "ageing": ("colour", "ageing"),
    "alcohol low": ("alcohol", "low"),
    "alcohol high": ("alcohol", "high"),
    "sugar class": ("sugar", "class"),
    "sugar low": ("sugar", "low"),
    "sugar high": ("sugar", "high"),
    **{name: ("structure", name) for name in STRUCTURE},
    "oak vessel": ("oak", "vessel"),
    "oak months": ("oak", "months"),
    "release": ("age", "release"),
    "window": ("age", "window"),
    "quality": ("age", "quality"),
}
_HEADERS: Mapping[FactPath, str] = {path: header for header, path in PLACES.items()}
_TAKEN = frozenset({*PLACES, KEY, STYLE, BASES})
NUMBERS = frozenset(p for p in PLACES.values() if p[-1] in ("low", "high", "release"))


def header_of(path: FactPath) -> str:
    """The name of a fact's column."""
    if path in _HEADERS:
        return _HEADERS[path]
    return f"descriptor {path[-1]}" if path[-1] in _TAKEN else path[-1]


def column_letters(index: int) -> str:
    """The letters over a column: 0 is A, 25 is Z, 26 is AA."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def folded(text: str) -> str:
    """A name as it is compared: case, hyphens, underscores and spaces do not matter."""
    return " ".join(re.split(r"[-_\s]+", text.strip().casefold()))


def known_headers(table: Table) -> dict[str, FactPath | str]:
    """What a folded header means: a fact, or one of KEY, STYLE and BASES."""
    known: dict[str, FactPath | str] = {name: name for name in (KEY, STYLE, BASES)}
    known |= {folded(header): path for header, path in PLACES.items()}
    for key in table.lexicon.descriptors:
        known.setdefault(folded(key), ("descriptors", key))
        known[f"descriptor {folded(key)}"] = ("descriptors", key)
    for key, descriptor in table.lexicon.descriptors.items():
        for wording in descriptor.wordings:
            known.setdefault(folded(wording), ("descriptors", key))
    return known
