"""The list of a cellar from a file: one wine a row, headings forgiven, wines as typed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TextIO

from drills.errors import IntakeError
from drills.tastings.cells import DELIMITERS, Cell, Row, delimited_rows, printable
from drills.tastings.columns import folded
from drills.tastings.drafts import Rejected, even
from drills.tastings.figures import read_decimal, read_year
from drills.tastings.full_rows import year_in
from drills.tastings.marks import unguarded
from drills.tastings.noting import cell_text
from drills.tastings.packed import Workbook
from drills.tastings.sources import Source
from drills.tastings.texts import find_encoding, lines_of

WINE, VINTAGE, PRICE, BOTTLES, NOTE, KEY = "wine", "vintage", "price", "bottles", "note", "key"
COLUMNS = (WINE, VINTAGE, PRICE, BOTTLES, NOTE, KEY)
"""The columns of an exported cellar, in their order."""

LONGEST_NAME = 500
MOST_BOTTLES = 100_000
_HEADING_WITHIN = 20
_HEADINGS: Mapping[str, tuple[str, ...]] = {
    WINE: (
        *("wine", "name", "label", "wine name", "bottle", "vin", "nom", "wein", "vino"),
        *("vinho", "etikett", "étiquette", "etichetta", "etiqueta"),
    ),
    VINTAGE: ("vintage", "year", "millésime", "année", "jahrgang", "annata", "añada", "cosecha"),
    PRICE: ("price", "cost", "price paid", "prix", "preis", "prezzo", "precio"),
    BOTTLES: (
        *("bottles", "number", "quantity", "qty", "how many", "count", "stock", "left", "no"),
        *("bouteilles", "quantité", "flaschen", "anzahl", "bottiglie", "quantità", "botellas"),
        *("cantidad",),
    ),
    NOTE: ("note", "notes", "remark", "remarks", "comment", "remarque", "notiz", "nota"),
    KEY: ("key", "wine key"),
}
_ROLES = {folded(heading): role for role, words in _HEADINGS.items() for heading in words}
# What stands around a price: signs and codes of money.
_MONEY = re.compile(r"[€$£¥]|\b(?:eur|usd|gbp|chf|aud|nzd|cad|zar|sek|nok|dkk|jpy)\b\.?", re.I)
_NO_VINTAGE = frozenset({"nv", "n/v", "-", "n/a", "sa", "ohne"})


@dataclass(frozen=True, slots=True)
class ListedBottle:
    """One row of the list: the wine as typed, `key` where the file has the table's own for it."""

    row: int
    text: str
    vintage: int | None
    price: float | None
    bottles: int
    note: str
    key: str


@dataclass(frozen=True, slots=True)
class BottleList:
    """All that a file holds; `label` is the name of the file."""

    label: str
    bottles: tuple[ListedBottle, ...]
    rejected: tuple[Rejected, ...]
    warnings: tuple[str, ...]


def read_bottles(source: Path | TextIO) -> BottleList:
    """Every wine of a list, CSV and the like or the first sheet of XLSX or ODS that names wines.

    Raises:
        IntakeError: the file cannot be read, or has no column for the wine.
    """
    with Source(source) as opened:
        try:
            rows, warnings = _table(opened)
        except IntakeError as error:
            text = str(error)
            shown = opened.shown
            raise IntakeError(text if text.startswith(shown) else f"{shown} {text}") from None
        return _read(opened.label, rows, warnings)


def _table(source: Source) -> tuple[list[Row], tuple[str, ...]]:
    """The rows from the headings on."""
    encoding = find_encoding(source)
    if encoding is None:
        with source.opened() as stream:
            for sheet in Workbook(stream).sheets():
                if rows := _from_headings(sheet.rows):
                    return rows, ()
        raise _no_wines()
    lines = list(lines_of(source, encoding))
    if not any(line.strip() for line in lines):
        raise IntakeError("is empty")
    found: list[list[Row]] = []
    broken: list[IntakeError] = []
    for mark in DELIMITERS:
        # What is a whole cell by one delimiter may be a quote that never closes by another.
        try:
            found.append(_from_headings(delimited_rows(lines, mark)))
        except IntakeError as error:
            broken.append(error)
    best = max(
        found, key=lambda rows: len(set(_roles(rows[0].cells).values())) if rows else 0, default=[]
    )
    if not best:
        raise broken[0] if broken else _no_wines()
    return best, encoding.warnings


def _no_wines() -> IntakeError:
    return IntakeError("has no column “wine”; a list of bottles needs one, the rest may be missing")


def _from_headings(rows: Iterable[Row]) -> list[Row]:
    left = iter(rows)
    for row in islice(left, _HEADING_WITHIN):
        if WINE in _roles(row.cells).values():
            return [row, *left]
    return []


def _roles(cells: Sequence[Cell]) -> dict[int, str]:
    """Which column is which, by place; of two that say the same the first is meant."""
    found: dict[int, str] = {}
    for place, cell in enumerate(cells):
        # The money may stand in the heading: “Price (EUR)”, “Prix €”.
        said = _MONEY.sub("", cell_text(cell))
        role = _ROLES.get(folded(said)) if said.strip() else None
        if role is not None and role not in found.values():
            found[place] = role
    return found


def _read(label: str, rows: list[Row], warnings: tuple[str, ...]) -> BottleList:
    head, *body = rows
    roles = _roles(head.cells)
    told = list(warnings)
    told += [
        f"column “{printable(cell_text(cell)[:40])}” was not read"
        for place, cell in enumerate(head.cells)
        if place not in roles and cell_text(cell)
    ]
    found: dict[tuple[object, ...], ListedBottle] = {}
    rejected: list[Rejected] = []
    for row in body:
        if not any(cell_text(cell) for cell in row.cells):
            continue
        said = dict.fromkeys(COLUMNS, "")
        for place, role in roles.items():
            if place < len(row.cells):
                said[role] = unguarded(cell_text(row.cells[place]))
        try:
            bottle = _bottle(row.number, said)
        except _WrongError as error:
            heading = next(
                (cell_text(head.cells[p]) for p, role in roles.items() if role == error.column),
                error.column,
            )
            rejected.append(Rejected(row.number, heading, error.reason))
            continue
        identity = (even(bottle.text), bottle.vintage)
        before = found.get(identity)
        if before is not None:
            told.append(f"rows {before.row} and {row.number} are one wine: bottles were added up")
            bottle = ListedBottle(
                before.row,
                before.text,
                before.vintage,
                bottle.price if before.price is None else before.price,
                before.bottles + bottle.bottles,
                before.note or bottle.note,
                before.key or bottle.key,
            )
        found[identity] = bottle
    return BottleList(label, tuple(found.values()), tuple(rejected), tuple(told))


class _WrongError(Exception):
    """A cell that cannot be meant: its column and why."""

    def __init__(self, column: str, reason: str) -> None:
        super().__init__(reason)
        self.column, self.reason = column, reason


def _bottle(row: int, said: Mapping[str, str]) -> ListedBottle:
    text = said[WINE]
    if not any(character.isalnum() for character in text):
        raise _WrongError(WINE, "the name of the wine is missing")
    if len(text) > LONGEST_NAME:
        raise _WrongError(WINE, "is too long for the name of a wine")
    return ListedBottle(
        row,
        text,
        _vintage(said[VINTAGE]) if said[VINTAGE] else year_in(text),
        _price(said[PRICE]),
        _number(said[BOTTLES]),
        said[NOTE],
        said[KEY],
    )


def _vintage(text: str) -> int | None:
    if text.casefold() in _NO_VINTAGE:
        return None
    try:
        return read_year(text)
    except ValueError as error:
        raise _WrongError(VINTAGE, f"“{printable(text[:20])}” {error}") from None


def _price(text: str) -> float | None:
    bare = _MONEY.sub("", text).strip()
    if not bare:
        return None
    try:
        price = read_decimal(bare)
    except ValueError as error:
        raise _WrongError(PRICE, str(error)) from None
    if price < 0:
        raise _WrongError(PRICE, "a price is not below nothing")
    return price


def _number(text: str) -> int:
    if not text:
        return 1
    try:
        number = read_decimal(text)
    except ValueError as error:
        raise _WrongError(BOTTLES, str(error)) from None
    if not number.is_integer() or not 0 <= number <= MOST_BOTTLES:
        raise _WrongError(BOTTLES, f"“{printable(text[:20])}” is no number of bottles")
    return int(number)
