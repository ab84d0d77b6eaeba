"""What is typed as targets: settings, names, notes, and the command line."""

from __future__ import annotations

import contextlib
import io
import json
import os
import random
import shlex
from collections.abc import Callable
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any

from tests.fuzz.mutating import HOSTILE, altered_text, encoded
from tests.fuzz.target import Texts
from tests.fuzz.tastings import CELLS


class Settings(Texts):
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


class Names(Texts):
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


class Notes(Texts):
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
        self.words = [*CELLS, *wordings, "readings", "typed", "final", "first", "candidates"]

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


class Arguments(Texts):
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
        # No system hands a program an argument with a zero byte.
        words = [word.replace("\0", "") for word in words]
        words = [word for word in words if not {"/", "~", "\\"} & set(word) and ".." not in word]
        # A beginning of a command's name would do for argparse, too.
        if any(name.startswith(word) for word in words for name in self._LEFT_OUT if word):
            return
        (home / "tasting.csv").write_text("called,was\nChablis,Sancerre\n", encoding="utf-8")
        (home / "sheet.csv").write_text("wine,acid\nnebbiolo-barolo,high\n", encoding="utf-8")
        out, err, typed = _pipe(), _pipe(), _pipe()
        with (
            contextlib.redirect_stdout(out),
            contextlib.redirect_stderr(err),
            _standing_in("stdin", typed),
        ):
            try:
                code = main(words)
            except SystemExit as leaving:
                code = leaving.code if isinstance(leaving.code, int) else 1
        assert code in (0, 1, 2), f"exit code {code}"
        assert code == 0 or _said(err).strip() or _said(out).strip(), "it failed silently"
        assert "Traceback" not in _said(err)


def _pipe() -> io.TextIOWrapper:
    """A stream like that of a pipe, with its bytes beneath."""
    return io.TextIOWrapper(io.BytesIO(), encoding="utf-8", errors="surrogateescape")


def _said(stream: io.TextIOWrapper) -> str:
    stream.flush()
    stream.seek(0)
    return stream.read()


@contextlib.contextmanager
def _standing_in(name: str, stream: io.TextIOWrapper) -> Any:
    import sys

    before = getattr(sys, name)
    setattr(sys, name, stream)
    try:
        yield
    finally:
        setattr(sys, name, before)
