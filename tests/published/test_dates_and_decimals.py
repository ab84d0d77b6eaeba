"""Dates and decimals as Unicode's locale data writes them (CLDR, through the library Babel)."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from functools import lru_cache, partial
from typing import TypeVar

import pytest
from babel import Locale
from babel.dates import format_date, format_datetime, get_month_names
from babel.numbers import format_decimal
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.tastings.dates import DateColumn, DateOrder, Either, read_date
from drills.tastings.figures import read_alcohol, read_decimal

# English, French, German, Italian and Spanish, in the countries where they are written differently.
LOCALES = (
    *("en_US", "en_GB", "en_CA", "en_AU", "en_ZA", "en_IE", "en_NZ"),
    *("fr_FR", "fr_CA", "fr_CH", "fr_BE", "de_DE", "de_AT", "de_CH", "it_IT", "it_CH"),
    *("es_ES", "es_MX", "es_AR", "es_CL"),
)
FORMATS = ("short", "medium", "long", "full")
Found = TypeVar("Found")
DAYS = st.dates(date(1990, 1, 1), date(2060, 12, 31))


@lru_cache
def order_of(locale: str) -> DateOrder:
    """Whether a locale writes the day or the month first, from its own short pattern."""
    pattern = Locale.parse(locale).date_formats["short"].pattern
    return "mdy" if pattern.index("M") < pattern.index("d") else "dmy"


def written(day: date, form: str, locale: str) -> str:
    return str(format_date(day, form, locale=locale))


def read(text: str, locale: str) -> date | None:
    column = DateColumn(order_of(locale))
    column.see(text)
    return column.read(text)


def refused_or(reading: Callable[[], Found], why: str) -> Found | None:
    """What is read, None where it is refused for that reason and no other."""
    try:
        return reading()
    except ValueError as error:
        if why not in str(error):
            raise
        return None


@pytest.mark.parametrize("locale", LOCALES)
@pytest.mark.parametrize("form", FORMATS)
@settings(max_examples=60, deadline=None)
@given(day=DAYS)
def test_a_date_of_every_locale_is_read_as_that_day(locale: str, form: str, day: date) -> None:
    text = written(day, form, locale)
    if form == "short" and day.year < 2000 and str(day.year) not in text:
        # Two digits: the century is a convention, see the next test.
        return
    assert read(text, locale) == day, text


@pytest.mark.parametrize("locale", LOCALES)
def test_every_day_of_a_year_in_the_medium_and_long_form(locale: str) -> None:
    for ordinal in range(date(2024, 1, 1).toordinal(), date(2025, 1, 1).toordinal()):
        day = date.fromordinal(ordinal)
        for form in FORMATS[1:]:
            text = written(day, form, locale)
            assert read(text, locale) == day, text


@pytest.mark.parametrize("locale", LOCALES)
def test_two_digit_years_lie_between_1970_and_2069(locale: str) -> None:
    for year in (1970, 1999, 2000, 2025, 2069):
        day = date(year, 11, 23)
        text = written(day, "short", locale)
        assert read(text, locale) == day, text


@pytest.mark.parametrize("locale", LOCALES)
@pytest.mark.parametrize("width", ["wide", "abbreviated"])
@pytest.mark.parametrize("context", ["format", "stand-alone"])
def test_every_name_of_a_month(locale: str, width: str, context: str) -> None:
    for month, name in get_month_names(width, context, locale).items():
        assert read_date(f"7 {name} 2025") == date(2025, month, 7), name


@pytest.mark.parametrize("locale", LOCALES)
def test_a_time_behind_the_date_is_passed_over(locale: str) -> None:
    at = datetime(2025, 11, 23, 19, 5)
    for form in ("short", "medium"):
        text = str(format_datetime(at, form, locale=locale))
        assert read(text, locale) == at.date(), text


@pytest.mark.parametrize("locale", LOCALES)
@settings(max_examples=60, deadline=None)
@given(day=DAYS)
def test_without_its_locale_a_date_is_right_or_a_question(locale: str, day: date) -> None:
    """Never a wrong day: where two could be meant the reader says so."""
    for form in FORMATS:
        text = written(day, form, locale)
        found = refused_or(partial(read_date, text), "begin with the year or with the day")
        if found is None:
            # “13-01-00”, as in Chile: the thirteenth, or the year 2013.
            continue
        if isinstance(found, Either):
            meant = found.day_first if order_of(locale) == "dmy" else found.month_first
        else:
            meant = found
        assert (meant.month, meant.day) == (day.month, day.day), text
        assert meant.year % 100 == day.year % 100, text


@pytest.mark.parametrize("locale", LOCALES)
@settings(max_examples=100, deadline=None)
@given(tenths=st.integers(0, 300))
def test_alcohol_in_the_decimals_of_every_locale(locale: str, tenths: int) -> None:
    text = format_decimal(tenths / 10, locale=locale)
    assert read_alcohol(text, certain=True) == tenths / 10, text
    assert read_alcohol(f"{text}\u00a0% vol", certain=True) == tenths / 10


@pytest.mark.parametrize("locale", LOCALES)
@settings(max_examples=100, deadline=None)
@given(number=st.decimals(0, 10_000_000, places=2))
def test_grouped_numbers_of_every_locale(locale: str, number: object) -> None:
    text = format_decimal(number, locale=locale)  # type: ignore[arg-type]
    found = refused_or(partial(read_decimal, text), "thousands or decimals")
    # “1,234”: nothing in the text says which.
    assert found == float(number) or (found is None and len(text) <= len("123.456")), text  # type: ignore[arg-type]
