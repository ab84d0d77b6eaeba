"""All targets by name, and the inputs that broke the program once."""

from __future__ import annotations

from pathlib import Path

from tests.fuzz.tables import Profiles, Sheets, Tables
from tests.fuzz.target import Target
from tests.fuzz.tastings import Delimited, Lines, ObjectLines, Objects, Ods, Xlsx
from tests.fuzz.typed import Arguments, Names, Notes, Settings

FOUND = Path(__file__).with_name("found")

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
