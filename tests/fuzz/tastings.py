"""Tastings as targets: every kind of file that is taken in, and pasted lines."""

from __future__ import annotations

import io
import json
import random
from abc import abstractmethod
from collections.abc import Sequence
from datetime import date
from functools import cache, cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from tests.fuzz.mutating import (
    HOSTILE,
    altered_bytes,
    altered_text,
    altered_value,
    as_json,
    encoded,
)
from tests.fuzz.target import Target

if TYPE_CHECKING:
    from drills.service.desk import Desk
    from drills.tastings.intake import Intake
    from drills.tastings.noting import Words

_HEADS = (
    "date", "flight", "pour", "called", "was", "first call", "final call", "runner-up", "note",
    "acid", "tannin", "alcohol", "label alcohol", "body", "colour", "hue", "depth", "oak", "finish",
    "sureness", "vintage", "nose", "palate", "seconds", "code", "candidates", "lemon", "sweetness",
    "country", "style", "price", "place", "mineral", "intensity",
)  # fmt: skip
CELLS = (
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
    words: Sequence[str] = (*_HEADS, *CELLS)

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
            source = rng.choice((_HEADS if row is rows[0] else CELLS, CELLS, HOSTILE, _HEADS))
            match rng.randrange(5):
                case 0:
                    row.insert(place, rng.choice(source))
                case 1 if len(row) > 1:
                    del row[place]
                case 2:
                    row[place] = altered_text(row[place], CELLS, self.words, rng)
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
