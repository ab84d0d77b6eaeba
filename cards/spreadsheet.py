"""The table as one sheet: a wine a row, a fact a column, written and read without loss.

A sheet may come back from a spreadsheet with other quotes, line ends, delimiters, decimal commas
or columns in another order. It is read by the names of its columns, and whatever cannot be
understood is told with row and column.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from cards.facts import (
    Change,
    FactPath,
    Value,
    basis_name,
    changed_facts,
    facts_of,
    number_text,
    span_text,
)
from cards.lexicon import DEPTH, HUE, STRUCTURE
from cards.profiles import STYLES, UNLISTED, Profile, parse_span
from cards.scale import LevelRange, Typical
from cards.tables import Table, known_bases

KEY, STYLE, BASES = "key", "style", "bases"
DELIMITERS = (",", ";", "\t", "|")

# One column for each fact that every wine has, and for tannin; the columns of descriptors follow.
_PLACES: Mapping[str, FactPath] = {
    "name": ("name",),
    "short": ("short",),
    "synonyms": ("synonyms",),
    "telling": ("telling",),
    "laterals": ("laterals",),
    "grapes": ("grape", "shares"),
    "country": ("place", "country"),
    "region": ("place", "region"),
    "world": ("place", "world"),
    "climate": ("place", "climate"),
    HUE: ("colour", "hue"),
    DEPTH: ("colour", "depth"),
    "rim": ("colour", "rim"),
    "ageing": ("colour", "ageing"),
    "alcohol low": ("alcohol", "low"),
    "alcohol high": ("alcohol", "high"),
    "sugar class": ("sugar", "class"),
    "sugar low": ("sugar", "low"),
    "sugar high": ("sugar", "high"),
    **{name: ("structure", name) for name in STRUCTURE},
    "oak vessel": ("oak", "vessel"),
    "oak months": ("oak", "months"),
    "release": ("age", "release"),
    "window": ("age", "window"),
    "quality": ("age", "quality"),
}
_HEADERS: Mapping[FactPath, str] = {path: header for header, path in _PLACES.items()}
_TAKEN = frozenset({*_PLACES, KEY, STYLE, BASES})
_NUMBERS = frozenset(p for p in _PLACES.values() if p[-1] in ("low", "high", "release"))
_SPANS = frozenset(p for p in _PLACES.values() if p[-1] in ("months", "window"))
_WORDS = frozenset(p for p in _PLACES.values() if p[-1] in ("world", "climate", "class"))
_MAY_BE_EMPTY = (("synonyms",), ("laterals",))
_KEY = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_SHARE = re.compile(r"(.+?)\s+(\d+(?:\.\d+)?(?:\s+to\s+\d+(?:\.\d+)?)?)")
# A spreadsheet takes a cell that begins so for a formula, and would run it.
_RUNS = ("=", "+", "-", "@", "\t", "\r")


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


@dataclass(frozen=True, slots=True)
class Told:
    """One changed fact in words: its column, the cell before and after."""

    fact: str
    before: str
    after: str


def valid_key(text: str) -> bool:
    """Whether a text can be a wine's key: small letters, digits, hyphens between them."""
    return bool(_KEY.fullmatch(text))


# ---- writing


def sheet_text(table: Table, *, decimal_comma: bool = False) -> str:
    """The whole table as CSV; with `decimal_comma` as it is usual where numbers are written so."""
    listed = {key for profile in table.profiles.values() for key in profile.descriptors}
    words = [key for key in table.lexicon.descriptors if key in listed]
    headers = [KEY, "name", "short", STYLE, *list(_PLACES)[2:], BASES]
    paths: list[FactPath] = [_PLACES[header] for header in headers if header in _PLACES]
    paths += [("descriptors", key) for key in words]
    headers += [header_of(("descriptors", key)) for key in words]
    text = io.StringIO()
    writer = csv.writer(text, delimiter=";" if decimal_comma else ",", lineterminator="\r\n")
    writer.writerow(map(_guarded, headers))
    for profile in table.profiles.values():
        facts = facts_of(profile)
        cells = {header_of(path): cell_text(facts.get(path, "")) for path in paths}
        if decimal_comma:
            for path in paths:
                if path in _NUMBERS:
                    cells[header_of(path)] = cells[header_of(path)].replace(".", ",")
        cells |= {KEY: profile.key, STYLE: profile.style, BASES: _bases_text(profile, facts)}
        writer.writerow(_guarded(cells[header]) for header in headers)
    return text.getvalue()


def header_of(path: FactPath) -> str:
    """The name of a fact's column."""
    if path in _HEADERS:
        return _HEADERS[path]
    return f"descriptor {path[-1]}" if path[-1] in _TAKEN else path[-1]


def cell_text(value: Value) -> str:
    """A fact as a cell holds it; a fact taken off the wine is an empty cell."""
    if isinstance(value, dict):
        return _joined(f"{key} {share}" for key, share in value.items())
    if isinstance(value, list):
        return _joined(value)
    if isinstance(value, int | float):
        return number_text(value)
    return "" if value == UNLISTED else value


def _joined(items: Iterator[str] | Sequence[str]) -> str:
    return " | ".join(item.replace("\\", "\\\\").replace("|", "\\|") for item in items)


def _bases_text(profile: Profile, facts: Mapping[FactPath, Value]) -> str:
    """The commonest basis of the wine, then every fact that rests on another."""
    names = dict.fromkeys(name for path in facts if (name := basis_name(path)))
    counts = Counter(profile.basis_of(name) for name in names)
    usual = min(counts, key=lambda basis: (-counts[basis], basis))
    others = [
        f"{name}={profile.basis_of(name)}" for name in names if profile.basis_of(name) != usual
    ]
    return _joined([usual, *others])


def _guarded(cell: str) -> str:
    # An apostrophe that is part of the text gets one too, so that one can always be taken away.
    return f"'{cell}" if cell.startswith((*_RUNS, "'")) else cell


def _unguarded(cell: str) -> str:
    return cell[1:] if cell.startswith("'") and cell[1:].startswith((*_RUNS, "'")) else cell


# ---- reading


def column_letters(index: int) -> str:
    """The letters over a column: 0 is A, 25 is Z, 26 is AA."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def _folded(text: str) -> str:
    return " ".join(re.split(r"[-_\s]+", text.strip().casefold()))


def _known_headers(table: Table) -> dict[str, FactPath | str]:
    known: dict[str, FactPath | str] = {name: name for name in (KEY, STYLE, BASES)}
    known |= {_folded(header): path for header, path in _PLACES.items()}
    for key in table.lexicon.descriptors:
        known.setdefault(_folded(key), ("descriptors", key))
        known[f"descriptor {_folded(key)}"] = ("descriptors", key)
    for key, descriptor in table.lexicon.descriptors.items():
        for wording in descriptor.wordings:
            known.setdefault(_folded(wording), ("descriptors", key))
    return known


def _records(text: str, known: Mapping[str, FactPath | str]) -> list[list[str]]:
    """The rows of cells, by the delimiter with which the first row names most columns."""
    text = text.replace("\r\n", "\n").replace("\r", "\n").removeprefix("\ufeff")
    if re.match(r'"?sep=.?"?\n', text):
        text = text.partition("\n")[2]

    def rows(delimiter: str) -> Iterator[list[str]]:
        return csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)

    def named(delimiter: str) -> int:
        first = next(rows(delimiter), [])
        return sum(_folded(_unguarded(cell)) in known for cell in first)

    return list(rows(max(DELIMITERS, key=named)))


def read_sheet(text: str, table: Table) -> Sheet:
    """Read a sheet; nothing is raised, every cell that cannot be taken is among the problems.

    `table` says which words, grapes, wines and bases there are.
    """
    known = _known_headers(table)
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
    keys |= {_unguarded(row[columns[KEY]]).strip() for row in records[1:] if _has(row, columns)}
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
        header = _unguarded(headers[index]).strip() if index < len(headers) else ""
        letters = column_letters(index)
        if not header:
            filled = next(
                (n for n, row in enumerate(records, 1) if index < len(row) and row[index].strip()),
                None,
            )
            if filled:
                problems.append(SheetProblem(filled, letters, "", "the column has no name"))
            continue
        meant = known.get(_folded(header))
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
        self.grapes = {_folded(key): key for key in self.table.names.grapes}
        for key, grape in self.table.names.grapes.items():
            self.grapes.setdefault(_folded(grape.name), key)
        self.bases = known_bases(self.table)
        paths = [
            *_PLACES.values(),
            *(("descriptors", key) for key in self.table.lexicon.descriptors),
        ]
        self.facts = {_folded(name): name for path in paths if (name := basis_name(path))}

    def problem(self, number: int, name: FactPath | str, text: str) -> None:
        header = name if isinstance(name, str) else header_of(name)
        column = column_letters(self.columns[name]) if name in self.columns else ""
        self.problems.append(SheetProblem(number, column, header, text))

    def cell(self, record: Sequence[str], name: FactPath | str) -> str:
        index = self.columns.get(name, len(record))
        return _unguarded(record[index]) if index < len(record) else ""

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
            needed = [h for h, p in _PLACES.items() if p not in self.columns]
            needed = [h for h in needed if _PLACES[h] not in _MAY_BE_EMPTY and h != "tannin"]
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
        if path in _NUMBERS:
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
                return dict(map(self._share, _split(text)))
            case ("colour", "hue"):
                return [hue.casefold().replace(" ", "-") for hue in _split(text)]
            case ("laterals",):
                wines = _split(text)
                for wine in wines:
                    if wine not in self.keys:
                        raise ValueError(f"“{wine}” is no wine of the table")
                return list(wines)
            case ("synonyms",):
                return _split(text)
        if path in _WORDS:
            return text.casefold()
        return _kept(cell, profile, path)

    def _share(self, item: str) -> tuple[str, str]:
        match = _SHARE.fullmatch(_points(item))
        if not match:
            raise ValueError(f"“{item}” should be a grape and its share, such as “merlot 5 to 20”")
        grape = self.grapes.get(_folded(match[1]))
        if grape is None:
            raise ValueError(f"grape “{match[1]}” is not in names.toml")
        return grape, span_text(parse_span(match[2]))

    def stated(self, number: int, record: Sequence[str]) -> tuple[dict[str, str], str]:
        """What single facts rest on, and what the others do, as far as the sheet says so."""
        bases: dict[str, str] = {}
        usual = ""
        for item in _split(self.cell(record, BASES)):
            name, equals, basis = (part.strip() for part in item.rpartition("="))
            if basis not in self.bases:
                self.problem(number, BASES, f"“{basis}” is no basis and no source")
            elif not equals:
                usual = basis
            elif _folded(name) in self.facts:
                bases[self.facts[_folded(name)]] = basis
            else:
                self.problem(number, BASES, f"“{name}” is no fact that has a basis")
        return bases, usual


def _split(text: str) -> list[str]:
    items, at = [""], 0
    while at < len(text):
        if text[at] == "\\" and at + 1 < len(text):
            at += 1
            items[-1] += text[at]
        elif text[at] == "|":
            items.append("")
        else:
            items[-1] += text[at]
        at += 1
    return [item.strip() for item in items if item.strip()]


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


# ---- from a sheet to changes


def changes_of(sheet: Sheet, table: Table, shipped: Table) -> list[Change]:
    """What a sheet changes in `table`, a wine at a time; `shipped` is the table without overlay."""
    changes = []
    for row in sheet.rows:
        facts = changed_facts(
            table.profiles.get(row.key),
            shipped.profiles.get(row.key),
            row.facts,
            row.bases,
            row.usual,
        )
        if facts:
            changes.append(Change(row.key, row.style, facts))
    return changes


def told(change: Change, table: Table, shipped: Table) -> list[Told]:
    """A change in words: each fact that will differ from `table`, before and after."""
    profile = table.profiles.get(change.wine)
    first = shipped.profiles.get(change.wine)
    now = facts_of(profile) if profile else {}
    back = facts_of(first) if first else {}
    values: list[Told] = []
    rests: dict[str, Told] = {}
    changed: set[str] = set()
    for path, fact in change.facts.items():
        name = basis_name(path)
        before = cell_text(now.get(path, ""))
        after = cell_text(back.get(path, "") if fact is None else fact.value)
        if before != after:
            values.append(Told(header_of(path), before, after))
            changed.add(name)
        elif name and profile:
            had = profile.basis_of(name)
            will = fact.basis if fact else first.basis_of(name) if first else had
            if will != had:
                rests[name] = Told(f"basis of {name}", had, will)
    # Of a value that changes it goes without saying that its basis does.
    return [*values, *(one for name, one in rests.items() if name not in changed)]
