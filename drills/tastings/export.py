"""Pours as rows of a table or lines of JSON that read back without loss.

In the table every cell is what a taster would write; no cell begins like a formula. The keys of
wines and the mark stand in the last columns.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from typing import NamedTuple

from cards.lexicon import ALCOHOL, DEPTH, HUE, STRUCTURE
from drills.tastings.cells import tidy
from drills.tastings.columns import find_columns
from drills.tastings.figures import decimal_text
from drills.tastings.headings import (
    ABSENT,
    AGE,
    APPEARANCE,
    CALLED,
    CALLED_KEY,
    CALLED_SURENESS,
    CALLED_VINTAGE,
    CANDIDATE_KEYS,
    CANDIDATES,
    CLIMATE,
    DATE,
    DESCRIPTORS,
    FIRST,
    FIRST_KEY,
    FIRST_SURENESS,
    FIRST_VINTAGE,
    FLIGHT,
    FREE,
    HEADINGS,
    LABEL_ALCOHOL,
    MARK,
    NOSE,
    NOTE,
    PALATE,
    POSITION,
    PRICE,
    RUNNER_UP,
    RUNNER_UP_KEY,
    SECONDS,
    WAS,
    WAS_KEY,
    WAS_VINTAGE,
    WORLD,
)
from drills.tastings.items import written_item, written_items
from drills.tastings.marks import Mark, check_of_row, guarded
from drills.tastings.notes import FullPour, Note, plain_reading
from drills.tastings.noting import NoteReader, Words
from drills.tastings.plain_rows import plain_pour

COLUMNS = (
    *(DATE, FLIGHT, POSITION),
    *(CALLED, CALLED_VINTAGE, CALLED_SURENESS),
    *(WAS, WAS_VINTAGE, LABEL_ALCOHOL, PRICE),
    *(FIRST, FIRST_VINTAGE, FIRST_SURENESS, RUNNER_UP, CANDIDATES),
    *(ALCOHOL, *STRUCTURE, HUE, DEPTH),
    *(DESCRIPTORS, ABSENT, FREE),
    *(APPEARANCE, NOSE, PALATE, WORLD, CLIMATE, AGE),
    *(SECONDS, NOTE),
    *(CALLED_KEY, WAS_KEY, FIRST_KEY, RUNNER_UP_KEY, CANDIDATE_KEYS, MARK),
)


class KeptPour(NamedTuple):
    """A pour as it is kept, with its flight and the fingerprint that tells it from every other."""

    flight: str
    day: date | None
    pour: FullPour
    fingerprint: str


def json_lines(pours: Iterable[KeptPour]) -> Iterator[str]:
    """One line of JSON for each pour."""
    for kept in pours:
        # Whatever a text holds, the lines themselves are plain letters.
        yield json.dumps(plain_pour(*kept), separators=(", ", ": ")) + "\n"


def table_rows(pours: Iterable[KeptPour], words: Words) -> Iterator[str]:
    """The heading and a row for each pour, as CSV."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    headings = [HEADINGS[role][0] for role in COLUMNS]
    written = _Written(headings, words)

    def taken() -> str:
        said = text.getvalue()
        text.seek(0)
        text.truncate()
        return said

    writer.writerow(headings)
    yield taken()
    for kept in pours:
        writer.writerow(map(guarded, written.row(kept)))
        yield taken()


class _Written:
    """Writes notes as cells, and reads each back to be sure that nothing is lost."""

    def __init__(self, headings: list[str], words: Words) -> None:
        self._words = words
        self._at = {role: place for place, role in enumerate(COLUMNS)}
        self._reader = NoteReader(find_columns(headings), words)

    def row(self, kept: KeptPour) -> list[str]:
        """The cells of a pour, its mark the last."""
        pour, note = kept.pour, kept.pour.note
        wines = [one.wine or "" for one in pour.candidates]
        cells = {
            DATE: kept.day.isoformat() if kept.day else "",
            FLIGHT: kept.flight,
            POSITION: str(pour.position),
            CALLED: pour.final.text,
            CALLED_VINTAGE: _whole(pour.final.vintage),
            CALLED_SURENESS: _whole(pour.final.sureness),
            WAS: pour.reveal.text,
            WAS_VINTAGE: _whole(pour.reveal_vintage),
            LABEL_ALCOHOL: _number(pour.label_alcohol),
            PRICE: pour.price,
            FIRST: pour.first.text,
            FIRST_VINTAGE: _whole(pour.first.vintage),
            FIRST_SURENESS: _whole(pour.first.sureness),
            RUNNER_UP: pour.runner_up.text,
            CANDIDATES: written_items(
                written_item(one.text) + (f" [{written_item(one.struck)}]" if one.struck else "")
                for one in pour.candidates
            ),
            SECONDS: _number(pour.seconds),
            NOTE: pour.remark,
            CALLED_KEY: pour.final.wine or "",
            WAS_KEY: pour.reveal.wine or "",
            FIRST_KEY: pour.first.wine or "",
            RUNNER_UP_KEY: pour.runner_up.wine or "",
            CANDIDATE_KEYS: "; ".join(wines) if any(wines) else "",
            **self._noted(note),
        }
        said = [tidy(cells.get(role, "")) for role in COLUMNS[:-1]]
        check = check_of_row(zip(COLUMNS, said, strict=False))
        return [*said, str(Mark(kept.fingerprint, check))]

    def _noted(self, note: Note) -> dict[str, str]:
        cells = {
            APPEARANCE: note.appearance,
            NOSE: note.nose,
            PALATE: note.palate,
            WORLD: note.world,
            CLIMATE: note.climate,
            AGE: note.age,
            FREE: written_items(map(written_item, note.free)),
        }
        there: list[str] = []
        absent: list[str] = []
        for attribute, reading in note.readings.items():
            if isinstance(reading, bool):
                (there if reading else absent).append(self._item(attribute, note))
            else:
                cells[attribute] = self._scale(attribute, note)
        return cells | {DESCRIPTORS: written_items(there), ABSENT: written_items(absent)}

    def _scale(self, attribute: str, note: Note) -> str:
        """What was typed, where it reads back as what it meant; else both."""
        plain = plain_reading(note.readings[attribute])
        said = decimal_text(plain) if isinstance(plain, float) else str(plain)
        typed = note.typed.get(attribute, "")
        if not typed:
            return said
        if self._reads_back(attribute, typed, note):
            return typed
        return f"{written_item(typed)} [{said}]"

    def _item(self, key: str, note: Note) -> str:
        """A descriptor by its name or as it was typed, where that reads back; else by its key."""
        typed = note.typed.get(key, "")
        item = written_item(typed or self._words.lexicon.name_of(key))
        if self._item_reads_back(key, item, typed):
            return item
        return f"{written_item(typed)} [{written_item(key)}]".lstrip()

    def _reads_back(self, attribute: str, cell: str, note: Note) -> bool:
        found = self._read({attribute: cell})
        return found.readings == {attribute: note.readings[attribute]} and found.typed == {
            attribute: note.typed[attribute]
        }

    def _item_reads_back(self, key: str, item: str, typed: str) -> bool:
        found = self._read({DESCRIPTORS: item})
        return found.readings == {key: True} and found.typed == ({key: typed} if typed else {})

    def _read(self, cells: dict[str, str]) -> Note:
        row = [""] * (len(COLUMNS) + 1)
        for role, cell in cells.items():
            row[self._at[role]] = cell
        try:
            return self._reader.read(row, _refuse, own=True)
        except ValueError:
            return Note()


def _refuse(column: str, text: str, reason: str) -> None:
    raise ValueError(f"{column}: “{text}” {reason}")


def _whole(number: int | None) -> str:
    return "" if number is None else str(number)


def _number(number: float | None) -> str:
    return "" if number is None else decimal_text(number)


Writer = Callable[[Iterable[KeptPour]], Iterator[str]]
"""Turns pours into the text of a file, piece by piece."""
