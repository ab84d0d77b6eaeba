"""A sheet read back: every cell is taken or told, with its row and column.

A sheet may come back from a spreadsheet with other quotes, line ends, delimiters, decimal commas
or columns in another order. It is read by the names of its columns.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from cards.facts import FactPath, Value, basis_name, facts_of, span_text
from cards.profiles import STYLES, UNLISTED, Profile, parse_span
from cards.scale import LevelRange, Typical
from cards.spreadsheet.cells import split, unguarded
from cards.spreadsheet.columns import (
    BASES,
    KEY,
    NUMBERS,
    PLACES,
    STYLE,
    column_letters,
    folded,
    header_of,
    known_headers,
)
from cards.tables import Table, known_bases

DELIMITERS = (",", ";", "\t", "|")
_SPANS = frozenset(p for p in PLACES.values() if p[-1] in ("months", "window"))
_WORDS = frozenset(p for p in PLACES.values() if p[-1] in ("world", "climate", "class"))
_MAY_BE_EMPTY = (("synonyms",), ("laterals",))
_KEY = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_SHARE = re.compile(r"(.+?)\s+(\d+(?:\.\d+)?(?:\s+to\s+\d+(?:\.\d+)?)?)")


@dataclass(frozen=True, slots=True)
class SheetProblem:
    """A cell that cannot be taken, by the row and column that the spreadsheet shows."""

    row: int
    column: str
    header: str
    text: str

    def __str__(self) -> str:
        if not self.column:
            return f"row {self.row}: {self.text}"
        name = f" ({self.header})" if self.header else ""
        return f"row {self.row}, column {self.column}{name}: {self.text}"


@dataclass(frozen=True, slots=True)
class WineRow:
    """One wine of a sheet: the facts of the columns that are there, and what they rest on.

    `bases` names what single facts rest on, `usual` what the others do; both are empty where the
    sheet says nothing of it.
    """

    number: int
    key: str
    style: str
    facts: Mapping[FactPath, Value]
    bases: Mapping[str, str]
    usual: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet as read. `columns` places each fact, `problems` are all that were found."""

    rows: tuple[WineRow, ...]
    columns: Mapping[FactPath, int]
    problems: tuple[SheetProblem, ...]


def valid_key(text: str) -> bool:
    """Whether a text can be a wine's key: small letters, digits, hyphens between them."""
    return bool(_KEY.fullmatch(text))


def read_sheet(text: str, table: Table) -> Sheet:
    """Read a sheet; nothing is raised, every cell that cannot be taken is among the problems.

    `table` says which words, grapes, wines and bases there are.
    """
    known = known_headers(table)
    try:
        records = _records(text, known)
    except csv.Error as error:
        return Sheet((), {}, (SheetProblem(1, "", "", f"this is no table ({error})"),))
    problems: list[SheetProblem] = []
    columns = _columns(records, known, problems)
    if KEY not in columns:
        problems.insert(0, SheetProblem(1, "", "", f"no column is named “{KEY}”"))
        return Sheet((), {}, tuple(problems))
    keys = {*table.profiles}
    keys |= {unguarded(row[columns[KEY]]).strip() for row in records[1:] if _has(row, columns)}
    reader = _Reader(table, columns, keys, problems)
    rows: dict[str, WineRow] = {}
    for number, record in enumerate(records[1:], 2):
        if not any(cell.strip() for cell in record):
            continue
        row = reader.row(number, record)
        if row is None:
            continue
        if row.key in rows:
            reader.problem(number, KEY, f"“{row.key}” stands in row {rows[row.key].number} too")
        rows.setdefault(row.key, row)
    places = {name: column for name, column in columns.items() if not isinstance(name, str)}
    return Sheet(tuple(rows.values()), places, tuple(problems))


def _records(text: str, known: Mapping[str, FactPath | str]) -> list[list[str]]:
    """The rows of cells, by the delimiter with which the first row names most columns."""
    text = text.replace("\r\n", "\n").replace("\r", "\n").removeprefix("\ufeff")
    if re.match(r'"?sep=.?"?\n', text):
        text = text.partition("\n")[2]

    def rows(delimiter: str) -> Iterator[list[str]]:
        return csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)

    def named(delimiter: str) -> int:
        first = next(rows(delimiter), [])
        return sum(folded(unguarded(cell)) in known for cell in first)

    return list(rows(max(DELIMITERS, key=named)))


def _has(row: Sequence[str], columns: Mapping[FactPath | str, int]) -> bool:
    return len(row) > columns[KEY]


def _columns(
    records: Sequence[Sequence[str]],
    known: Mapping[str, FactPath | str],
    problems: list[SheetProblem],
) -> dict[FactPath | str, int]:
    headers = records[0] if records else []
    columns: dict[FactPath | str, int] = {}
    for index in range(max(map(len, records), default=0)):
        header = unguarded(headers[index]).strip() if index < len(headers) else ""
        letters = column_letters(index)
        if not header:
            filled = next(
                (n for n, row in enumerate(records, 1) if index < len(row) and row[index].strip()),
                None,
            )
            if filled:
                problems.append(SheetProblem(filled, letters, "", "the column has no name"))
            continue
        meant = known.get(folded(header))
        if meant is None:
            problems.append(SheetProblem(1, letters, header, "no fact has this name"))
        elif meant in columns:
            before = column_letters(columns[meant])
            problems.append(SheetProblem(1, letters, header, f"is column {before} too"))
        else:
            columns[meant] = index
    return columns


@dataclass
class _Reader:
    """Reads the rows of one sheet."""

    table: Table
    columns: Mapping[FactPath | str, int]
    keys: set[str]
    problems: list[SheetProblem]
    grapes: dict[str, str] = field(init=False)
    bases: frozenset[str] = field(init=False)
    facts: dict[str, str] = field(init=False)

    def __post_init__(self) -> None:
        self.grapes = {folded(key): key for key in self.table.names.grapes}
        for key, grape in self.table.names.grapes.items():
            self.grapes.setdefault(folded(grape.name), key)
        self.bases = known_bases(self.table)
        paths = [
            *PLACES.values(),
            *(("descriptors", key) for key in self.table.lexicon.descriptors),
        ]
        self.facts = {folded(name): name for path in paths if (name := basis_name(path))}

    def problem(self, number: int, name: FactPath | str, text: str) -> None:
        header = name if isinstance(name, str) else header_of(name)
        column = column_letters(self.columns[name]) if name in self.columns else ""
        self.problems.append(SheetProblem(number, column, header, text))

    def cell(self, record: Sequence[str], name: FactPath | str) -> str:
        index = self.columns.get(name, len(record))
        return unguarded(record[index]) if index < len(record) else ""

    def row(self, number: int, record: Sequence[str]) -> WineRow | None:
        """One wine, or None where it cannot even be told which."""
        key = self.cell(record, KEY).strip()
        profile = self.table.profiles.get(key)
        if not valid_key(key) and profile is None:
            self.problem(number, KEY, f"“{key}” is no key: small letters, digits and hyphens")
            return None
        style = self.cell(record, STYLE).strip().casefold().replace("é", "e")
        if profile is not None:
            if style and style != profile.style:
                self.problem(number, STYLE, f"{key} is {profile.style}; its style stays")
            style = profile.style
        elif style not in STYLES:
            self.problem(number, STYLE, f"“{style}” is none of {', '.join(STYLES)}")
        facts: dict[FactPath, Value] = {}
        for path in self.columns:
            if isinstance(path, str):
                continue
            try:
                value = self.value(path, self.cell(record, path), style, profile)
            except ValueError as error:
                self.problem(number, path, str(error))
            else:
                facts[path] = value
        if profile is None:
            needed = [h for h, p in PLACES.items() if p not in self.columns]
            needed = [h for h in needed if PLACES[h] not in _MAY_BE_EMPTY and h != "tannin"]
            if needed:
                text = f"a new wine needs a column for {', '.join(needed)}"
                self.problems.append(SheetProblem(number, "", "", text))
        return WineRow(number, key, style, facts, *self.stated(number, record))

    def value(self, path: FactPath, cell: str, style: str, profile: Profile | None) -> Value:
        """What a cell says; ValueError says what is wrong with it."""
        text = cell.strip()
        if not text:
            if path[0] == "descriptors":
                return UNLISTED
            if path == ("structure", "tannin") and style not in ("red", "rose"):
                return UNLISTED
            if path in _MAY_BE_EMPTY:
                return []
            raise ValueError("is empty")
        if path in NUMBERS:
            if not _NUMBER.fullmatch(text):
                raise ValueError(f"“{text}” is no number")
            number = float(text.replace(",", "."))
            return int(number) if number == int(number) else number
        if path in _SPANS:
            return span_text(parse_span(_points(text)))
        match path:
            case ("structure", _) | ("colour", "depth"):
                return str(LevelRange.parse(" ".join(text.casefold().split())))
            case ("descriptors", _):
                try:
                    return str(Typical(text.casefold()))
                except ValueError:
                    words = ", ".join(Typical)
                    raise ValueError(f"“{text}” is none of {words}, or empty") from None
            case ("grape", "shares"):
                return dict(map(self._share, split(text)))
            case ("colour", "hue"):
                return [hue.casefold().replace(" ", "-") for hue in split(text)]
            case ("laterals",):
                wines = split(text)
                for wine in wines:
                    if wine not in self.keys:
                        raise ValueError(f"“{wine}” is no wine of the table")
                return list(wines)
            case ("synonyms",):
                return split(text)
        if path in _WORDS:
            return text.casefold()
        return _kept(cell, profile, path)

    def _share(self, item: str) -> tuple[str, str]:
        match = _SHARE.fullmatch(_points(item))
        if not match:
            raise ValueError(f"“{item}” should be a grape and its share, such as “merlot 5 to 20”")
        grape = self.grapes.get(folded(match[1]))
        if grape is None:
            raise ValueError(f"grape “{match[1]}” is not in names.toml")
        return grape, span_text(parse_span(match[2]))

    def stated(self, number: int, record: Sequence[str]) -> tuple[dict[str, str], str]:
        """What single facts rest on, and what the others do, as far as the sheet says so."""
        bases: dict[str, str] = {}
        usual = ""
        for item in split(self.cell(record, BASES)):
            name, equals, basis = (part.strip() for part in item.rpartition("="))
            if basis not in self.bases:
                self.problem(number, BASES, f"“{basis}” is no basis and no source")
            elif not equals:
                usual = basis
            elif folded(name) in self.facts:
                bases[self.facts[folded(name)]] = basis
            else:
                self.problem(number, BASES, f"“{name}” is no fact that has a basis")
        return bases, usual


def _points(text: str) -> str:
    """Ranges in text with decimal points, whichever mark the spreadsheet writes."""
    return re.sub(r"(?<=\d),(?=\d)", ".", text)


def _kept(cell: str, profile: Profile | None, path: FactPath) -> Value:
    """A text, or the one that stands in the table where the spreadsheet only trimmed it."""
    before = facts_of(profile).get(path) if profile else None
    if not isinstance(before, str):
        return cell.strip()
    if cell.strip() == before.strip():
        return before
    if len(cell) == len(before) and all(
        new == old or (new in "?_\ufffd" and not old.isascii())
        for new, old in zip(cell, before, strict=True)
    ):
        raise ValueError(f"letters are lost in “{cell}”; save the sheet as CSV in UTF-8")
    return cell.strip()
