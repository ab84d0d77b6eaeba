"""The words of the table: descriptors in families, and the structure words beside them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from cards.fields import Fields

# The structure of a wine in the order in which a taster meets it. “alcohol” is read in % vol and
# stands on its own.
STRUCTURE = (
    "sweetness",
    "acid",
    "tannin",
    "body",
    "bitterness",
    "intensity",
    "mineral",
    "oak",
    "finish",
)
# Words with no reliable measured basis (see sources): they may help a card but never decide it.
UNMEASURED = frozenset({"mineral", "body", "finish"})
ALCOHOL = "alcohol"
HUE = "hue"
DEPTH = "depth"

# Facts that are told by these names, so that no descriptor may have them.
_SECTIONS = frozenset({"grape", "place", "sugar", "age"})

HUES: Mapping[str, tuple[str, ...]] = {
    "white": ("greenish", "straw", "yellow", "gold", "amber", "brown"),
    "red": ("purple", "ruby", "garnet", "brick", "tawny"),
    "rose": ("onion-skin", "salmon", "pink", "cherry"),
}


@dataclass(frozen=True, slots=True)
class Descriptor:
    """A smell or taste word with its family and the other words that mean it."""

    key: str
    name: str
    family: str
    synonyms: tuple[str, ...] = ()
    everyday: tuple[str, ...] = ()
    other_languages: tuple[str, ...] = ()

    @property
    def wordings(self) -> tuple[str, ...]:
        """Every wording under which a taster may write it."""
        return (self.name, *self.synonyms, *self.everyday, *self.other_languages)


@dataclass(frozen=True, slots=True)
class Lexicon:
    """All descriptors by key, and the names of their families."""

    families: Mapping[str, str]
    descriptors: Mapping[str, Descriptor]

    def family_of(self, attribute: str) -> str:
        """The family of a cue: of a descriptor its own, of structure the group that moves as one.

        Alcohol, body and finish ride on ripeness and extract together, so a card that asked two of
        them would count one observation twice (common practice, no source).
        """
        if descriptor := self.descriptors.get(attribute):
            return descriptor.family
        return scale_family(attribute)

    def name_of(self, attribute: str) -> str:
        """The name of a cue as it stands on a card."""
        if descriptor := self.descriptors.get(attribute):
            return descriptor.name
        return attribute


_SCALE_FAMILIES = {
    "alcohol": "weight",
    "body": "weight",
    "finish": "weight",
    "hue": "colour",
    "depth": "colour",
}


def scale_family(attribute: str) -> str:
    """The group that a structure word, alcohol or colour moves with; itself where it has none."""
    return _SCALE_FAMILIES.get(attribute, attribute)


def read_lexicon(fields: Fields) -> Lexicon:
    """The lexicon written in `fields`; problems are noted there."""
    families: dict[str, str] = {}
    section = fields.section("families")
    for key in section.names():
        entry = section.section(key)
        families[key] = entry.text("name")
        entry.done()
    descriptors: dict[str, Descriptor] = {}
    owners: dict[str, str] = {}
    section = fields.section("descriptors")
    for key in section.names():
        entry = section.section(key)
        languages = entry.section("other_languages", {})
        descriptor = Descriptor(
            key=key,
            name=entry.text("name"),
            family=entry.choice("family", families),
            synonyms=entry.texts("synonyms", []),
            everyday=entry.texts("everyday", []),
            other_languages=tuple(languages.text(code) for code in languages.names()),
        )
        entry.done()
        if key in STRUCTURE or key in (ALCOHOL, HUE, DEPTH):
            entry.note("is a structure word and cannot name a descriptor")
        if key in _SECTIONS:
            entry.note("names other facts and cannot name a descriptor")
        for wording in {w.casefold() for w in descriptor.wordings if w}:
            if (owner := owners.setdefault(wording, key)) != key:
                entry.note(f"“{wording}” already belongs to {owner}")
        descriptors[key] = descriptor
    fields.done()
    return Lexicon(families, descriptors)
