"""Checks of a table beyond what each file says of itself: facts that contradict each other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from cards.errors import TableError
from cards.lexicon import ALCOHOL, DEPTH, HUE, STRUCTURE
from cards.profiles import MEMORY, PRACTICE, Profile
from cards.scale import Typical
from cards.sweetness import class_problem
from cards.tables import SHIPPED, Table, build_table, known_bases, read_documents

LEAST_DESCRIPTORS = 12


@dataclass(frozen=True, slots=True)
class TableReport:
    """What `crosspour table check` says: sizes, the shares of each basis, and every problem."""

    wines: int
    descriptors: int
    facts: int
    by_basis: Mapping[str, int]
    sourced_core: float
    problems: tuple[str, ...]


def inconsistencies(table: Table) -> Iterator[str]:
    """Every contradiction between facts, one sentence each, named by wine and field."""
    bases = known_bases(table)
    for profile in table.profiles.values():
        yield from _of_profile(profile, table, bases)
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


def _of_profile(profile: Profile, table: Table, bases: frozenset[str]) -> Iterator[str]:
    here = profile.key
    for lateral in profile.laterals:
        other = table.profiles.get(lateral)
        if other is None:
            yield f"{here}: lateral “{lateral}” is no wine of the table"
        elif here not in other.laterals:
            yield f"{here}: lateral {lateral} does not name it back"
    if not profile.laterals:
        yield f"{here}: names no lateral"
    for fact, basis in profile.bases.items():
        if basis not in bases:
            yield f"{here}: {fact} names the unknown basis “{basis}”"
    for grape in profile.grapes:
        if grape not in table.names.grapes:
            yield f"{here}: grape “{grape}” is not in names.toml"
    low = sum(share.low for share in profile.grapes.values())
    high = sum(share.high for share in profile.grapes.values())
    if low > 100 or high < 100:
        yield f"{here}: the grapes' shares cannot add up to 100 ({low:g} to {high:g})"
    if len(profile.descriptors) < LEAST_DESCRIPTORS:
        yield f"{here}: {len(profile.descriptors)} descriptors, at least {LEAST_DESCRIPTORS} needed"
    if problem := class_problem(profile.style, profile.sugar_class, profile.sugar):
        yield f"{here}: sugar: {problem}"
    # A file with problems may lack a level; that is told already.
    oak = profile.structure.get("oak")
    if oak is not None and oak.low > 1 and profile.oak_months.high == 0:
        yield f"{here}: tastes of oak but sees none"
    for key, typical in profile.descriptors.items():
        if typical is Typical.SIGNATURE and table.cause_of(key, here) is None:
            yield f"{here}: the signature {key} has no cause"


def report(table: Table, problems: list[TableError]) -> TableReport:
    """Count the facts by basis and list every problem, those of single files first."""
    counts: Counter[str] = Counter()
    core: Counter[bool] = Counter()
    for profile in table.profiles.values():
        counts.update(profile.bases.values())
        for fact in ("alcohol", "sugar", "grape"):
            core[profile.basis_of(fact) not in (PRACTICE, MEMORY)] += 1
    kinds = Counter[str]()
    for basis, count in counts.items():
        kinds[basis if basis in (PRACTICE, MEMORY) else "source"] += count
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
    documents = [d for f in (SHIPPED, *folders) for d in read_documents(f, problems)]
    return report(build_table(documents, problems), problems)
