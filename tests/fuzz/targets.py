"""What is fed to the program: for each target real inputs, ways to alter them, and what takes them.

A target either does its work or refuses with an error that the program shows in one sentence;
anything else that is raised is a finding.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import random
import shlex
import tomllib
from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from datetime import date
from functools import cache, cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from cards.errors import CardsError
from drills.errors import DrillsError
from tests.fuzz.mutating import (
    HOSTILE,
    altered_bytes,
    altered_text,
    altered_value,
    as_json,
    encoded,
)

if TYPE_CHECKING:
    from drills.service.desk import Desk
    from drills.tastings.intake import Intake
    from drills.tastings.noting import Words

FOUND = Path(__file__).with_name("found")
_LONGEST = 5_000
_SHIPPED_WINES = ("red/nebbiolo-barolo", "white/chardonnay-chablis", "sparkling/champagne-brut")


class Target(ABC):
    """One way into the program. `folder` is a place of its own, where files may be written."""

    name: str
    refusals: tuple[type[Exception], ...] = (CardsError, DrillsError)

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def input(self, number: int) -> bytes:
        """The input of this number: the same on every machine."""
        return self.altered(random.Random(f"{self.name} {number}"))

    @abstractmethod
    def altered(self, rng: random.Random) -> bytes:
        """A real input, altered."""

    @abstractmethod
    def take(self, content: bytes) -> None:
        """Give an input to the program; what it raises beside its own errors is a finding."""

    def run(self, content: bytes) -> None:
        """Take an input; the program's own errors must be one printable sentence."""
        try:
            self.take(content)
        except self.refusals as error:
            said = str(error)
            if not said or len(said) > _LONGEST:
                raise AssertionError(f"{type(error).__name__} of {len(said)} letters") from error


class _Texts(Target):
    """Inputs that are texts: `seeds` real ones, `words` what the grammar knows."""

    seeds: Sequence[str]
    words: Sequence[str] = ()

    def altered(self, rng: random.Random) -> bytes:
        text = altered_text(rng.choice(self.seeds), self.seeds, self.words, rng)
        return text.encode("utf-8", "surrogatepass")

    def take(self, content: bytes) -> None:
        self.read(content.decode("utf-8", "replace"))

    def read(self, text: str) -> None:
        """Give a text to the program."""
        raise NotImplementedError


def _shipped_texts() -> list[str]:
    from cards.tables import SHIPPED

    return [(SHIPPED / f"{name}.toml").read_text(encoding="utf-8") for name in _SHIPPED_WINES]


def _words_of(texts: Sequence[str]) -> list[str]:
    return sorted({word for text in texts for word in text.split() if len(word) < 30})


def _small_table(folder: Path) -> Path:
    from tests.screens.small_table import write_small_table

    small = folder / "small"
    return small if small.exists() else write_small_table(small)


class Profiles(_Texts):
    """The file of one wine in a small table, as shipped or in the taster's own folder."""

    name = "profile"

    def __init__(self, folder: Path) -> None:
        from tests.screens.small_table import WINE, WINES

        super().__init__(folder)
        self._shipped = _small_table(folder)
        wines = [WINE.format(**values) for values in WINES.values()]
        self.seeds = [
            *wines,
            *wines,
            *_shipped_texts(),
            '[structure]\nacid = "med+"\nbasis = "own"\n',
            '[structure.acid]\nlevel = "high"\nbasis = "study"\n',
            '[descriptors]\nlemon = "unlisted"\n[descriptors.mango]\ntypical = "common"\n',
            'laterals = ["south"]\n[grape]\nshares = { greenling = "60 to 80", other = "20" }\n',
        ]
        self.words = sorted(
            {word for seed in self.seeds for word in seed.split() if len(word) < 30}
        )

    def altered(self, rng: random.Random) -> bytes:
        if rng.random() < 0.4:
            # What nests too deep to be written so is written by hand.
            with contextlib.suppress(tomllib.TOMLDecodeError, RecursionError):
                value = tomllib.loads(rng.choice(self.seeds))
                for _ in range(rng.choice((1, 1, 2, 4))):
                    value = altered_value(value, self.words, rng)
                return _as_toml(value).encode("utf-8", "surrogatepass")
        if rng.random() < 0.01:
            deep = rng.choice((100, 2_000))
            return rng.choice((f"a = {'[' * deep}", f"{'a.' * deep}a = 1\n")).encode()
        return encoded(altered_text(rng.choice(self.seeds), self.seeds, self.words, rng), rng)

    def take(self, content: bytes) -> None:
        from cards.cellar import Cellar
        from drills.overlay import Overlay

        own = self.folder / "own"
        file = own / "white" / "north.toml"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)
        overlay = Overlay(own, self._shipped)
        reading = overlay.read()
        for problem in reading.problems:
            assert str(problem)
        if not reading.problems:
            Cellar(reading.table).all_contrasts()
        overlay.problems_of_draft(
            "north", "white", content.decode("utf-8", "replace"), own / "draft.toml", reading
        )


class Tables(Profiles):
    """The other files of a table: lexicon, names, causes, sources in the taster's own folder."""

    name = "overlay"
    _FILES = ("lexicon", "names", "causes", "sources")

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self.seeds = [
            (self._shipped / f"{name}.toml").read_text(encoding="utf-8") for name in self._FILES
        ]
        self.words = sorted(
            {word for seed in self.seeds for word in seed.split() if len(word) < 30}
        )

    def altered(self, rng: random.Random) -> bytes:
        return rng.choice("0123").encode() + super().altered(rng)

    def take(self, content: bytes) -> None:
        from drills.overlay import Overlay

        own = self.folder / "own"
        own.mkdir(parents=True, exist_ok=True)
        for name in self._FILES:
            (own / f"{name}.toml").unlink(missing_ok=True)
        place = content[:1] if content[:1] in b"0123" and content else b"0"
        (own / f"{self._FILES[int(place)]}.toml").write_bytes(content[1:])
        for problem in Overlay(own, self._shipped).read().problems:
            assert str(problem)


def _as_toml(value: Any) -> str:
    """A value as TOML; what TOML has no form for is written as JSON, which is an error there."""
    if not isinstance(value, dict):
        return json.dumps(value)
    lines = [f"{_toml_key(key)} = {_inline(inner)}" for key, inner in value.items()]
    return "\n".join(lines) + "\n"


def _toml_key(key: str) -> str:
    return json.dumps(key)


def _inline(value: Any) -> str:
    if isinstance(value, dict):
        inner = ", ".join(f"{_toml_key(key)} = {_inline(one)}" for key, one in value.items())
        return f"{{ {inner} }}"
    if isinstance(value, list):
        return f"[{', '.join(map(_inline, value))}]"
    return json.dumps(value) if value is not None else "nan"


# ---- tastings

_HEADS = (
    "date", "flight", "pour", "called", "was", "first call", "final call", "runner-up", "note",
    "acid", "tannin", "alcohol", "label alcohol", "body", "colour", "hue", "depth", "oak", "finish",
    "sureness", "vintage", "nose", "palate", "seconds", "code", "candidates", "lemon", "sweetness",
    "country", "style", "price", "place", "mineral", "intensity",
)  # fmt: skip
_CELLS = (
    "Chablis", "Sancerre", "Barolo", "Brunello", "Mosel Riesling", "Rioja Gran Reserva", "Fino",
    "2026-03-14", "14/3/2026", "3.14.26", "14 March 2026", "46095", "high", "med+", "m+", "3",
    "13,5",
    "13.5%", "14", "sure", "leaning", "guess", "lemon; flint; no oak", "green apple, -vanilla",
    "1", "2", "garnet", "straw", "low to med", "45 s", "1:30", "2019", "NV", "petrol (kerosene)",
    "123", "Rosé", "Gewürztraminer", "Grüner Veltliner > Chablis", "x", "yes", "no",
)  # fmt: skip
_ROWS = [
    ["date", "flight", "pour", "called", "was", "note"],
    ["2026-03-14", "Tuesday", "1", "Chablis", "Sancerre", "lemon; flint; no oak"],
    ["14/3/2026", "Tuesday", "2", "Barolo", "Brunello", "tar, rose"],
    ["", "", "3", "Rioja", "Rioja Gran Reserva", ""],
]
_FULL = [
    ["date", "flight", "pour", "first call", "final call", "was", "sureness", "acid", "tannin"],
    ["2026-03-14", "A", "1", "Chablis", "Sancerre", "Sancerre", "sure", "high", ""],
    ["2026-03-14", "A", "2", "Barolo", "Barolo", "Brunello", "leaning", "med+", "high"],
]
_PLAIN: list[dict[str, Any]] = [
    {"date": "2026-03-14", "flight": "A", "called": "Chablis", "was": "Sancerre", "note": "lemon"},
    {
        "flight": {"name": "A", "date": "2026-03-14"},
        "pours": [
            {"called": {"wine": "Barolo", "sureness": "sure"}, "was": "Brunello", "acid": "high"},
            {"called": "Fino", "was": "Fino", "nose": ["almond", "no oak"], "alcohol": 15.5},
        ],
    },
]


@cache
def _opened() -> list[Desk]:
    return []


def _desk_in(folder: Path) -> Desk:
    """The desk at which tastings are looked through: nothing is written, so one is enough."""
    from drills.service.desk import Desk

    made = _opened()
    if not made:
        folder.mkdir(parents=True, exist_ok=True)
        made.append(Desk(str(folder / "fuzz.sqlite3")))
    return made[0]


class _Tastings(Target):
    """Files of tastings, looked through as `import --dry-run` does."""

    ending: str
    words: Sequence[str] = (*_HEADS, *_CELLS)

    @property
    def _desk(self) -> Desk:
        return _desk_in(self.folder)

    @cached_property
    def _words(self) -> Words:
        from drills.service.intake import words_of

        return words_of(self._desk)

    def _intake(self, source: Path | TextIO) -> Intake:
        # As `read` of service/intake.py does, with the words made once and not for every file.
        from drills.tastings.intake import Intake

        return Intake(source, words=self._words)

    def take(self, content: bytes) -> None:
        from drills.service.intake import intake_json, take_in

        file = self.folder / f"tasting.{self.ending}"
        file.write_bytes(content)
        with self._intake(file) as intake:
            taken = take_in(self._desk, intake, dry_run=True)
        json.dumps(intake_json(taken))
        for row in taken.rejected:
            assert row.reason

    def rows(self, rng: random.Random) -> list[list[str]]:
        """A table of cells, with cells and headings exchanged."""
        rows = [list(row) for row in rng.choice((_ROWS, _FULL))]
        for _ in range(rng.choice((0, 1, 2, 4, 8))):
            row = rng.choice(rows)
            place = rng.randrange(len(row))
            source = rng.choice((_HEADS if row is rows[0] else _CELLS, _CELLS, HOSTILE, _HEADS))
            match rng.randrange(5):
                case 0:
                    row.insert(place, rng.choice(source))
                case 1 if len(row) > 1:
                    del row[place]
                case 2:
                    row[place] = altered_text(row[place], _CELLS, self.words, rng)
                case _:
                    row[place] = rng.choice(source)
        if rng.random() < 0.1:
            rows.insert(rng.randrange(len(rows)), [rng.choice(HOSTILE)])
        return rows


class Delimited(_Tastings):
    """CSV and TSV."""

    name = "csv"
    ending = "csv"

    def altered(self, rng: random.Random) -> bytes:
        import csv

        text = io.StringIO()
        csv.writer(text, delimiter=rng.choice(",,;\t")).writerows(self.rows(rng))
        said = text.getvalue()
        if rng.random() < 0.6:
            said = altered_text(said, [said], self.words, rng)
        return encoded(said, rng)


class Objects(_Tastings):
    """JSON documents."""

    name = "json"
    ending = "json"

    def value(self, rng: random.Random) -> Any:
        """A document as an export or a hand may give it."""
        value: Any = rng.choice((_PLAIN[0], _PLAIN, _PLAIN[1], {"tastings": _PLAIN}))
        for _ in range(rng.choice((1, 1, 2, 3, 6))):
            value = altered_value(value, self.words, rng)
        return value

    def altered(self, rng: random.Random) -> bytes:
        said = as_json(self.value(rng), rng)
        if rng.random() < 0.25:
            said = altered_text(said, [said], self.words, rng)
        return encoded(said, rng)


class ObjectLines(Objects):
    """JSON Lines."""

    name = "jsonl"
    ending = "jsonl"

    def altered(self, rng: random.Random) -> bytes:
        lines = [json.dumps(self.value(rng)) for _ in range(rng.choice((1, 2, 3)))]
        said = "\n".join(lines) + "\n"
        if rng.random() < 0.25:
            said = altered_text(said, [said], self.words, rng)
        return encoded(said, rng)


class Lines(_Tastings):
    """Pasted lines of “called > was”."""

    name = "lines"
    ending = "txt"
    seeds = (
        "Chablis > Sancerre\nBarolo > Brunello di Montalcino\n",
        "2026-03-14 Tuesday\nChablis -> Sancerre # lemon\nFino => Manzanilla\n",
        "Chablis > Sancerre > Muscadet\n# a remark\n\nRioja → Ribera del Duero\n",
    )

    def altered(self, rng: random.Random) -> bytes:
        return encoded(altered_text(rng.choice(self.seeds), self.seeds, self.words, rng), rng)

    def take(self, content: bytes) -> None:
        from drills.service.intake import take_in

        super().take(content)
        # The same as typed into the screen.
        with self._intake(io.StringIO(content.decode("utf-8", "replace"))) as intake:
            take_in(self._desk, intake, dry_run=True)


class _Packed(_Tastings):
    """Spreadsheets: cells exchanged, the XML inside altered, or bytes of the package."""

    def altered(self, rng: random.Random) -> bytes:
        from tests.tastings.making import packed

        if rng.random() < 0.5:
            return self.sheet(self.cells(rng))
        if rng.random() < 0.3:
            return altered_bytes(self.sheet(self.cells(rng)), rng)
        parts = self.parts(self.cells(rng))
        part = rng.choice([name for name in parts if name.endswith(".xml")])
        whole = parts[part]
        text = whole if isinstance(whole, str) else whole.decode()
        return packed(
            parts | {part: altered_text(text, [text], _XML, rng).encode("utf-8", "replace")}
        )

    def cells(self, rng: random.Random) -> list[list[Any]]:
        """A table of cells of any kind that a spreadsheet has."""
        kinds: list[Any] = [None, True, 13.5, -1e300, 0.1, 46095, date(2026, 3, 14), date(1, 1, 1)]
        return [
            [rng.choice(kinds) if rng.random() < 0.1 else _xml_text(cell) for cell in row]
            for row in self.rows(rng)
        ]

    @abstractmethod
    def sheet(self, rows: list[list[Any]]) -> bytes:
        """A workbook of one sheet."""

    @abstractmethod
    def parts(self, rows: list[list[Any]]) -> dict[str, str | bytes]:
        """The files inside that workbook."""


_XML = (
    "<c", "</c>", "<v>", "</v>", "<row", "</row>", 't="s"', 't="b"', 't="e"', 't="d"',
    'r="XFD1048576"',
    'r="A0"', "<f>", "<is>", "&lt;", "<!--", "-->", "<![CDATA[", "]]>", 's="1"', 's="99"',
    "<table:table-cell",
    'table:number-columns-repeated="99"', 'table:number-rows-repeated="1048576"',
    'office:value-type="date"', 'office:value-type="time"', 'office:time-value="PT99H"',
    'office:date-value="2026-13-01"', 'office:value="nan"', "<text:p>", "<text:s/>",
)  # fmt: skip


def _xml_text(cell: str) -> str:
    kept = "".join(sign for sign in cell if sign.isprintable() or sign in "\n\t")
    return kept.lstrip("=")


class Xlsx(_Packed):
    """XLSX."""

    name = "xlsx"
    ending = "xlsx"

    def sheet(self, rows: list[list[Any]]) -> bytes:
        from tests.tastings.making import xlsx

        return xlsx(rows)

    def parts(self, rows: list[list[Any]]) -> dict[str, str | bytes]:
        from tests.tastings.making import xlsx_parts, xlsx_sheet

        return xlsx_parts({"Tasting": xlsx_sheet(rows)})


class Ods(_Packed):
    """ODS."""

    name = "ods"
    ending = "ods"

    def sheet(self, rows: list[list[Any]]) -> bytes:
        from tests.tastings.making import ods

        return ods(rows)

    def parts(self, rows: list[list[Any]]) -> dict[str, str | bytes]:
        import zipfile

        with zipfile.ZipFile(io.BytesIO(self.sheet(rows))) as archive:
            return {name: archive.read(name) for name in archive.namelist()}


# ---- the rest


class Sheets(_Texts):
    """The table as CSV, edited in a spreadsheet and read again."""

    name = "sheet"

    def __init__(self, folder: Path) -> None:
        from cards.spreadsheet.writing import sheet_text
        from cards.tables import SHIPPED, load_table

        super().__init__(folder)
        self._small = load_table(shipped=_small_table(folder))
        shipped = load_table(shipped=SHIPPED)
        whole = sheet_text(shipped).splitlines(keepends=True)
        self.seeds = [
            sheet_text(self._small),
            sheet_text(self._small, decimal_comma=True),
            "".join([whole[0], *whole[1:4]]),
        ]
        self.words = sorted({cell for seed in self.seeds for cell in seed.split(",")})

    def read(self, text: str) -> None:
        from cards.spreadsheet.changes import changes_of, told
        from cards.spreadsheet.reading import read_sheet
        from drills.overlay import Overlay

        sheet = read_sheet(text, self._small)
        for problem in sheet.problems:
            assert str(problem)
        changes = changes_of(sheet, self._small, self._small)
        for change in changes:
            told(change, self._small, self._small)
        if changes and not sheet.problems:
            own = Overlay(self.folder / "own", self.folder / "small")
            reading = own.read()
            own.problems_with(own.amended(changes, reading), reading)


class Settings(_Texts):
    """settings.toml, and what the settings screen writes into it."""

    name = "settings"
    seeds = (
        'minutes = 10\nexam = 2027-03-14\ntheme = "crosspour-light"\n[exam-weights]\nred = 2\n'
        '[keys]\nleft-sure = "q"\n',
        "# mine\nminutes = 20 # short\n",
        'backups = false\ntaster = "Nico"\nexam-weights = { white = 0.5, sweet = 0 }\n',
    )
    words = (
        "minutes", "exam", "theme", "keys", "exam-weights", "backups", "taster", "true",
        "1979-05-27",
        "07:32:00", "1979-05-27T07:32:00Z", "[[keys]]", "[a.b]", "0.5", "'''", "left-sure", "red",
    )  # fmt: skip

    def altered(self, rng: random.Random) -> bytes:
        return encoded(altered_text(rng.choice(self.seeds), self.seeds, self.words, rng), rng)

    def take(self, content: bytes) -> None:
        from drills.settings import load_settings, save_settings

        file = self.folder / "settings.toml"
        file.write_bytes(content)
        settings = load_settings(file)
        save_settings(file, minutes=15, exam=date(2027, 3, 14))
        again = load_settings(file)
        assert (again.minutes, again.exam) == (15, date(2027, 3, 14))
        assert (again.theme, again.keys, again.exam_weights) == (
            settings.theme,
            settings.keys,
            settings.exam_weights,
        )


class Names(_Texts):
    """Names of wines as they are written, searched and completed."""

    name = "names"

    def __init__(self, folder: Path) -> None:
        from cards.names import WineNames
        from cards.searching import TableSearch
        from cards.tables import load_table
        from drills.service.completing import WineBook

        super().__init__(folder)
        table = load_table()
        self._table = table
        self._names = WineNames(table)
        self._search = TableSearch(table)
        self._book = WineBook(table, self._names)
        profiles = table.profiles.values()
        self.seeds = [name for one in profiles for name in (one.name, one.short, *one.synonyms)]
        self.seeds += ["high acid red 13.5%", "Barolo Riserva 2016 Serralunga", "cool white lemon"]
        self.words = sorted({word for seed in self.seeds for word in seed.split()})

    def read(self, text: str) -> None:
        found = self._names.resolve(text)
        assert found.wine is None or found.wine in self._table.profiles
        assert set(found.suggestions) <= self._table.profiles.keys()
        assert self._names.resolve(text) == found
        self._search.find(text)
        self._book.offers(text)


class Notes(_Texts):
    """Words and numbers of a note, as typed into the sheet or carried in an export."""

    name = "notes"

    def __init__(self, folder: Path) -> None:
        from cards.tables import load_table
        from drills.service.completing import WordBook

        super().__init__(folder)
        lexicon = load_table().lexicon
        self._book = WordBook(lexicon)
        wordings = [word for one in lexicon.descriptors.values() for word in one.wordings]
        self.seeds = [
            "lemon, flint; no oak",
            "cherries - not ripe, sans vanille, 1,8-cineole",
            "13,5 %",
            "med+ to high",
            "1:30",
            "sure",
            '{"readings": {"acid": "high", "alcohol": 13.5, "lemon": true}, "free": ["x"]}',
            '{"position": 1, "was": {"text": "Barolo", "wine": "nebbiolo-barolo"}, "note": {}}',
            *wordings,
        ]
        self.words = [*_CELLS, *wordings, "readings", "typed", "final", "first", "candidates"]

    def read(self, text: str) -> None:
        from drills.service.completing import last_piece, pieces, year_in
        from drills.tastings import figures
        from drills.tastings.dates import read_date
        from drills.tastings.items import split_items
        from drills.tastings.notes import FullFlight, FullPour, Note

        self._book.hear(text)
        self._book.hear(*text.splitlines())
        self._book.offers(text)
        self._book.key(text)
        pieces(text)
        last_piece(text)
        year_in(text)
        split_items(text, commas=True)
        readers: list[Callable[[str], object]] = [
            figures.read_decimal,
            figures.read_alcohol,
            figures.read_year,
            figures.read_seconds,
            figures.read_sureness,
            read_date,
            lambda said: figures.read_level("acid", said),
            lambda said: figures.read_level("depth", said),
        ]
        for read in readers:
            with contextlib.suppress(ValueError):
                read(text)
        try:
            plain = json.loads(text)
        except (ValueError, RecursionError):
            return
        for kind in (Note, FullPour, FullFlight):
            with contextlib.suppress(ValueError):
                kind.from_plain(plain)


class Arguments(_Texts):
    """The command line with hostile arguments; nothing that opens a screen or a server.

    Arguments stay words without a slash, a tilde or two points, so that files are made in the
    target's folder only.
    """

    name = "arguments"
    seeds = (
        "--version", "pair Chablis Sancerre --json", "laterals Barolo", "table check",
        "import tasting.csv --dry-run", "import --list", "import --undo 1", "debrief 1 2 --json",
        "weak --json", "progress --json", "reading", "fit --undo", "export out.csv --force",
        "export out.jsonl", "table export sheet.csv --decimal-comma",
        "table import sheet.csv --dry-run",
        "table new mine --like chardonnay-chablis --style white", "table edit nebbiolo-barolo",
        "report page.html", "backup copy.sqlite3", "backup --list",
        "import tasting.csv --date-order mdy",
        "cellar import tasting.csv --dry-run", "cellar export cellar.csv", "cellar name x Barolo",
        "cellar undo", "pair Barolo Brunello --causes", "drill --minutes 5 --plain",
        "--database other.sqlite3 weak", "--taster Nico weak",
    )  # fmt: skip
    words = (
        *(word for seed in seeds for word in seed.split()), "--help", "--", "-", "--minutes",
        "--style",
        "red", "--pair", "tasting.csv", "tasting.xlsx", "nothing.csv", "0", "-1", "2026-03-14",
        "restore",
    )  # fmt: skip
    _LEFT_OUT = frozenset({"serve", "demo"})

    def altered(self, rng: random.Random) -> bytes:
        words = rng.choice(self.seeds).split()
        for _ in range(rng.choice((1, 1, 2, 3))):
            place = rng.randrange(len(words) + 1)
            new = rng.choice((*self.words, rng.choice(HOSTILE)))
            match rng.randrange(4):
                case 0:
                    words.insert(place, new)
                case 1:
                    del words[place : place + 1]
                case 2 if place < len(words):
                    words[place] = altered_text(words[place], self.words, self.words, rng)
                case _:
                    words[place : place + 1] = [new]
        return shlex.join(words).encode("utf-8", "surrogatepass")

    @cached_property
    def _home(self) -> Path:
        home = self.folder / "home"
        home.mkdir(parents=True, exist_ok=True)
        os.environ["CROSSPOUR_HOME"] = str(home)
        for name in ("CROSSPOUR_DATABASE", "CROSSPOUR_TASTER", "VISUAL", "EDITOR"):
            os.environ.pop(name, None)
        os.chdir(home)
        return home

    def take(self, content: bytes) -> None:
        from drills.cli import main

        home = self._home
        try:
            words = shlex.split(content.decode("utf-8", "surrogateescape"))
        except ValueError:
            return
        words = [word for word in words if not {"/", "~", "\\"} & set(word) and ".." not in word]
        # A beginning of a command's name would do for argparse, too.
        if any(name.startswith(word) for word in words for name in self._LEFT_OUT if word):
            return
        (home / "tasting.csv").write_text("called,was\nChablis,Sancerre\n", encoding="utf-8")
        (home / "sheet.csv").write_text("wine,acid\nnebbiolo-barolo,high\n", encoding="utf-8")
        out, err = io.StringIO(), io.StringIO()
        no_terminal = io.StringIO("")
        with (
            contextlib.redirect_stdout(out),
            contextlib.redirect_stderr(err),
            _standing_in("stdin", no_terminal),
        ):
            try:
                code = main(words)
            except SystemExit as leaving:
                code = leaving.code if isinstance(leaving.code, int) else 1
        assert code in (0, 1, 2), f"exit code {code}"
        assert code == 0 or err.getvalue().strip() or out.getvalue().strip(), "it failed silently"
        assert "Traceback" not in err.getvalue()


@contextlib.contextmanager
def _standing_in(name: str, stream: io.StringIO) -> Any:
    import sys

    before = getattr(sys, name)
    setattr(sys, name, stream)
    try:
        yield
    finally:
        setattr(sys, name, before)


TARGETS: dict[str, type[Target]] = {
    kind.name: kind
    for kind in (
        Profiles,
        Tables,
        Delimited,
        Xlsx,
        Ods,
        Objects,
        ObjectLines,
        Lines,
        Sheets,
        Settings,
        Names,
        Notes,
        Arguments,
    )
}


def kept_inputs(name: str) -> list[Path]:
    """The inputs of a target that were found to break the program once; they must not again."""
    return sorted(file for file in (FOUND / name).glob("*") if file.is_file())
