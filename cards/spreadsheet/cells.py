"""The cells of a sheet: facts as text, lists in one cell, and text that no spreadsheet runs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cards.facts import Value, number_text
from cards.profiles import UNLISTED

# A spreadsheet takes a cell that begins so for a formula, and would run it.
_RUNS = ("=", "+", "-", "@", "\t", "\r")


def cell_text(value: Value) -> str:
    """A fact as a cell holds it; a fact taken off the wine is an empty cell."""
    if isinstance(value, dict):
        return joined(f"{key} {share}" for key, share in value.items())
    if isinstance(value, list):
        return joined(value)
    if isinstance(value, int | float):
        return number_text(value)
    return "" if value == UNLISTED else value


def joined(items: Iterator[str] | Sequence[str]) -> str:
    """Several items in one cell, with bars between them."""
    return " | ".join(item.replace("\\", "\\\\").replace("|", "\\|") for item in items)


def split(text: str) -> list[str]:
    """The items of a cell, as `joined` puts them there; empty ones are left out."""
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


def guarded(cell: str) -> str:
    """A cell as it is written: what would be run gets an apostrophe in front."""
    # An apostrophe that is part of the text gets one too, so that one can always be taken away.
    return f"'{cell}" if cell.startswith((*_RUNS, "'")) else cell


def unguarded(cell: str) -> str:
    """A cell as it was before `guarded`."""
    return cell[1:] if cell.startswith("'") and cell[1:].startswith((*_RUNS, "'")) else cell
