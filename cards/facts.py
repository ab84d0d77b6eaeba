"""A profile as single facts: where each stands in a wine's file, and which basis it rests on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cards.lexicon import DEPTH, HUE, STRUCTURE
from cards.profiles import OWN, UNLISTED, Profile, Span

FactPath = tuple[str, ...]
"""Where a fact stands in a file: (“name”,) or (“structure”, “acid”)."""

Value = str | int | float | list[str] | dict[str, str]
"""A fact as TOML holds it."""

# Facts of these sections share one basis, by which Profile.bases knows it.
_SHARED: Mapping[str, str] = {
    "grape": "grape",
    "place": "place",
    "alcohol": "alcohol",
    "sugar": "sugar",
    "oak": "oak vessel",
    "age": "age",
}


def entry_word(path: FactPath) -> str:
    """What a fact is called within braces that also name its basis; empty if it takes none."""
    match path:
        case ("structure", _) | ("colour", "depth"):
            return "level"
        case ("colour", "hue"):
            return "usual"
        case ("descriptors", _):
            return "typical"
    return ""


def basis_name(path: FactPath) -> str:
    """The name of a fact in `Profile.bases`; empty for what has no basis, such as a name."""
    if entry_word(path):
        return path[-1]
    return _SHARED.get(path[0], "") if len(path) > 1 else ""


def path_of(basis: str) -> FactPath:
    """The place of a fact, or of the section that shares it, by its name in `Profile.bases`."""
    for section, name in _SHARED.items():
        if name == basis:
            return (section,)
    if basis in (HUE, DEPTH):
        return ("colour", basis)
    return ("structure" if basis in STRUCTURE else "descriptors", basis)


def number_text(value: float) -> str:
    """A number without a needless “.0” and never with an exponent."""
    text = f"{value:.9f}".rstrip("0").rstrip(".")
    return text or "0"


def span_text(span: Span) -> str:
    """A range of numbers as a file writes it: “85” or “85 to 100”."""
    if span.low == span.high:
        return number_text(span.low)
    return f"{number_text(span.low)} to {number_text(span.high)}"


def plain(value: float) -> int | float:
    """A number as a file writes it: whole ones without a point."""
    return int(value) if value == int(value) else value


def facts_of(profile: Profile) -> dict[FactPath, Value]:
    """Every fact of a profile by its place, in the order of a file."""
    facts: dict[FactPath, Value] = {
        ("name",): profile.name,
        ("short",): profile.short,
        ("synonyms",): list(profile.synonyms),
        ("telling",): profile.telling,
        ("laterals",): list(profile.laterals),
        ("grape", "shares"): {key: span_text(share) for key, share in profile.grapes.items()},
        ("place", "country"): profile.country,
        ("place", "region"): profile.region,
        ("place", "world"): profile.world,
        ("place", "climate"): profile.climate,
        ("colour", "hue"): list(profile.hues),
        ("colour", "depth"): str(profile.depth),
        ("colour", "rim"): profile.rim,
        ("colour", "ageing"): profile.ageing,
        ("alcohol", "low"): plain(profile.alcohol.low),
        ("alcohol", "high"): plain(profile.alcohol.high),
        ("sugar", "class"): profile.sugar_class,
        ("sugar", "low"): plain(profile.sugar.low),
        ("sugar", "high"): plain(profile.sugar.high),
    }
    facts |= {("structure", name): str(level) for name, level in profile.structure.items()}
    facts |= {
        ("oak", "vessel"): profile.vessel,
        ("oak", "months"): span_text(profile.oak_months),
        ("age", "release"): plain(profile.release),
        ("age", "window"): span_text(profile.window),
        ("age", "quality"): profile.quality,
    }
    facts |= {("descriptors", key): str(how) for key, how in profile.descriptors.items()}
    return facts


def with_own_bases(content: Mapping[str, Any]) -> dict[str, Any]:
    """A wine's file from the taster's folder, with its basis written out beside every fact.

    Where the file names none it is “own”. Written out, it can neither reach the shipped facts on
    which the file is laid, nor can a changed fact be taken for one of the source that it replaces.
    """
    top = content.get("basis", OWN)
    if not isinstance(top, str):
        return dict(content)
    result: dict[str, Any] = {}
    for name, section in content.items():
        if name == "basis":
            continue
        if not isinstance(section, Mapping):
            result[name] = section
        elif name in _SHARED:
            # A section in which nothing is written says nothing about its basis either.
            result[name] = {"basis": top, **section} if section.keys() - {"basis"} else {}
        elif isinstance(basis := section.get("basis", top), str):
            result[name] = {
                key: _with_basis((name, key), value, basis)
                for key, value in section.items()
                if key != "basis"
            }
        else:
            result[name] = dict(section)
    return result


def _with_basis(path: FactPath, value: Any, basis: str) -> Any:
    word = entry_word(path)
    if word and isinstance(value, Mapping):
        return {"basis": basis, **value}
    if word and isinstance(value, list if word == "usual" else str):
        return {word: value, "basis": basis}
    return value


@dataclass(frozen=True, slots=True)
class Fact:
    """A value and the basis it rests on; “unlisted” as a value takes a fact off the wine."""

    value: Value
    basis: str = OWN


@dataclass(frozen=True, slots=True)
class Change:
    """What is to be written of one wine into the taster's folder.

    A fact that is None goes from there, so that what the shipped table says of it stands again.
    """

    wine: str
    style: str
    facts: Mapping[FactPath, Fact | None]
    reason: str = ""


def changed_facts(
    profile: Profile | None,
    shipped: Profile | None,
    values: Mapping[FactPath, Value],
    bases: Mapping[str, str] | None = None,
    usual: str = "",
) -> dict[FactPath, Fact | None]:
    """What to write so that a wine that is `profile` now has `values`.

    They may be some facts only. `bases` gives the basis of some, `usual` that of the others. A
    value that changes becomes the taster's own, unless another basis is given with it than it had;
    one that returns to what `shipped` says is written no more. Facts that share a basis, such as
    the two ends of a range, are judged together.
    """
    now = facts_of(profile) if profile else {}
    before = facts_of(shipped) if shipped else {}
    units: dict[FactPath | str, list[FactPath]] = {}
    for path in (*now, *(path for path in values if path not in now)):
        units.setdefault(basis_name(path) or path, []).append(path)
    result: dict[FactPath, Fact | None] = {}
    for unit, paths in units.items():
        wanted = {path: values.get(path, now.get(path, UNLISTED)) for path in paths}
        changed = any(wanted[path] != now.get(path, UNLISTED) for path in paths)
        as_shipped = shipped and all(wanted[p] == before.get(p, UNLISTED) for p in paths)
        basis = OWN
        if isinstance(unit, str):
            had = profile.bases.get(unit) if profile else None
            given = (bases or {}).get(unit)
            if profile is None:
                basis = given or usual or OWN
            elif changed:
                basis = given if given and given != had else OWN
            else:
                basis = given or usual or had or OWN
            if not changed and (basis == had or had is None):
                continue
            rests = shipped.bases.get(unit) if shipped else None
            if as_shipped and (changed or basis == rests):
                result |= dict.fromkeys(paths)
                continue
        elif not changed:
            continue
        elif as_shipped:
            result |= dict.fromkeys(paths)
            continue
        written = [path for path in paths if shipped is None or wanted[path] != before.get(path)]
        if any(path[-1] in ("low", "high") for path in written):
            written = [p for p in paths if p in written or p[-1] in ("low", "high")]
        for path in written or paths:
            gone = shipped is None and wanted[path] == UNLISTED
            result[path] = None if gone else Fact(wanted[path], basis)
    return result
