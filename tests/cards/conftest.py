"""A table of two wines that tests may break, and the sheet of the shipped one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cards.spreadsheet.writing import sheet_text
from cards.tables import Table
from tests.cards.sheets import Rows, rows_of

LEXICON = """
[families.citrus]
name = "citrus"

[families.pepper]
name = "pepper"

[descriptors.lemon]
name = "lemon"
family = "citrus"
synonyms = ["lemon juice"]

[descriptors.lime]
name = "lime"
family = "citrus"

[descriptors.white-pepper]
name = "white pepper"
family = "pepper"
"""

NAMES = """
[grapes.first]
name = "First"

[grapes.second]
name = "Second"

[places.here]
name = "Here"
country = "Austria"
classic = "left"
"""

SOURCES = """
[sources.study]
citation = "A study of two wines."
kind = "paper"
read = "text"
"""

CAUSES = """
[[causes]]
cue = "white-pepper"
because = "Rotundone."
basis = "study"

[[causes]]
cue = "lemon"
wines = ["right"]
because = "A cool summer."
"""

LEFT = """
name = "Left wine"
short = "Left"
synonyms = ["L"]
telling = "Peppery."
laterals = ["right"]
basis = "practice"

[grape]
shares = { first = "85 to 100", second = "0 to 15" }
basis = "study"

[place]
country = "Austria"
region = "Here"
world = "old"
climate = "cool"

[colour]
hue = ["greenish", "straw"]
depth = "low to med-"
rim = "watery"
ageing = "turns yellow"

[alcohol]
low = 12
high = 13

[sugar]
class = "dry"
low = 1
high = 3

[structure]
acid = "high"
body = "med-"
sweetness = "low"
bitterness = { level = "low to med-", basis = "study" }
intensity = "med"
mineral = "med"
oak = "low"
finish = "med"

[oak]
vessel = "steel"
months = "0 to 6"

[age]
release = 1
window = "1 to 5"
quality = "good"

[descriptors]
white-pepper = "signature"
lemon = { typical = "common", basis = "memory" }
lime = "never"
"""

RIGHT = (
    LEFT.replace('"Left wine"', '"Right wine"')
    .replace('"Left"', '"Right"')
    .replace('["L"]', '["R"]')
    .replace('["right"]', '["left"]')
    .replace('acid = "high"', 'acid = "low to med-"')
    .replace('white-pepper = "signature"', 'white-pepper = "never"')
    .replace('lime = "never"', 'lime = "signature"')
)

FILES = {
    "lexicon.toml": LEXICON,
    "names.toml": NAMES,
    "sources.toml": SOURCES,
    "causes.toml": CAUSES,
    "white/left.toml": LEFT,
    "white/right.toml": RIGHT,
}

Shelve = Callable[..., Path]


@pytest.fixture
def shelve(tmp_path: Path) -> Shelve:
    """Write files by shelf into a folder of their own and return it."""

    def write(files: dict[str, str], name: str = "own") -> Path:
        folder = tmp_path / name
        for shelf, text in files.items():
            file = folder / shelf
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(text, encoding="utf-8")
        return folder

    return write


@pytest.fixture
def two_wines() -> dict[str, str]:
    """The files of a sound table of two wines, left and right, by shelf."""
    return dict(FILES)


@pytest.fixture(scope="session")
def rows(table: Table) -> Rows:
    """The rows of the shipped table's sheet, the header first; tests change a copy."""
    return rows_of(sheet_text(table))
