"""The table as targets: files of one's own, folders of them, and the spreadsheet."""

from __future__ import annotations

import contextlib
import json
import random
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tests.fuzz.mutating import altered_text, altered_value, encoded
from tests.fuzz.target import Texts

_SHIPPED_WINES = ("red/nebbiolo-barolo", "white/chardonnay-chablis", "sparkling/champagne-brut")


def _shipped_texts() -> list[str]:
    from cards.tables import SHIPPED

    return [(SHIPPED / f"{name}.toml").read_text(encoding="utf-8") for name in _SHIPPED_WINES]


def _words_of(texts: Sequence[str]) -> list[str]:
    return sorted({word for text in texts for word in text.split() if len(word) < 30})


def _small_table(folder: Path) -> Path:
    from tests.screens.small_table import write_small_table

    small = folder / "small"
    return small if small.exists() else write_small_table(small)


class Profiles(Texts):
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


class Sheets(Texts):
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
