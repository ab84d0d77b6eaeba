"""What a row holds beside names, date and remark: the whole note of a pour."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any, Protocol

from cards.names import Resolution
from cards.naming.folding import words
from drills.tastings.cells import Cell
from drills.tastings.columns import Columns
from drills.tastings.drafts import NOTHING, Named, PourDraft, Unread, even
from drills.tastings.figures import (
    decimal_text,
    read_alcohol,
    read_seconds,
    read_sureness,
    read_year,
    share_or_percent,
)
from drills.tastings.headings import (
    CALLED,
    CALLED_KEY,
    CALLED_SURENESS,
    CALLED_VINTAGE,
    CANDIDATE_KEYS,
    CANDIDATES,
    DATE,
    FIRST,
    FIRST_KEY,
    FIRST_SURENESS,
    FIRST_VINTAGE,
    FLIGHT,
    LABEL_ALCOHOL,
    MARK,
    NOTE,
    POSITION,
    PRICE,
    RUNNER_UP,
    RUNNER_UP_KEY,
    SECONDS,
    WAS,
    WAS_KEY,
    WAS_VINTAGE,
)
from drills.tastings.items import bracketed, plain_item, split_items
from drills.tastings.marks import Mark, check_of_row, read_mark
from drills.tastings.notes import NO_CALL, Candidate, FullPour, Note, Verdict
from drills.tastings.noting import NOTHING_SAID, NoteReader, Words, cell_lines, cell_text

_VINTAGES = (CALLED_VINTAGE, FIRST_VINTAGE, WAS_VINTAGE)
_NO_NOTE = Note()
_NO_VINTAGE = frozenset(
    {
        *("nv", "mv", "none", "nonvintage", "nonvintaged", "multivintage", "sa", "sansannee"),
        *("ojg", "ohnejahrgang", "senzaannata", "sinanada"),
    }
)
_YEAR = re.compile(r"(?<!\d)(?:19|20)\d\d(?!\d)")


class ResolvesNames(Protocol):
    """Anything that turns a written name into a wine."""

    def resolve(self, text: str) -> Resolution:
        """The wine that `text` names, or suggestions."""


class FullReader:
    """Reads whole notes from the rows of one table."""

    def __init__(self, columns: Columns, names: ResolvesNames, words: Words) -> None:
        self._columns = columns
        self._names = names
        self._notes = NoteReader(columns, words)
        readers: dict[str, Callable[[Cell], Any]] = {
            **dict.fromkeys(_VINTAGES, _year),
            **dict.fromkeys((CALLED_SURENESS, FIRST_SURENESS), _sureness),
            LABEL_ALCOHOL: _label_alcohol,
            PRICE: cell_text,
            SECONDS: _seconds,
        }
        at = columns.at
        self._parts = [(role, at[role], read) for role, read in readers.items() if role in at]
        self.reads_anything = bool(self._notes.reads_anything or self._parts or CANDIDATES in at)

    def read(
        self,
        row: int,
        cells: Sequence[Cell],
        position: int,
        named: Sequence[Named],
        remark: str,
        unread: Callable[[Unread], object],
    ) -> FullPour | None:
        """All that a row holds, None where it is no more than names and a remark."""

        def tell(column: str, text: str, reason: str) -> None:
            unread(Unread(row, column, text, reason))

        found: dict[str, Any] = {}
        free: list[str] = []
        for role, place, read_part in self._parts:
            if (cell := cells[place]) == "" or (text := cell_text(cell)) in NOTHING_SAID:
                continue
            try:
                found[role] = read_part(cell)
            except ValueError as error:
                heading = self._columns.headings[place]
                free.append(f"{heading}: {text}")
                # Many wines have no vintage; that is nothing to report.
                if read_part is not _year or not _without_vintage(text):
                    tell(heading, text, str(error))
        called, was, first, runner_up = named
        for role, name in zip(_VINTAGES, (called, first, was), strict=True):
            if role not in self._columns.at and (year := year_in(name.text)) is not None:
                found[role] = year
        note = self._notes.read(cells, tell) if self._notes.reads_anything else _NO_NOTE
        candidates = self._candidates(cells) if CANDIDATES in self._columns.at else ()
        if not (found or free or candidates or note.readings or note.free) and note == _NO_NOTE:
            return None
        if free:
            note = replace(note, free=(*note.free, *free))
        return FullPour(
            position=position,
            note=note,
            candidates=candidates,
            first=_verdict(first, found.get(FIRST_VINTAGE), found.get(FIRST_SURENESS)),
            final=_verdict(called, found.get(CALLED_VINTAGE), found.get(CALLED_SURENESS)),
            runner_up=runner_up,
            reveal=was,
            reveal_vintage=found.get(WAS_VINTAGE),
            label_alcohol=found.get(LABEL_ALCOHOL),
            price=found.get(PRICE, ""),
            seconds=found.get(SECONDS),
            remark=remark,
        )

    def _candidates(self, cells: Sequence[Cell]) -> tuple[Candidate, ...]:
        found = []
        for place in self._all(CANDIDATES):
            for item in split_items(cell_lines(cells[place]), commas=False):
                text, struck = bracketed(item) or (plain_item(item), "")
                if text and text not in NOTHING_SAID:
                    wine = self._names.resolve(text).wine
                    found.append(Candidate(text, wine, " ".join(struck.split())))
        return tuple(found)

    def _all(self, role: str) -> tuple[int, ...]:
        if role not in self._columns.at:
            return ()
        return tuple(sorted((self._columns.at[role], *self._columns.more.get(role, ()))))

    def mark(self, cells: Sequence[Cell], day: Callable[[Cell], date | None]) -> Mark | None:
        """The mark of a row that is what was exported, None for any other row."""
        place = self._columns.at.get(MARK)
        mark = None if place is None else read_mark(cells[place])
        if mark is None:
            return None
        said: list[tuple[str, Cell]] = []
        for role, place in self._columns.at.items():
            if role == DATE:
                try:
                    said.append((role, day(cells[place]) or ""))
                except ValueError:
                    return None
            elif role != MARK:
                said.append((role, cells[place]))
        return mark if check_of_row(said) == mark.check else None

    def own(self, row: int, cells: Sequence[Cell], day: date | None, mark: Mark) -> PourDraft:
        """The pour of a row that the program wrote; ValueError where it cannot have."""

        def text(role: str) -> str:
            place = self._columns.at.get(role)
            return "" if place is None else _raw(cells[place])

        def number(role: str) -> float | None:
            return float(said.replace(",", ".")) if (said := text(role)) else None

        def whole(role: str) -> int | None:
            return None if (said := number(role)) is None else int(said)

        called, was, first, runner_up = (
            Named(text(role), self._wine(text(role), text(key)))
            for role, key in (
                (CALLED, CALLED_KEY),
                (WAS, WAS_KEY),
                (FIRST, FIRST_KEY),
                (RUNNER_UP, RUNNER_UP_KEY),
            )
        )

        def refuse(column: str, said: str, reason: str) -> None:
            raise ValueError(f"{column}: “{said}” {reason}")

        pour = FullPour.from_plain(
            FullPour(
                position=whole(POSITION) or 1,
                note=self._notes.read(cells, refuse, own=True),
                candidates=self._own_candidates(text(CANDIDATES), text(CANDIDATE_KEYS)),
                first=_verdict(first, whole(FIRST_VINTAGE), whole(FIRST_SURENESS)),
                final=_verdict(called, whole(CALLED_VINTAGE), whole(CALLED_SURENESS)),
                runner_up=runner_up,
                reveal=was,
                reveal_vintage=whole(WAS_VINTAGE),
                label_alcohol=number(LABEL_ALCOHOL),
                price=text(PRICE),
                seconds=number(SECONDS),
                remark=text(NOTE),
            ).to_plain()
        )
        return own_draft(row, day, text(FLIGHT), pour, mark)

    def _own_candidates(self, text: str, keys: str) -> tuple[Candidate, ...]:
        items = split_items(text, commas=False)
        wines = [key.strip() for key in keys.split(";")] if keys.strip() else []
        wines += [""] * (len(items) - len(wines))
        found = []
        for item, key in zip(items, wines, strict=False):
            name, struck = bracketed(item) or (plain_item(item), "")
            found.append(Candidate(name, self._wine(name, key), struck))
        return tuple(found)

    def known(self, pour: FullPour) -> FullPour:
        """A pour with the wines that were kept, as far as the table still has them."""
        return self._with_wines(pour, self._wine)

    def resolved(self, pour: FullPour) -> FullPour:
        """A pour with the wines that its names mean; what they meant elsewhere does not count."""
        return self._with_wines(
            pour, lambda text, _: self._names.resolve(text).wine if text else None
        )

    def _with_wines(self, pour: FullPour, wine: Callable[[str, str], str | None]) -> FullPour:
        first, final = (
            replace(call, wine=wine(call.text, call.wine or ""))
            for call in (pour.first, pour.final)
        )
        runner_up, reveal = (
            Named(name.text, wine(name.text, name.wine or ""))
            for name in (pour.runner_up, pour.reveal)
        )
        candidates = tuple(
            replace(one, wine=wine(one.text, one.wine or "")) for one in pour.candidates
        )
        return replace(
            pour,
            first=first,
            final=final,
            runner_up=runner_up,
            reveal=reveal,
            candidates=candidates,
        )

    def _wine(self, text: str, key: str) -> str | None:
        """The wine that was kept for a text; where the table has it no more, what it means now."""
        if not key:
            return None
        known = self._names.resolve(key)
        return key if known.how == "key" else self._names.resolve(text).wine


def own_draft(row: int, day: date | None, flight: str, pour: FullPour, mark: Mark) -> PourDraft:
    """The draft of a pour that the program exported."""
    return PourDraft(
        row,
        day,
        flight,
        pour.position,
        pour.final.named,
        pour.reveal,
        pour.first.named,
        pour.runner_up,
        pour.remark,
        mark.fingerprint,
        pour,
    )


def year_in(text: str) -> int | None:
    """The vintage that stands in a name, if there is just one year in it."""
    found = set(_YEAR.findall(text))
    return int(found.pop()) if len(found) == 1 else None


def _verdict(named: Named, vintage: int | None, sureness: int | None) -> Verdict:
    if named is NOTHING and vintage is None and sureness is None:
        return NO_CALL
    return Verdict(named.text, named.wine, vintage, sureness)


def _even(cell: Cell) -> str:
    if isinstance(cell, str):
        return even(cell)
    return decimal_text(float(cell)) if isinstance(cell, int | float) else cell.isoformat()


def _raw(cell: Cell) -> str:
    return cell if isinstance(cell, str) else _even(cell)


def _year(cell: Cell) -> int:
    if isinstance(cell, date):
        raise ValueError("is a date, no vintage")
    return read_year(cell_text(cell))


def _without_vintage(text: str) -> bool:
    return "".join(words(text)) in _NO_VINTAGE


def _sureness(cell: Cell) -> int:
    return read_sureness(cell_text(cell))


def _label_alcohol(cell: Cell) -> float:
    if isinstance(cell, date):
        raise ValueError("is a date, no alcohol")
    if isinstance(cell, str):
        return read_alcohol(cell_text(cell), certain=True)
    return share_or_percent(float(cell))


def _seconds(cell: Cell) -> float:
    if isinstance(cell, datetime | date):
        raise ValueError("is a date, no number of seconds")
    return read_seconds(cell_text(cell))
