"""What tests of the taster's own folder share: two wines, changes of them, what was written."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from cards.facts import Change, Fact, FactPath
from cards.profiles import Profile
from cards.tables import load_table

WINE = "sauvignon-sancerre"
OTHER = "chenin-vouvray"
SHELF = f"white/{WINE}.toml"
ACID: FactPath = ("structure", "acid")
BODY: FactPath = ("structure", "body")


def change(
    facts: Mapping[FactPath, Fact | None], reason: str = "", wine: str = WINE, style: str = "white"
) -> Change:
    return Change(wine, style, facts, reason)


def profile_of(folder: Path, wine: str = WINE) -> Profile:
    return load_table(folder).profiles[wine]


def files_of(folder: Path) -> dict[str, str]:
    return {
        file.relative_to(folder).as_posix(): file.read_text(encoding="utf-8")
        for file in sorted(folder.rglob("*"))
        if file.is_file() and file.name != ".lock"
    }
