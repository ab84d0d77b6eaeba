"""JSON and JSON Lines: objects taken one at a time.

A list of pours, an object that holds such a list, flights with their pours inside, or one object a
line.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from drills.errors import IntakeError
from drills.tastings.cells import printable
from drills.tastings.columns import folded
from drills.tastings.drafts import Rejected

# One pour, or one flight with its pours.
LONGEST_OBJECT = 4_000_000  # characters
_LISTS = frozenset({"tastings", "flights", "rows"})
_POURS = "pours"


class UnclearError(Exception):
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
        raise UnclearError(f"“{printable(twice)[:40]}” stands there twice")
    return found


def _no_number(name: str) -> Any:
    raise UnclearError(f"{name} is no number")


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
        except UnclearError as error:
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
        if isinstance(content, UnclearError):
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
        """Every element; an UnclearError stands for one that cannot be taken."""
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
        unclear: UnclearError | None = None
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
                if isinstance(value, UnclearError):
                    unclear = value
                elif name in held:
                    unclear = UnclearError(f"“{printable(name)[:40]}” stands there twice")
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
            except UnclearError as error:
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

    def _passed_over(self, error: UnclearError) -> UnclearError:
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
