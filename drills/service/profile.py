"""A profile page: all that the table holds of one wine, as facts in words, each with its basis."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from cards.evidence import NOTED
from cards.lexicon import ALCOHOL, DEPTH, HUE, STRUCTURE, Lexicon
from cards.profiles import MEMORY, PRACTICE, Profile
from cards.scale import LevelRange, Typical
from cards.tables import Table
from cards.wording import words_for
from drills.service.browsing import grape_shares, style_name
from drills.service.desk import Desk

# A profile offers so many wines to compare: one for each of the keys 1 to 9.
MOST_LATERALS = 9
_BASES: Mapping[str, str] = {
    PRACTICE: "common practice, no source",
    MEMORY: "a value from memory, still to be checked",
    "own": "your own note",
}
# These have words of their own for each level; the others are told by the names of the levels.
_WORDED = ("sweetness", "oak", "bitterness", "mineral", DEPTH)
_TYPICALS = [*NOTED]


@dataclass(frozen=True, slots=True)
class Note:
    """A descriptor of a profile; `because` is given for what the wine is best known for."""

    name: str
    typical: Typical
    basis: str
    because: str = ""


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact of a profile: a range of levels, a family of descriptors, or words alone."""

    label: str
    words: str
    basis: str
    levels: LevelRange | None = None
    notes: tuple[Note, ...] = ()
    because: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """Facts that a taster meets together."""

    title: str
    facts: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class NearWine:
    """A wine and how far off it is, decibans; `named` if the trade takes one for the other."""

    wine: str
    short: str
    separation_db: float
    named: bool


@dataclass(frozen=True, slots=True)
class ProfileView:
    """All that the table holds of one wine, in the order in which a taster meets it.

    `sources` gives every basis that the facts name, in their order, with its citation or, where it
    is no source, in words; `cited` are those with a citation.
    """

    wine: str
    name: str
    short: str
    kind: str
    telling: str
    sections: tuple[Section, ...]
    laterals: tuple[NearWine, ...]
    sources: Mapping[str, str]
    cited: frozenset[str]


def profile_view(desk: Desk, wine: str) -> ProfileView:
    """The profile of a wine, by key, as facts in words."""
    table, profile = desk.table, desk.table.profiles[wine]
    sections = (
        Section("sight", tuple(_sight(table, profile))),
        Section("nose", tuple(_nose(table, profile))),
        Section("palate", tuple(_palate(table, profile))),
        Section("origin", tuple(_origin(table, profile))),
    )
    bases: dict[str, str] = {}
    for section in sections:
        for fact in section.facts:
            for basis in [note.basis for note in fact.notes] or [fact.basis]:
                bases.setdefault(basis, basis_words(table, basis))
    place = ", ".join(dict.fromkeys((profile.region, profile.country)))
    return ProfileView(
        wine=wine,
        name=profile.name,
        short=profile.short,
        kind=f"{style_name(profile.style)}, {profile.world} world, {place}",
        telling=profile.telling,
        sections=sections,
        laterals=_near(desk, profile),
        sources=bases,
        cited=frozenset(bases.keys() & table.sources.keys()),
    )


def basis_words(table: Table, basis: str) -> str:
    """What a basis says: a full citation, or that there is none."""
    source = table.sources.get(basis)
    return source.citation if source else _BASES.get(basis, basis)


def _sight(table: Table, profile: Profile) -> Iterable[Fact]:
    hue, depth = profile.basis_of(HUE), profile.basis_of(DEPTH)
    yield Fact("hue", ", ".join(one.replace("-", " ") for one in profile.hues), hue)
    yield Fact("depth", _range_words(DEPTH, profile.depth, table.lexicon), depth, profile.depth)
    # Rim and ageing have no basis of their own; the section's is that of the facts beside them.
    basis = hue if hue == depth else PRACTICE
    yield Fact("rim", profile.rim, basis)
    yield Fact("with age", profile.ageing, basis)


def _nose(table: Table, profile: Profile) -> Iterable[Fact]:
    families: dict[str, list[Note]] = {}
    never: list[Note] = []
    for key, typical in profile.descriptors.items():
        because = ""
        if typical is Typical.SIGNATURE:
            cause = table.cause_of(key, profile.key)
            because = cause.because if cause else ""
        note = Note(table.lexicon.name_of(key), typical, profile.basis_of(key), because)
        if typical is Typical.NEVER:
            never.append(note)
        else:
            families.setdefault(table.lexicon.family_of(key), []).append(note)

    def strength(item: tuple[str, list[Note]]) -> tuple[int, float, str]:
        first = min(_TYPICALS.index(note.typical) for note in item[1])
        return (first, -sum(NOTED[note.typical] for note in item[1]), item[0])

    for family, notes in sorted(families.items(), key=strength):
        notes.sort(key=lambda note: _TYPICALS.index(note.typical))
        yield Fact(table.lexicon.families[family], _notes_words(notes), "", notes=tuple(notes))
    if never:
        words = ", ".join(note.name for note in never)
        yield Fact("not met", words, "", notes=tuple(never))


def _notes_words(notes: Sequence[Note]) -> str:
    groups = []
    for typical, before in (
        (Typical.SIGNATURE, ""),
        (Typical.COMMON, "often "),
        (Typical.OCCASIONAL, "at times "),
    ):
        names = [note.name for note in notes if note.typical is typical]
        if names:
            groups.append(before + ", ".join(names))
    return "; ".join(groups)


def _range_words(attribute: str, typical: LevelRange, lexicon: Lexicon) -> str:
    if attribute not in _WORDED:
        return str(typical)
    low, high = (words_for(attribute, end, lexicon) for end in (typical.low, typical.high))
    return low if low == high else f"{low}, up to {high}"


def _palate(table: Table, profile: Profile) -> Iterable[Fact]:
    for attribute in STRUCTURE:
        typical = profile.structure.get(attribute)
        if typical is None:
            continue
        cause = table.cause_of(attribute, profile.key)
        own = cause.because if cause and profile.key in cause.wines else ""
        words = _range_words(attribute, typical, table.lexicon)
        yield Fact(attribute, words, profile.basis_of(attribute), typical, because=own)
    strength = f"{profile.alcohol}% vol in four bottles of five"
    yield Fact(ALCOHOL, strength, profile.basis_of(ALCOHOL))
    yield Fact("sugar", f"{profile.sugar_class}, {profile.sugar} g/L", profile.basis_of("sugar"))


def _origin(table: Table, profile: Profile) -> Iterable[Fact]:
    shares = ", ".join(f"{name} {share}%" for name, share in grape_shares(table, profile))
    yield Fact("grapes", shares, profile.basis_of("grape"))
    place = ", ".join(dict.fromkeys((profile.region, profile.country)))
    yield Fact("place", f"{place}; {profile.climate} climate", profile.basis_of("place"))
    months = f", {profile.oak_months} months" if profile.oak_months.high else ""
    yield Fact("vessel", profile.vessel + months, profile.basis_of("oak vessel"))
    age = profile.basis_of("age")
    release = f"{profile.release:g} years" if profile.release != 1 else "one year"
    yield Fact("sold", f"{release} after the harvest", age)
    yield Fact("drink", f"{profile.window} years after the harvest", age)
    yield Fact("quality", profile.quality, age)


def _near(desk: Desk, profile: Profile) -> tuple[NearWine, ...]:
    """The laterals that the trade names, then others of the style that may pass for the wine."""
    named = [key for key in profile.laterals if key in desk.table.profiles]
    apart = desk.cellar.laterals(profile.key, named)
    others = [one for one in desk.cellar.taken_for(profile.key) if one[0] not in named]
    apart = apart[:MOST_LATERALS]
    apart += others[: MOST_LATERALS - len(apart)]
    return tuple(NearWine(key, desk.short(key), round(gap, 2), key in named) for key, gap in apart)
