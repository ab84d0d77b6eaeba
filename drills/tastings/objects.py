"""JSON and JSON Lines: objects taken one at a time, and laid out as the rows of a table.

A list of pours, an object that holds such a list, flights with their pours inside, or one object a
line. The path to a value is its heading: `note.acid`, `final.vintage`.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from drills.errors import IntakeError
from drills.tastings.cells import LONGEST_FIELD, Cell, Row, printable, tidy
from drills.tastings.columns import LONGEST_HEADING, Columns, DescriptorOf, folded, role_of
from drills.tastings.drafts import Rejected
from drills.tastings.headings import (
    CALLED,
    CALLED_SURENESS,
    CALLED_VINTAGE,
    FIRST,
    FIRST_SURENESS,
    FIRST_VINTAGE,
    LABEL_ALCOHOL,
    PRICE,
    RUNNER_UP,
    WAS,
    WAS_VINTAGE,
)
from drills.tastings.items import written_item, written_items

# One pour, or one flight with its pours.
LONGEST_OBJECT = 4_000_000  # characters
_DEEPEST = 12
_MOST_PATHS = 2_000
_LISTS = frozenset({"tastings", "flights", "rows"})
_POURS = "pours"


class _UnclearError(Exception):
    """An object that cannot be taken; says why."""


@dataclass(frozen=True, slots=True)
class Thing:
    """One object of the source, and its number: of the line, or of its place in the list."""

    number: int
    content: Mapping[str, Any]


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        seen: set[str] = set()
        twice = next(name for name, _ in pairs if name in seen or seen.add(name))  # type: ignore[func-returns-value]
        raise _UnclearError(f"“{printable(twice)[:40]}” stands there twice")
    return found


def _no_number(name: str) -> Any:
    raise _UnclearError(f"{name} is no number")


_DECODER = json.JSONDecoder(object_pairs_hook=_pairs, parse_constant=_no_number)


def things_in_lines(lines: Iterable[str]) -> Iterator[Thing | Rejected]:
    """One object a line; a line that is none is rejected alone."""
    for number, line in enumerate(lines, 1):
        text = line.strip()
        if not text:
            continue
        try:
            content = _DECODER.decode(text)
        except json.JSONDecodeError as error:
            yield Rejected(number, "line", f"is no JSON: {error.msg} at character {error.pos + 1}")
        except _UnclearError as error:
            yield Rejected(number, "line", str(error))
        except RecursionError:
            yield Rejected(number, "line", "is nested too deeply")
        except ValueError as error:
            yield Rejected(number, "line", f"is no JSON: {error}")
        else:
            yield from _each(number, content)


def things_in_document(lines: Iterable[str]) -> Iterator[Thing | Rejected]:
    """The objects of a list, or of the list that an object holds.

    IntakeError where the text is no JSON, with the line.
    """
    for number, content in enumerate(_Document(lines).values(), 1):
        if isinstance(content, _UnclearError):
            yield Rejected(number, "object", str(content))
        else:
            yield from _each(number, content)


def _each(number: int, content: Any) -> Iterator[Thing | Rejected]:
    """A pour, or the pours of a flight, each with what the flight says."""
    if not isinstance(content, dict):
        yield Rejected(number, "object", "is no object with names and values")
        return
    pours = content.get(_POURS)
    if not isinstance(pours, list):
        yield Thing(number, content)
        return
    shared = {name: value for name, value in content.items() if name != _POURS}
    # What a flight calls its name is the flight of its pours.
    if "name" in shared and "flight" not in shared:
        shared["flight"] = shared.pop("name")
    for pour in pours:
        if isinstance(pour, dict):
            yield Thing(number, shared | pour)
        else:
            yield Rejected(number, _POURS, "is no object with names and values")


class _Document:
    """Takes the elements of a long list one by one, without holding the list."""

    def __init__(self, lines: Iterable[str]) -> None:
        self._lines = iter(lines)
        self._text = ""
        self._place = 0
        self._line = 1
        self._taken = 0
        self._ended = False

    def values(self) -> Iterator[Any]:
        """Every element; an _UnclearError stands for one that cannot be taken."""
        while (character := self._peek()) != "":
            if character == "[":
                yield from self._array()
            elif character == "{":
                yield from self._object()
            else:
                yield self._value()

    def _array(self) -> Iterator[Any]:
        self._place += 1
        if self._peek() == "]":
            self._place += 1
            return
        while True:
            yield self._value()
            mark = self._peek()
            self._place += 1
            if mark == "]":
                return
            if mark != ",":
                raise self._broken("a comma or ] is missing")

    def _object(self) -> Iterator[Any]:
        """The list that the object holds; where it holds none, the object itself."""
        self._place += 1
        held: dict[str, Any] = {}
        unclear: _UnclearError | None = None
        size, found = 0, False
        mark = self._peek()
        while mark != "}":
            name = self._value()
            if not isinstance(name, str) or self._peek() != ":":
                raise self._broken("a name in quotes and a colon are missing")
            self._place += 1
            if folded(name) in _LISTS and self._peek() == "[":
                found = True
                yield from self._array()
            else:
                value = self._value()
                size += self._taken
                if size > LONGEST_OBJECT:
                    raise self._broken(f"an object has more than {LONGEST_OBJECT:,} characters")
                if isinstance(value, _UnclearError):
                    unclear = value
                elif name in held:
                    unclear = _UnclearError(f"“{printable(name)[:40]}” stands there twice")
                else:
                    held[name] = value
            mark = self._peek()
            if mark == ",":
                self._place += 1
                if self._peek() == "}":
                    raise self._broken("a name in quotes is missing")
            elif mark != "}":
                raise self._broken("a comma or } is missing")
        self._place += 1
        if not found:
            yield unclear or held

    def _value(self) -> Any:
        self._peek()
        wanted = 1 << 16
        while True:
            try:
                value, end = _DECODER.raw_decode(self._text, self._place)
            except json.JSONDecodeError as error:
                if self._ended:
                    self._place = min(error.pos, len(self._text))
                    raise self._broken(error.msg) from None
                if len(self._text) - self._place > LONGEST_OBJECT:
                    raise self._broken(
                        f"no end within {LONGEST_OBJECT:,} characters, or {error.msg}"
                    ) from None
            except RecursionError:
                raise self._broken("it is nested too deeply") from None
            except _UnclearError as error:
                # Where it ends is known only to a reader that takes everything.
                return self._passed_over(error)
            except ValueError as error:
                raise self._broken(str(error)) from None
            else:
                # A number may go on in what was not read yet.
                if end < len(self._text) or self._ended:
                    self._taken = end - self._place
                    self._place = end
                    return value
            self._fill(wanted)
            wanted *= 2

    def _passed_over(self, error: _UnclearError) -> _UnclearError:
        lenient = json.JSONDecoder()
        wanted = 1 << 16
        while True:
            try:
                _, end = lenient.raw_decode(self._text, self._place)
            except (ValueError, RecursionError):
                if self._ended or len(self._text) - self._place > LONGEST_OBJECT:
                    raise self._broken(str(error)) from None
                self._fill(wanted)
                wanted *= 2
            else:
                self._taken = end - self._place
                self._place = end
                return error

    def _peek(self) -> str:
        """The next character that is no blank; empty at the end."""
        while True:
            while self._place < len(self._text):
                character = self._text[self._place]
                if character not in " \t\n\r":
                    return character
                self._place += 1
            if self._ended:
                return ""
            self._fill(1 << 16)

    def _fill(self, wanted: int) -> None:
        """Read on, and forget what is behind."""
        self._line += self._text.count("\n", 0, self._place)
        parts = [self._text[self._place :]]
        self._place = 0
        size = 0
        while size < wanted:
            line = next(self._lines, None)
            if line is None:
                self._ended = True
                break
            parts += (line, "\n")
            size += len(line) + 1
        self._text = "".join(parts)

    def _broken(self, why: str) -> IntakeError:
        ends = self._ended and self._place >= len(self._text.rstrip())
        place = len(self._text.rstrip()) if ends else self._place
        line = self._line + self._text.count("\n", 0, place)
        if ends:
            return IntakeError(f"breaks off in line {line}: {why}")
        return IntakeError(f"is no valid JSON in line {line}: {why}")


# ---- objects as rows

# What a value means within an object that is about one call or about the wine it was.
_WITHIN = {
    **dict.fromkeys(("final", "called", "call", "finalcall"), CALLED),
    **dict.fromkeys(("first", "firstcall"), FIRST),
    **dict.fromkeys(("reveal", "revealed", "was"), WAS),
    **dict.fromkeys(("runnerup", "runner"), RUNNER_UP),
}
_NAMES = frozenset({"text", "name", "wine", "label"})
_PARTS = {
    (CALLED, WAS_VINTAGE): CALLED_VINTAGE,
    (CALLED, CALLED_SURENESS): CALLED_SURENESS,
    (FIRST, WAS_VINTAGE): FIRST_VINTAGE,
    (FIRST, CALLED_SURENESS): FIRST_SURENESS,
    (WAS, WAS_VINTAGE): WAS_VINTAGE,
    (WAS, "alcohol"): LABEL_ALCOHOL,
    (WAS, LABEL_ALCOHOL): LABEL_ALCOHOL,
    (WAS, PRICE): PRICE,
}


def flat(content: Mapping[str, Any]) -> Iterator[tuple[str, Cell]]:
    """The values of an object with their paths; _UnclearError where it is nested too deeply."""
    stack: list[tuple[str, Any, int]] = [(n, v, 1) for n, v in reversed([*content.items()])]
    while stack:
        path, value, depth = stack.pop()
        if isinstance(value, dict):
            if depth > _DEEPEST:
                raise _UnclearError("is nested too deeply")
            stack += [(f"{path}.{n}", v, depth + 1) for n, v in reversed([*value.items()])]
        elif value is not None:
            yield path, _cell(value, path)


def _cell(value: Any, path: str) -> Cell:
    if isinstance(value, str):
        if len(value) > LONGEST_FIELD:
            raise _UnclearError(f"has a text of more than {LONGEST_FIELD:,} characters")
        return tidy(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        try:
            return float(value)
        except OverflowError:
            raise _UnclearError(f"“{printable(path)[:40]}” is too large a number") from None
    return written_items(item for one in value if (item := _item(one, path)))


def _item(value: Any, path: str) -> str:
    if isinstance(value, dict):
        text = next((str(v) for n, v in value.items() if folded(n) in _NAMES), "")
        struck = next((str(v) for n, v in value.items() if folded(n) in ("struck", "why")), "")
        item = written_item(tidy(text))
        return f"{item} [{written_item(tidy(struck))}]" if struck else item
    if isinstance(value, list):
        raise _UnclearError(f"“{printable(path)[:40]}” is a list of lists")
    return "" if value is None else written_item(str(_cell(value, path)))


class Paths:
    """The paths of all objects of a source, and the columns that they make."""

    def __init__(self, descriptor: DescriptorOf) -> None:
        self._descriptor = descriptor
        self._places: dict[str, int] = {}

    def see(self, thing: Thing) -> None:
        """Take notice of an object before any becomes a row."""
        try:
            for path, _ in flat(thing.content):
                if path not in self._places:
                    if len(self._places) >= _MOST_PATHS:
                        raise IntakeError(f"names more than {_MOST_PATHS:,} different things")
                    self._places[path] = len(self._places)
        except _UnclearError:
            return

    def columns(self) -> Columns:
        """The columns, one for each path."""
        at: dict[str, int] = {}
        ranks: dict[str, int] = {}
        noted: dict[int, str] = {}
        warnings: list[str] = []
        for path, place in self._places.items():
            found = self._role(path)
            last = path.rpartition(".")[2]
            if found is not None and ".typed." not in path:
                role, rank = found
                if role in at:
                    better = rank < ranks[role]
                    loser = self._path(at[role]) if better else path
                    warnings.append(f"“{_short(loser)}” was not read: another name says the same")
                    if not better:
                        continue
                at[role], ranks[role] = place, rank
            elif len(last) <= LONGEST_HEADING and (key := self._descriptor(last)):
                noted[place] = key
            elif folded(path) not in _UNNAMED:
                warnings.append(f"“{_short(path)}” was not read")
        return Columns(at, tuple(self._places), tuple(warnings), {}, noted)

    def row(self, thing: Thing) -> Row | Rejected:
        """An object as a row, with a cell for every path."""
        cells: list[Cell] = [""] * len(self._places)
        try:
            for path, cell in flat(thing.content):
                cells[self._places[path]] = cell
        except _UnclearError as error:
            return Rejected(thing.number, "object", str(error))
        return Row(thing.number, cells)

    def _path(self, place: int) -> str:
        return tuple(self._places)[place]

    def _role(self, path: str) -> tuple[str, int] | None:
        *before, last = path.split(".")
        about = next(
            (_WITHIN[f] for part in reversed(before) if (f := folded(part)) in _WITHIN), None
        )
        if about is None:
            return role_of(last.replace("_", " "))
        if folded(last) in _NAMES:
            # In an export the name as typed stands beside the key of its wine.
            typed = f"{'.'.join(before)}.text"
            if folded(last) == "wine" and typed in self._places:
                return None
            return about, 0 if folded(last) == "text" else 1
        found = role_of(last)
        role = _PARTS.get((about, found[0])) if found else None
        return None if role is None else (role, 0)


# Read by other means, or of no use in another database.
_UNNAMED = frozenset({"mark"})


def _short(path: str) -> str:
    return printable(path if len(path) <= 40 else path[:39] + "…")
