"""Dates as tasters write them. Where day and month could be swapped, the whole column decides."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Literal

from cards.naming.folding import words
from drills.tastings.cells import Cell

DateOrder = Literal["dmy", "mdy"]

# Two-digit years: 70 to 99 are of the last century, for nobody logs tastings of 2070 yet.
_PIVOT = 70
_FIRST_YEAR, _LAST_YEAR = 1900, 2199
# Day 0 of spreadsheets that count 1900 as a leap year.
_SERIAL_ZERO = date(1899, 12, 30)
_SERIALS = (20_000, 80_000)  # 1954 to 2119

_MONTHS = (
    "january janvier januar jänner gennaio enero",
    "february février februar feber febbraio febrero",
    "march mars märz maerz marzo",
    "april avril aprile abril",
    "may mai maggio mayo",
    "june juin juni giugno junio",
    "july juillet juli luglio julio",
    "august août agosto",
    "september septembre settembre septiembre setiembre",
    "october octobre oktober ottobre octubre",
    "november novembre noviembre",
    "december décembre dezember dicembre diciembre",
)
_WEEKDAYS = frozenset(
    word
    for line in (
        "monday tuesday wednesday thursday friday saturday sunday mon tue tues wed thu thur thurs",
        "fri sat sun lundi mardi mercredi jeudi vendredi samedi dimanche montag dienstag mittwoch",
        "donnerstag freitag samstag sonnabend sonntag mo di mi do fr sa so lunedi martedi",
        "mercoledi giovedi venerdi sabato domenica lunes martes miercoles jueves viernes sabado",
        "domingo lun mer jeu ven sam dim gio jue vie",
    )
    for word in line.split()
)
_FILLERS = frozenset(("de", "del", "of", "the", "le", "el", "den", "der", "am", "il", "on"))


def _by_prefix() -> dict[str, int]:
    """Months by every beginning of three letters and more that only one month has."""
    found: dict[str, set[int]] = {}
    whole: dict[str, int] = {}
    for number, names in enumerate(_MONTHS, 1):
        for name in words(names):
            whole[name] = number
            for end in range(3, len(name)):
                found.setdefault(name[:end], set()).add(number)
    prefixes = {prefix: numbers.pop() for prefix, numbers in found.items() if len(numbers) == 1}
    return prefixes | whole


_MONTH_NUMBERS = _by_prefix()
_TIME = re.compile(
    r"(?:[T\s]+|,\s*)\d{1,2}"
    r"(?:[:.h]\d{2}(?:[:.]\d{2}(?:[.,]\d+)?)?|\s+h\s+\d{2}(?:\s+min\s+\d{2}\s+s)?)"
    r"\s*(?:[AaPp]\.?\s?[Mm]\.?)?\s*(?:Z|[+-]\d{2}:?\d{2})?$"
)
_YEAR_FIRST = re.compile(r"(\d{4})\s*[-/.]\s*(\d{1,2})\s*[-/.]\s*(\d{1,2})\.?")
_COMPACT = re.compile(r"(\d{4})(\d{2})(\d{2})")
_THREE = re.compile(r"(\d{1,2})\s*([-/.])\s*(\d{1,2})\s*\2\s*(\d{4}|\d{2})")
_SERIAL = re.compile(r"\d{5}(?:[.,]\d+)?")
_ORDINAL = re.compile(r"(\d{1,2})(?:st|nd|rd|th|er|re|o|a)")


@dataclass(frozen=True, slots=True)
class Either:
    """A date whose day and month could be swapped."""

    day_first: date
    month_first: date


def _day(year: int, month: int, day: int) -> date:
    if not _FIRST_YEAR <= year <= _LAST_YEAR:
        raise ValueError(f"the year {year} cannot be meant")
    try:
        return date(year, month, day)
    except ValueError:
        raise ValueError("there is no such day") from None


def _year(digits: str) -> int:
    year = int(digits)
    if len(digits) == 4:
        return year
    return 1900 + year if year >= _PIVOT else 2000 + year


@lru_cache(maxsize=4096)
def read_date(text: str, order: DateOrder | None = None) -> date | Either:
    """The date that `text` writes; ValueError says why there is none.

    `order` settles whether “13-01-00” begins with the day or with the year.
    """
    text = _TIME.sub("", text.strip())
    if len(text) > 40 or not text.isprintable():
        raise ValueError("is no date")
    if match := _YEAR_FIRST.fullmatch(text) or _COMPACT.fullmatch(text):
        return _day(int(match[1]), int(match[2]), int(match[3]))
    if match := _THREE.fullmatch(text):
        one, other, year = int(match[1]), int(match[3]), _year(match[4])
        could_be_year = match[2] == "-" and len(match[4]) == 2 and one > 12 and int(match[4]) <= 31
        if could_be_year and order != "dmy":
            raise ValueError("could begin with the year or with the day; write 2025-05-03")
        if match[2] == "." or one > 12:
            return _day(year, other, one)
        if other > 12:
            return _day(year, one, other)
        if one == other:
            return _day(year, one, other)
        return Either(_day(year, other, one), _day(year, one, other))
    return _with_month_name(text)


def _with_month_name(text: str) -> date:
    month = 0
    numbers: list[str] = []
    for word in words(text):
        ordinal = _ORDINAL.fullmatch(word)
        if word.isascii() and word.isdigit():
            numbers.append(word)
        elif ordinal:
            numbers.append(ordinal[1])
        elif word in _MONTH_NUMBERS and not month:
            month = _MONTH_NUMBERS[word]
        elif word not in _WEEKDAYS and word not in _FILLERS:
            raise ValueError("is no date")
    if not month or len(numbers) != 2:
        raise ValueError("is no date with day, month and year")
    if len(numbers[0]) == 4:
        numbers.reverse()
    day, year = numbers
    if len(day) > 2 or len(year) not in (2, 4):
        raise ValueError("is no date with day, month and year")
    return _day(_year(year), month, int(day))


class DateColumn:
    """Reads the dates of one column, having seen all of them.

    Where some dates of the column show that the day, or the month, stands first, the others are
    read alike. Where none shows it, or they disagree, dates that could be two days are refused
    unless `order` says which way they are written.
    """

    def __init__(self, order: DateOrder | None = None) -> None:
        self._given = order
        self._shown: set[DateOrder] = set()
        self._texts = self._others = False
        self._last = ""

    def see(self, cell: Cell) -> None:
        """Take notice of a cell before any is read."""
        if not isinstance(cell, str) or cell == self._last:
            return
        self._last = cell
        text = cell.strip()
        if not text:
            return
        self._texts = True
        if not _is_serial(text):
            self._others = True
            if self._given is None and (shows := _shows_order(text)):
                self._shown.add(shows)

    @property
    def order(self) -> DateOrder | None:
        """Which way the column writes its dates, as far as it was given or shows."""
        if self._given is not None:
            return self._given
        return next(iter(self._shown)) if len(self._shown) == 1 else None

    def read(self, cell: Cell) -> date | None:
        """The date in a cell, None where it is empty; ValueError says what is wrong."""
        if isinstance(cell, datetime):
            return cell.date()
        if isinstance(cell, date):
            return cell
        if isinstance(cell, (int, float)):
            return self._serial(float(cell))
        text = cell.strip()
        if not text:
            return None
        if self._texts and not self._others:
            return self._serial(float(text.replace(",", ".")))
        try:
            found = read_date(text, self.order)
        except ValueError as error:
            shown = text if len(text) <= 40 else text[:39] + "…"
            raise ValueError(f"“{shown}”: {error}") from None
        if isinstance(found, date):
            return found
        if self.order is None:
            why = (
                "the file writes some dates day first and some month first"
                if len(self._shown) > 1
                else "no other date of the file shows which"
            )
            raise ValueError(
                f"“{text}” could be {found.day_first} or {found.month_first}, and {why}"
            )
        return found.day_first if self.order == "dmy" else found.month_first

    @staticmethod
    def _serial(number: float) -> date:
        if not _SERIALS[0] <= number <= _SERIALS[1]:
            raise ValueError(f"“{number:g}” is no date")
        return _SERIAL_ZERO + timedelta(days=int(number))


def _is_serial(text: str) -> bool:
    return bool(_SERIAL.fullmatch(text)) and (
        _SERIALS[0] <= float(text.replace(",", ".")) <= _SERIALS[1]
    )


@lru_cache(maxsize=4096)
def _shows_order(text: str) -> DateOrder | None:
    match = _THREE.fullmatch(_TIME.sub("", text))
    if not match or match[2] == ".":
        return None
    try:
        found = read_date(text)
    except ValueError:
        return None
    one, other = int(match[1]), int(match[3])
    if isinstance(found, Either) or one == other:
        return None
    return "dmy" if one > 12 else "mdy"
