"""Checks of a table beyond what each file says of itself: facts that contradict each other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from cards.errors import TableError
from cards.facts import FactPath, path_of
from cards.lexicon import ALCOHOL, DEPTH, HUE, STRUCTURE
from cards.profiles import MEMORY, OWN, PRACTICE, Profile
from cards.scale import Typical
from cards.sweetness import class_problem
from cards.tables import SHIPPED, Table, build_table, known_bases, read_documents

LEAST_DESCRIPTORS = 12
_UNSOURCED = (PRACTICE, MEMORY, OWN)


@dataclass(frozen=True, slots=True)
class TableReport:
    """What `crosspour table check` says: sizes, the shares of each basis, and every problem."""

    wines: int
    descriptors: int
    facts: int
    by_basis: Mapping[str, int]
    sourced_core: float
    problems: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Facts of one wine that cannot stand together; `path` is where the first of them is written.

    Shown as one sentence that begins with the wine's key.
    """

    wine: str
    path: FactPath
    text: str

    def __str__(self) -> str:
        return f"{self.wine}: {self.text}"


def contradictions(table: Table) -> Iterator[Contradiction]:
    """Every contradiction between the facts of a wine, and of it with its laterals."""
    bases = known_bases(table)
    for key, profile in table.profiles.items():
        for path, text in _of_profile(profile, table, bases):
            yield Contradiction(key, path, text)


def inconsistencies(table: Table) -> Iterator[str]:
    """Every contradiction between facts, one sentence each, named by wine and field."""
    bases = known_bases(table)
    yield from map(str, contradictions(table))
    for cause in table.causes:
        if cause.cue not in {*table.lexicon.descriptors, *STRUCTURE, ALCOHOL, HUE, DEPTH}:
            yield f"causes: “{cause.cue}” is no cue"
        if cause.basis not in bases:
            yield f"causes: {cause.cue} names the unknown basis “{cause.basis}”"
        for wine in cause.wines:
            if wine not in table.profiles:
                yield f"causes: {cause.cue} names the unknown wine “{wine}”"
    for place in table.names.places.values():
        if place.classic and place.classic not in table.profiles:
            yield f"names: place {place.key} names the unknown wine “{place.classic}”"
        if place.within and place.within not in table.names.places:
            yield f"names: place {place.key} lies within the unknown place “{place.within}”"
    for wine in table.names.wines:
        if wine not in table.profiles:
            yield f"names: “{wine}” is no wine of the table"


def _of_profile(
    profile: Profile, table: Table, bases: frozenset[str]
) -> Iterator[tuple[FactPath, str]]:
    here = profile.key
    for lateral in profile.laterals:
        other = table.profiles.get(lateral)
        if other is None:
            yield ("laterals",), f"lateral “{lateral}” is no wine of the table"
        elif here not in other.laterals:
            yield ("laterals",), f"lateral {lateral} does not name it back"
    if not profile.laterals:
        yield ("laterals",), "names no lateral"
    for fact, basis in profile.bases.items():
        if basis not in bases:
            yield path_of(fact), f"{fact} names the unknown basis “{basis}”"
    for grape in profile.grapes:
        if grape not in table.names.grapes:
            yield ("grape", "shares"), f"grape “{grape}” is not in names.toml"
    low = sum(share.low for share in profile.grapes.values())
    high = sum(share.high for share in profile.grapes.values())
    if low > 100 or high < 100:
        text = f"the grapes' shares cannot add up to 100 ({low:g} to {high:g})"
        yield ("grape", "shares"), text
    if len(profile.descriptors) < LEAST_DESCRIPTORS:
        text = f"{len(profile.descriptors)} descriptors, at least {LEAST_DESCRIPTORS} needed"
        yield ("descriptors",), text
    if problem := class_problem(profile.style, profile.sugar_class, profile.sugar):
        yield ("sugar", "class"), f"sugar: {problem}"
    # A file with problems may lack a level; that is told already.
    oak = profile.structure.get("oak")
    if oak is not None and oak.low > 1 and profile.oak_months.high == 0:
        yield ("structure", "oak"), "tastes of oak but sees none"
    for key, typical in profile.descriptors.items():
        # A taster need not know why a wine smells as it does.
        if typical is not Typical.SIGNATURE or profile.basis_of(key) == OWN:
            continue
        if table.cause_of(key, here) is None:
            yield ("descriptors", key), f"the signature {key} has no cause"


def report(table: Table, problems: list[TableError]) -> TableReport:
    """Count the facts by basis and list every problem, those of single files first."""
    counts: Counter[str] = Counter()
    core: Counter[bool] = Counter()
    for profile in table.profiles.values():
        counts.update(profile.bases.values())
        for fact in ("alcohol", "sugar", "grape"):
            core[profile.basis_of(fact) not in _UNSOURCED] += 1
    kinds = Counter[str]()
    for basis, count in counts.items():
        kinds[basis if basis in _UNSOURCED else "source"] += count
    return TableReport(
        wines=len(table.profiles),
        descriptors=len(table.lexicon.descriptors),
        facts=counts.total(),
        by_basis=dict(kinds),
        sourced_core=core[True] / max(core.total(), 1),
        problems=(*map(str, problems), *inconsistencies(table)),
    )


def check_folders(*folders: Path) -> TableReport:
    """Read the shipped table with `folders` laid over it and check everything."""
    problems: list[TableError] = []
    documents = read_documents(SHIPPED, problems)
    for folder in folders:
        documents += read_documents(folder, problems, own=True)
    return report(build_table(documents, problems), problems)
