"""The built table as text and back: a wine, a name and a source are read when they are asked for.

The first line is the table in JSON; where it has a wine, a name or a source it gives the number of
the line that holds it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields
from enum import Enum
from typing import Any, Generic, TypeVar

from cards.lexicon import Descriptor, Lexicon
from cards.profiles import Profile, Span
from cards.scale import Level, LevelRange, Typical
from cards.tables import Cause, NamedThing, Names, Source, Table

_CLASSES: Mapping[str, Any] = {
    one.__name__: one
    for one in (
        *(Cause, Descriptor, Lexicon, NamedThing, Names, Profile, Source, Span, Table),
        *(Level, LevelRange, Typical),
    )
}
# A drill opens a handful of the wines, and their names and sources hardly ever.
_LATE = (Profile, NamedThing, Source)
_LATE_TAG = "late"

Entry = TypeVar("Entry")


class _Late(Mapping[str, Entry], Generic[Entry]):
    """Entries by key, each read from its line when it is first asked for."""

    def __init__(self, places: Mapping[str, int], lines: Sequence[str]) -> None:
        self._places = places
        self._lines = lines
        self._read: dict[str, Entry] = {}

    def __getitem__(self, key: str) -> Entry:
        found = self._read.get(key)
        if found is None:
            line = self._lines[self._places[key]]
            found = self._read[key] = _decode(json.loads(line), self._lines)
        return found

    def __contains__(self, key: object) -> bool:
        return key in self._places

    def __iter__(self) -> Iterator[str]:
        return iter(self._places)

    def __len__(self) -> int:
        return len(self._places)

    def __repr__(self) -> str:
        return repr(dict(self))


def table_text(table: Table) -> str:
    """The table as lines of JSON; TypeError for a value that has no text here."""
    lines = [""]
    lines[0] = _json(_encode(table, lines))
    return "\n".join(lines)


def read_table(text: str) -> Table:
    """The table that `table_text` wrote."""
    lines = text.split("\n")
    table = _decode(json.loads(lines[0]), lines)
    if not isinstance(table, Table):
        raise TypeError("the text holds no table")
    return table


def form() -> list[list[str]]:
    """The classes of a table and their fields: a text of another form cannot be read."""
    return [[name, *getattr(one, "__dataclass_fields__", ())] for name, one in _CLASSES.items()]


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def _encode(value: Any, lines: list[str]) -> Any:
    """Objects become lists that begin with the name of their class, tuples with an empty name."""
    kind = type(value)
    if kind is tuple:
        return ["", *(_encode(one, lines) for one in value)]
    if isinstance(value, Mapping):
        if value and all(type(entry) in _LATE for entry in value.values()):
            places = {}
            for key, one in value.items():
                places[key] = len(lines)
                lines.append(_json(_encode(one, lines)))
            return [_LATE_TAG, places]
        return {key: _encode(one, lines) for key, one in value.items()}
    if kind.__name__ in _CLASSES:
        if isinstance(value, Enum):
            return [kind.__name__, value.value]
        return [
            kind.__name__,
            *(_encode(getattr(value, field.name), lines) for field in fields(kind)),
        ]
    if kind in (str, int, float, bool) or value is None:
        return value
    raise TypeError(f"{kind.__name__} has no text")


def _decode(value: Any, lines: Sequence[str]) -> Any:
    kind = type(value)
    if kind is list:
        tag = value[0]
        if not tag:
            return tuple([_decode(one, lines) if type(one) is list else one for one in value[1:]])
        if tag == _LATE_TAG:
            return _Late(value[1], lines)
        return _CLASSES[tag](*[_decode(one, lines) for one in value[1:]])
    if kind is dict:
        return {key: _decode(one, lines) for key, one in value.items()}
    return value
