"""Objects laid out as the rows of a table; the path to a value is its heading: `note.acid`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
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
from drills.tastings.objects import Thing, UnclearError

_DEEPEST = 12
_MOST_PATHS = 2_000

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
    """The values of an object with their paths; UnclearError where it is nested too deeply."""
    stack: list[tuple[str, Any, int]] = [(n, v, 1) for n, v in reversed([*content.items()])]
    while stack:
        path, value, depth = stack.pop()
        if isinstance(value, dict):
            if depth > _DEEPEST:
                raise UnclearError("is nested too deeply")
            stack += [(f"{path}.{n}", v, depth + 1) for n, v in reversed([*value.items()])]
        elif value is not None:
            yield path, _cell(value, path)


def _cell(value: Any, path: str) -> Cell:
    if isinstance(value, str):
        if len(value) > LONGEST_FIELD:
            raise UnclearError(f"has a text of more than {LONGEST_FIELD:,} characters")
        return tidy(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        try:
            return float(value)
        except OverflowError:
            raise UnclearError(f"“{printable(path)[:40]}” is too large a number") from None
    return written_items(item for one in value if (item := _item(one, path)))


def _item(value: Any, path: str) -> str:
    if isinstance(value, dict):
        text = next((str(v) for n, v in value.items() if folded(n) in _NAMES), "")
        struck = next((str(v) for n, v in value.items() if folded(n) in ("struck", "why")), "")
        item = written_item(tidy(text))
        return f"{item} [{written_item(tidy(struck))}]" if struck else item
    if isinstance(value, list):
        raise UnclearError(f"“{printable(path)[:40]}” is a list of lists")
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
        except UnclearError:
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
        except UnclearError as error:
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
