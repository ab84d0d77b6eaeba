"""What the lines of a page must hold: a strength, a vintage. Pure."""

from __future__ import annotations

import re

from drills.tastings.notes import MOST_ALCOHOL, VINTAGES

_STRENGTHS = ("alcohol", "label")
_NUMBER = re.compile(r"\s*([0-9]{1,2}(?:[.,][0-9]{0,2})?)\s*%?\s*")


def strength(text: str) -> float | None:
    """A strength in % vol, written with a point or a comma; None where it is none."""
    match = _NUMBER.fullmatch(text)
    found = float(match[1].replace(",", ".")) if match else None
    return found if found is not None and found <= MOST_ALCOHOL else None


def vintage(text: str, this_year: int) -> int | None:
    """A vintage in four figures or two; None where it is none, such as NV."""
    plain = text.strip().strip("'’")
    if not (plain.isascii() and plain.isdecimal()) or len(plain) not in (2, 4):
        return None
    year = int(plain)
    if len(plain) == 2:
        year += 2000 if 2000 + year <= this_year else 1900
    return year if VINTAGES[0] <= year <= VINTAGES[1] else None


def fault_in(name: str, text: str, this_year: int) -> str:
    """What is wrong with a line, in words; empty where nothing is."""
    plain = text.strip()
    if not plain:
        return ""
    if name in _STRENGTHS and strength(plain) is None:
        return f"“{plain}” should be % vol, as 13.5"
    vintage_line = name.endswith("-vintage") and plain.casefold() not in ("nv", "n/v")
    if vintage_line and vintage(plain, this_year) is None:
        return f"“{plain}” should be a year, or NV"
    return ""
