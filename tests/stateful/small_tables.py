"""Two small tables, the shipped one of a version and of the next, and what a taster disputes.

Four wines keep a step short; their files are read, laid over and written as all of them are.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Sequence
from pathlib import Path

from cards.scale import Typical
from cards.tables import SHIPPED
from drills.service.table_editing import Disputed

GRUNER, MARLBOROUGH, SANCERRE = "gruner-wachau", "sauvignon-marlborough", "sauvignon-sancerre"
ALWAYS = (GRUNER, MARLBOROUGH, SANCERRE)
"""The wines of both tables; the whole one has a Riesling besides."""

# Of a wine and a word: what a taster may say of it, and what the table says.
Said = tuple[str, str, Disputed, Disputed]

TURNS: tuple[Said, ...] = (
    (MARLBOROUGH, "flint", Typical.SIGNATURE, Typical.NEVER),
    (SANCERRE, "flint", Typical.NEVER, Typical.SIGNATURE),
)
"""Flint tells the other of the two."""

WEIGHS: tuple[Said, ...] = ((SANCERRE, "chalk", Typical.SIGNATURE, Typical.COMMON),)
"""Chalk tells the same wine more surely."""

FALLS: tuple[Said, ...] = ((GRUNER, "white-pepper", None, Typical.SIGNATURE),)
"""Nothing is known of the pepper that told Grüner."""


def write_tables(folder: Path) -> tuple[Path, Path]:
    """Write both tables: the whole one, and the one without the Riesling."""
    return _write(folder / "whole", (*ALWAYS, "riesling-clare")), _write(folder / "small", ALWAYS)


def _write(folder: Path, wines: Sequence[str]) -> Path:
    (folder / "white").mkdir(parents=True)
    for file in SHIPPED.glob("*.toml"):
        shutil.copy(file, folder)
    for wine in wines:
        shelf = Path("white", f"{wine}.toml")
        others = ", ".join(f'"{other}"' for other in wines if other != wine)
        text = (SHIPPED / shelf).read_text(encoding="utf-8")
        text, changed = re.subn(r"(?m)^laterals = \[[^\]]*\]", f"laterals = [{others}]", text)
        assert changed == 1
        (folder / shelf).write_text(text, encoding="utf-8")
    return folder
