"""The whole table: wines, lexicon, names, causes and sources, read from folders of TOML."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from cards.errors import TableError
from cards.facts import with_own_bases
from cards.fields import ENCODING, Document, Fields, Layers
from cards.lexicon import Lexicon, read_lexicon
from cards.profiles import MEMORY, OWN, PRACTICE, Profile, read_profile
from cards.toml import NotTomlError, read_toml

SHIPPED = Path(__file__).with_name("table")
_OWN_FILES = ("lexicon.toml", "names.toml", "causes.toml", "sources.toml")
SOURCE_KINDS = ("regulation", "paper", "standard", "statistics", "book", "web")
READ = ("text", "abstract", "secondary")


@dataclass(frozen=True, slots=True)
class Source:
    """A published source: full citation, its kind, and how much of it was read."""

    key: str
    citation: str
    kind: str
    read: str


# What a cause explains: that there is much of its cue, or that there is little.
MUCH, LITTLE = "much", "little"


@dataclass(frozen=True, slots=True)
class Cause:
    """Why a cue is in the glass; `wines` is empty where it holds wherever the cue is met.

    `explains` is MUCH or LITTLE: “the grape drops its acid” is no reason for much of it.
    """

    cue: str
    because: str
    basis: str
    wines: tuple[str, ...] = ()
    threshold: str = ""
    typical: str = ""
    explains: str = MUCH


@dataclass(frozen=True, slots=True)
class NamedThing:
    """A grape or place with all its names; `classic` is the wine that the name alone stands for."""

    key: str
    name: str
    synonyms: tuple[str, ...] = ()
    country: str = ""
    within: str = ""
    classic: str = ""


@dataclass(frozen=True, slots=True)
class Names:
    """Grapes, places, and further names of single wines."""

    grapes: Mapping[str, NamedThing]
    places: Mapping[str, NamedThing]
    wines: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Table:
    """Everything the program holds true of wines. `fingerprint` changes whenever a fact does."""

    profiles: Mapping[str, Profile]
    lexicon: Lexicon
    names: Names
    causes: tuple[Cause, ...]
    sources: Mapping[str, Source]
    fingerprint: str

    def cause_of(self, attribute: str, wine: str) -> Cause | None:
        """Why the cue is there: the cause given for this wine, else the general one."""
        general = None
        for cause in self.causes:
            if cause.cue == attribute:
                if wine in cause.wines:
                    return cause
                if not cause.wines:
                    general = general or cause
        return general


def table_files(folder: Path) -> Iterator[Path]:
    """Every TOML file of a table folder, in a fixed order."""
    return (path for path in sorted(folder.rglob("*.toml")) if path.is_file())


def read_documents(
    folder: Path, problems: list[TableError], *, own: bool = False
) -> list[Document]:
    """Parse every TOML file below `folder`; a file that cannot be read becomes a problem.

    `own` says that it is the taster's folder.
    """
    documents = []
    for file in table_files(folder):
        try:
            content = read_toml(file.read_text(encoding=ENCODING))
        except NotTomlError as error:
            problems.append(TableError(f"is no valid TOML ({error})", file=file, line=error.line))
        except UnicodeDecodeError as error:
            problems.append(TableError(f"is not UTF-8 ({error.reason})", file=file))
        except OSError as error:
            problems.append(TableError(f"cannot be read ({error.strerror})", file=file))
        else:
            shelf = file.relative_to(folder).as_posix()
            documents.append(Document(shelf, file, content, own))
    return documents


def fingerprint_of(documents: Iterable[Document]) -> str:
    """A short hash of the contents, the same on every machine."""
    digest = hashlib.sha256()
    for document in documents:
        digest.update(document.shelf.encode())
        digest.update(repr(_ordered(document.content)).encode())
    return digest.hexdigest()[:16]


def _ordered(value: Any) -> Any:
    if isinstance(value, Mapping):
        return [(name, _ordered(inner)) for name, inner in value.items()]
    return value


def build_table(documents: Sequence[Document], problems: list[TableError]) -> Table:
    """The table in `documents`, later ones laid over earlier ones; problems are noted."""
    shelves: dict[str, Layers] = {}
    for document in documents:
        if document.own and document.shelf not in _OWN_FILES:
            document = replace(document, content=with_own_bases(document.content))
        shelves.setdefault(document.shelf, Layers(document.shelf)).documents.append(document)

    def fields(shelf: str) -> Fields:
        layers = shelves.get(shelf) or Layers(shelf, [Document(shelf, Path(shelf), {})])
        content = layers.documents[0].content if len(layers.documents) == 1 else layers.merged()
        return Fields(content, layers, problems)

    lexicon = read_lexicon(fields("lexicon.toml"))
    names = _read_names(fields("names.toml"))
    sources = _read_sources(fields("sources.toml"))
    causes = _read_causes(fields("causes.toml"), shelves.get("causes.toml"))
    profiles: dict[str, Profile] = {}
    shelf_of: dict[str, str] = {}
    for shelf in shelves:
        if shelf in _OWN_FILES:
            continue
        style, _, name = shelf.rpartition("/")
        key = name.removesuffix(".toml")
        if (first := shelf_of.setdefault(key, shelf)) != shelf:
            fields(shelf).note(f"the wine “{key}” is already in {first}")
            continue
        profiles[key] = read_profile(key, style, fields(shelf), lexicon)
    stated = {
        key
        for key, shelf in shelf_of.items()
        if any(d.own and "laterals" in d.content for d in shelves[shelf].documents)
    }
    _name_both_ways(profiles, stated)
    return Table(profiles, lexicon, names, causes, sources, fingerprint_of(documents))


def _name_both_ways(profiles: dict[str, Profile], stated: set[str]) -> None:
    """Let the laterals that the taster wrote for `stated` wines hold for the other wines too."""
    written = {key: profile.laterals for key, profile in profiles.items()}
    for key, profile in profiles.items():
        kept = [
            other
            for other in written[key]
            if key in stated or other not in stated or key in written[other]
        ]
        kept += sorted(
            other
            for other in stated
            if key in written[other] and other not in kept and other != key
        )
        if kept != list(profile.laterals):
            profiles[key] = replace(profile, laterals=tuple(kept))


def load_table(*overlays: Path, shipped: Path = SHIPPED) -> Table:
    """The shipped table with `overlays` laid over it; raises the first TableError there is."""
    problems: list[TableError] = []
    documents = read_documents(shipped, problems)
    for folder in overlays:
        documents += read_documents(folder, problems, own=True)
    table = build_table(documents, problems)
    if problems:
        raise problems[0]
    return table


def _read_names(fields: Fields) -> Names:
    groups: dict[str, dict[str, NamedThing]] = {"grapes": {}, "places": {}}
    for group, things in groups.items():
        section = fields.section(group, {})
        for key in section.names():
            entry = section.section(key)
            things[key] = NamedThing(
                key=key,
                name=entry.text("name"),
                synonyms=entry.texts("synonyms", []),
                country=entry.text("country", ""),
                within=entry.text("within", ""),
                classic=entry.text("classic", ""),
            )
            entry.done()
    section = fields.section("wines", {})
    wines = {}
    for key in section.names():
        entry = section.section(key)
        wines[key] = entry.texts("synonyms")
        entry.done()
    fields.done()
    return Names(groups["grapes"], groups["places"], wines)


def _read_sources(fields: Fields) -> dict[str, Source]:
    section = fields.section("sources", {})
    sources = {}
    for key in section.names():
        entry = section.section(key)
        sources[key] = Source(
            key,
            entry.text("citation"),
            entry.choice("kind", SOURCE_KINDS),
            entry.choice("read", READ),
        )
        entry.done()
    fields.done()
    return sources


def _read_causes(fields: Fields, layers: Layers | None) -> tuple[Cause, ...]:
    causes = []
    if "causes" in fields.names():
        fields.raw("causes")
    fields.done()
    # Causes are a list, so layers add to it; a merged document would keep the last list only.
    for document in reversed(layers.documents if layers else []):
        entries = document.content.get("causes", [])
        if not (isinstance(entries, list) and all(isinstance(e, Mapping) for e in entries)):
            fields.note("should be written as [[causes]]", "causes")
            continue
        for number, entry in enumerate(entries, 1):
            one = Fields(entry, Layers("causes.toml", [document]), fields.problems)
            one.path = (f"causes {number}",)
            causes.append(
                Cause(
                    cue=one.text("cue"),
                    because=one.text("because"),
                    basis=one.text("basis", OWN if document.own else PRACTICE),
                    wines=one.texts("wines", []),
                    threshold=one.text("threshold", ""),
                    typical=one.text("typical", ""),
                    explains=one.choice("explains", (MUCH, LITTLE), MUCH),
                )
            )
            one.done()
    return tuple(causes)


def known_bases(table: Table) -> frozenset[str]:
    """Every basis a fact may name."""
    return frozenset({PRACTICE, MEMORY, OWN, *table.sources})
