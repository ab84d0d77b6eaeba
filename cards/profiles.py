"""The profile: the typical picture of one wine, every fact with its basis."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from cards.fields import Fields
from cards.lexicon import HUES, STRUCTURE, Lexicon
from cards.scale import LevelRange, Typical

STYLES = ("white", "rose", "red", "sparkling", "sweet", "fortified")
STYLE_NAMES: Mapping[str, str] = {"rose": "rosé"}
WORLDS = ("old", "new")
CLIMATES = ("cool", "moderate", "warm", "hot")
SWEETNESS_CLASSES: Mapping[str, tuple[str, ...]] = {
    "sparkling": (
        "brut nature",
        "extra brut",
        "brut",
        "extra dry",
        "dry",
        "medium dry",
        "sweet",
    ),
}
STILL_CLASSES = ("dry", "medium dry", "medium", "sweet")

PRACTICE = "practice"
MEMORY = "memory"
OWN = "own"
# Written in the taster's folder, it takes a fact of the shipped file away.
UNLISTED = "unlisted"


@dataclass(frozen=True, slots=True)
class Span:
    """A typical range of a number, both ends included."""

    low: float
    high: float

    @property
    def middle(self) -> float:
        """The middle of the range."""
        return (self.low + self.high) / 2

    def __str__(self) -> str:
        if self.low == self.high:
            return f"{self.low:g}"
        return f"{self.low:g} to {self.high:g}"


@dataclass(frozen=True, slots=True)
class Profile:
    """The typical picture of one wine.

    `alcohol` is % vol, the central 80% of bottles on sale; `sugar` is residual sugar in g/L;
    `grapes` gives each grape's share in per cent; `release` is in years after the harvest. `bases`
    names the basis of each fact: a key of sources.toml, “practice”, “memory” or “own”.
    """

    key: str
    name: str
    short: str
    style: str
    telling: str
    grapes: Mapping[str, Span]
    country: str
    region: str
    world: str
    climate: str
    hues: tuple[str, ...]
    depth: LevelRange
    rim: str
    ageing: str
    alcohol: Span
    sugar_class: str
    sugar: Span
    structure: Mapping[str, LevelRange]
    vessel: str
    oak_months: Span
    release: float
    window: Span
    quality: str
    descriptors: Mapping[str, Typical]
    bases: Mapping[str, str] = field(repr=False)
    synonyms: tuple[str, ...] = ()
    laterals: tuple[str, ...] = ()

    def basis_of(self, attribute: str) -> str:
        """The basis of a fact; an unlisted descriptor's absence rests on common practice."""
        return self.bases.get(attribute, PRACTICE)


_SPAN = re.compile(r"\s*(\d+(?:\.\d+)?)(?:\s+to\s+(\d+(?:\.\d+)?))?\s*")


def parse_span(text: str) -> Span:
    """Read “85” or “85 to 100”; ValueError says what is wrong."""
    match = _SPAN.fullmatch(text)
    if not match:
        raise ValueError(f"“{text}” is no range; write “12” or “12 to 24”")
    low = float(match[1])
    high = float(match[2]) if match[2] else low
    if low > high:
        raise ValueError(f"the range runs backwards: “{text}”")
    return Span(low, high)


class _Bases:
    """Finds the nearest basis: on the fact, else in its section, else at the top of the file."""

    def __init__(self, top: str) -> None:
        self.top = top
        self.found: dict[str, str] = {}

    def section(self, fields: Fields, *attributes: str) -> str:
        basis = fields.text("basis", self.top)
        for attribute in attributes:
            self.found[attribute] = basis
        return basis


def read_profile(key: str, style: str, fields: Fields, lexicon: Lexicon) -> Profile:
    """The profile written in `fields`; problems are noted there."""
    bases = _Bases(fields.text("basis", PRACTICE))
    short = fields.text("short")
    if len(short) > 24:
        fields.note(f"{len(short)} characters are too many, 24 fit above a glass", "short")
    if style not in STYLES:
        fields.note(f"the folder “{style}” is none of {', '.join(STYLES)}")

    grape = fields.section("grape")
    bases.section(grape, "grape")
    shares = grape.section("shares")
    grapes = {name: _span_text(shares, name) for name in shares.names()}
    if not grapes:
        grape.note("names no grape", "shares")
    grape.done()

    place = fields.section("place")
    bases.section(place, "place")
    country, region = place.text("country"), place.text("region")
    world, climate = place.choice("world", WORLDS), place.choice("climate", CLIMATES)
    place.done()

    colour = fields.section("colour")
    default = bases.section(colour, "hue", "depth")
    hues = _read_hues(colour, bases, default)
    value = colour.raw("depth") if "depth" in colour.names() else None
    if isinstance(value, Mapping):
        value, bases.found["depth"] = _with_basis(colour, "depth", "level", default)
    depth = _levels(colour, "depth", value)
    rim, ageing = colour.text("rim"), colour.text("ageing")
    colour.done()

    alcohol = _span_section(fields.section("alcohol"), bases, "alcohol", 4, 24)

    sugar_fields = fields.section("sugar")
    sugar_class = sugar_fields.choice("class", SWEETNESS_CLASSES.get(style, STILL_CLASSES))
    sugar = _span_section(sugar_fields, bases, "sugar", 0, 700)

    structure = _read_structure(fields.section("structure"), style, bases)

    oak = fields.section("oak")
    bases.section(oak, "oak vessel")
    vessel, oak_months = oak.text("vessel"), _span_text(oak, "months")
    oak.done()

    age = fields.section("age")
    bases.section(age, "age")
    release = age.number("release", least=0, most=60)
    window, quality = _span_text(age, "window"), age.text("quality")
    age.done()

    laterals = fields.texts("laterals", [])
    if key in laterals:
        fields.note("names the wine itself", "laterals")

    profile = Profile(
        key=key,
        name=fields.text("name"),
        short=short,
        style=style,
        telling=fields.text("telling"),
        grapes=grapes,
        country=country,
        region=region,
        world=world,
        climate=climate,
        hues=hues,
        depth=depth,
        rim=rim,
        ageing=ageing,
        alcohol=alcohol,
        sugar_class=sugar_class,
        sugar=sugar,
        structure=structure,
        vessel=vessel,
        oak_months=oak_months,
        release=release,
        window=window,
        quality=quality,
        descriptors=_read_descriptors(fields.section("descriptors"), bases, lexicon),
        bases=bases.found,
        synonyms=fields.texts("synonyms", []),
        laterals=laterals,
    )
    fields.done()
    return profile


def _read_hues(colour: Fields, bases: _Bases, default: str) -> tuple[str, ...]:
    if "hue" in colour.names() and isinstance(colour.raw("hue"), Mapping):
        entry = colour.section("hue")
        hues, bases.found["hue"] = entry.texts("usual"), entry.text("basis", default)
        entry.done()
    else:
        hues = colour.texts("hue")
    known = {hue for group in HUES.values() for hue in group}
    for hue in hues:
        if hue not in known:
            colour.note(f"“{hue}” is none of {', '.join(sorted(known))}", "hue")
    return hues


def _read_structure(section: Fields, style: str, bases: _Bases) -> dict[str, LevelRange]:
    default = bases.section(section)
    structure: dict[str, LevelRange] = {}
    for name in STRUCTURE:
        value, basis = UNLISTED, default
        if name in section.names():
            value = section.raw(name)
            if isinstance(value, Mapping):
                value, basis = _with_basis(section, name, "level", default)
        if value != UNLISTED:
            bases.found[name] = basis
            structure[name] = _levels(section, name, value)
        elif name != "tannin" or style in ("red", "rose"):
            section.note("the level is missing", name)
    section.done()
    return structure


def _read_descriptors(section: Fields, bases: _Bases, lexicon: Lexicon) -> dict[str, Typical]:
    default = bases.section(section)
    descriptors: dict[str, Typical] = {}
    for name in section.names():
        if name == "basis":
            continue
        value, basis = section.raw(name), default
        if isinstance(value, Mapping):
            value, basis = _with_basis(section, name, "typical", default)
        if value == UNLISTED:
            continue
        bases.found[name] = basis
        if name not in lexicon.descriptors:
            section.note("is no descriptor of lexicon.toml", name)
            continue
        try:
            descriptors[name] = Typical(value)
        except ValueError:
            section.note(f"“{value}” is none of {', '.join(Typical)}", name)
    return descriptors


def _with_basis(section: Fields, name: str, what: str, default: str) -> tuple[Any, str]:
    entry = section.section(name)
    value, basis = entry.text(what), entry.text("basis", default)
    entry.done()
    return value, basis


def _levels(section: Fields, name: str, value: Any) -> LevelRange:
    try:
        if not isinstance(value, str):
            raise ValueError("should be a level in quotes, such as “med+” or “med to high”")
        return LevelRange.parse(value)
    except ValueError as error:
        section.note(str(error), name)
        return LevelRange.parse("low to high")


def _span_text(section: Fields, name: str) -> Span:
    try:
        return parse_span(section.text(name))
    except ValueError as error:
        section.note(str(error), name)
        return Span(0, 0)


def _span_section(section: Fields, bases: _Bases, name: str, least: float, most: float) -> Span:
    bases.section(section, name)
    before = len(section.problems)
    low = section.number("low", least=least, most=most)
    high = section.number("high", least=least, most=most)
    if low > high and len(section.problems) == before:
        section.note(f"low {low:g} is above high {high:g}", "low")
    section.done()
    return Span(low, high)
