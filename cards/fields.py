"""Reading one TOML table field by field, noting every problem with its file, line and field."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from cards.errors import TableError

MISSING: Any = object()
# The shares of a blend are one fact: laid over one by one they would no longer add up.
_WHOLE = ("shares",)
# Some editors begin a file with a byte order mark; it is no part of the text.
ENCODING = "utf-8-sig"


@dataclass(frozen=True, slots=True)
class Document:
    """A parsed TOML file: `shelf` is its place in the table, such as “white/gruner-wachau.toml”.

    `own` marks a file of the taster's own folder.
    """

    shelf: str
    file: Path
    content: Mapping[str, Any]
    own: bool = False


@dataclass(slots=True)
class Layers:
    """The documents that stand on one place of the table, the shipped one first, then overlays."""

    shelf: str
    documents: list[Document] = field(default_factory=list)

    def merged(self) -> dict[str, Any]:
        """One document in which a later layer's fields stand over an earlier one's."""
        result: dict[str, Any] = {}
        for document in self.documents:
            _lay_over(result, document.content)
        return result

    def problem(self, text: str, path: Sequence[str]) -> TableError:
        """A problem with the field at `path`, placed in the layer that wrote the field last."""
        document = next(
            (d for d in reversed(self.documents) if _reaches(d.content, path)), self.documents[-1]
        )
        return TableError(
            text,
            file=document.file,
            line=_line_of(document.file, path),
            field=".".join(path) or None,
        )


def _lay_over(under: dict[str, Any], over: Mapping[str, Any]) -> None:
    for name, value in over.items():
        mixed = isinstance(value, Mapping) and isinstance(under.get(name), dict)
        if mixed and name not in _WHOLE:
            _lay_over(under[name], value)
        else:
            under[name] = _copied(value)


def _copied(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {name: _copied(inner) for name, inner in value.items()}
    return list(value) if isinstance(value, list) else value


def _reaches(content: Mapping[str, Any], path: Sequence[str]) -> bool:
    node: Any = content
    for name in path:
        if not isinstance(node, Mapping) or name not in node:
            return False
        node = node[name]
    return True


def _line_of(file: Path, path: Sequence[str]) -> int | None:
    """The line on which the field at `path` is written, or its section, or None."""
    try:
        lines = file.read_text(encoding=ENCODING).splitlines()
    except (OSError, UnicodeDecodeError):
        return None
    best: tuple[int, int] | None = None
    section: list[str] = []
    entries: Counter[str] = Counter()
    for number, line in enumerate(lines, 1):
        if header := re.match(r"\s*(\[+)([^\]]+)\]+", line):
            section = [part.strip().strip("\"'") for part in header[2].split(".")]
            if header[1] == "[[":
                # Entries of a list are known by their number.
                entries[header[2]] += 1
                numbered = [*section[:-1], f"{section[-1]} {entries[header[2]]}"]
                if list(path[: len(numbered)]) == numbered:
                    section = numbered
            reached = section
        elif key := re.match(r"\s*([\w.\"'-]+)\s*=", line):
            reached = [*section, *(part.strip("\"'") for part in key[1].split("."))]
        else:
            continue
        if list(path[: len(reached)]) == reached and (best is None or len(reached) > best[0]):
            best = (len(reached), number)
    return best[1] if best else None


class Fields:
    """The fields of one section; problems are collected, not raised, so that all are shown."""

    def __init__(
        self,
        content: Mapping[str, Any],
        layers: Layers,
        problems: list[TableError],
        path: tuple[str, ...] = (),
    ) -> None:
        self._content = content
        self._layers = layers
        self.problems = problems
        self.path = path
        self._taken: set[str] = set()

    def note(self, text: str, *names: str) -> None:
        """Note a problem with the field `names`, or with the section itself."""
        self.problems.append(self._layers.problem(text, (*self.path, *names)))

    def names(self) -> Iterator[str]:
        """The names of all fields, in the order of the file."""
        return iter(self._content)

    def _take(self, name: str, kind: type | tuple[type, ...], what: str, default: Any) -> Any:
        self._taken.add(name)
        if name not in self._content:
            if default is MISSING:
                self.note(f"{what} is missing", name)
                return None
            return default
        value = self._content[name]
        if not isinstance(value, kind) or isinstance(value, bool):
            self.note(f"should be {what}, not {value!r}", name)
            return None if default is MISSING else default
        return value

    def text(self, name: str, default: Any = MISSING) -> str:
        """A text; an empty one counts as missing."""
        value = self._take(name, str, "a text in quotes", default)
        if isinstance(value, str) and value != default and not value.strip():
            self.note("is empty", name)
        return value or ""

    def number(self, name: str, *, least: float, most: float, default: Any = MISSING) -> float:
        """A number from `least` to `most`."""
        value = self._take(name, (int, float), "a number", default)
        if value is None:
            return least
        if not least <= value <= most:
            self.note(f"{value:g} lies outside {least:g} to {most:g}", name)
        return float(value)

    def texts(self, name: str, default: Any = MISSING) -> tuple[str, ...]:
        """A list of texts; an empty one counts as missing."""
        value = self._take(name, list, "a list of texts", default)
        if value is None:
            return ()
        if not value and default is MISSING:
            self.note("is empty", name)
        if not all(isinstance(item, str) and item.strip() for item in value):
            self.note("should hold texts only", name)
            return ()
        return tuple(value)

    def choice(self, name: str, options: Iterable[str], default: Any = MISSING) -> str:
        """A text that is one of `options`."""
        value = self.text(name, default)
        allowed = tuple(options)
        if value and value not in allowed:
            self.note(f"“{value}” is none of {', '.join(allowed)}", name)
        return value

    def raw(self, name: str) -> Any:
        """The value as it stands, whatever it is."""
        self._taken.add(name)
        return self._content[name]

    def section(self, name: str, default: Any = MISSING) -> Fields:
        """A section by name; an empty one where it is missing or no section."""
        value = self._take(name, Mapping, "a section", default)
        return Fields(value or {}, self._layers, self.problems, (*self.path, name))

    def done(self) -> None:
        """Note every field that nobody asked for: a typo in a name must not pass silently."""
        for name in self._content:
            if name not in self._taken:
                self.note("is no field of this section", name)
