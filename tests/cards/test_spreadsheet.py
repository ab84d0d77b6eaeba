"""The table as one sheet: nothing is lost on the way out and back, and no cell is guessed."""

from __future__ import annotations

import csv
import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from cards.facts import Fact, facts_of
from cards.spreadsheet.cells import cell_text
from cards.spreadsheet.changes import changes_of
from cards.spreadsheet.columns import column_letters, header_of
from cards.spreadsheet.reading import read_sheet
from cards.spreadsheet.writing import sheet_text
from cards.tables import Table
from tests.cards.sheets import WINE, Rows, change_of, changed, read, rows_of, text_of

# ---- out


def test_a_wine_is_a_row_and_every_fact_has_a_column(table: Table, rows: Rows) -> None:
    header, *wines = rows
    assert [row[0] for row in wines] == list(table.profiles)
    assert len(header) == len(set(header))
    for profile in table.profiles.values():
        row = dict(zip(header, next(r for r in wines if r[0] == profile.key), strict=True))
        for path, value in facts_of(profile).items():
            assert row[header_of(path)].lstrip("'") == cell_text(value), (profile.key, path)
        for key in table.lexicon.descriptors:
            if key in header and key not in profile.descriptors:
                assert row[key] == ""


def test_only_words_that_some_wine_lists_have_a_column(table: Table, rows: Rows) -> None:
    listed = {key for profile in table.profiles.values() for key in profile.descriptors}
    words = {key for key in table.lexicon.descriptors if header_of(("descriptors", key)) in rows[0]}
    assert words == listed


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "'", "'="])
def test_no_cell_is_run_as_a_formula(table: Table, start: str) -> None:
    telling = f"{start}cmd|'/c calc'!A1"
    profile = replace(table.profiles[WINE], telling=telling, synonyms=(telling.strip(), "plain"))
    risky = replace(table, profiles={**table.profiles, WINE: profile})
    text = sheet_text(risky)
    for row in rows_of(text):
        for cell in row:
            assert not cell.startswith(("=", "+", "-", "@", "\t", "\r")), cell
    sheet = read_sheet(text, risky)
    assert sheet.problems == ()
    assert changes_of(sheet, risky, risky) == []


# ---- out and back


def test_a_sheet_that_was_not_touched_changes_nothing(table: Table) -> None:
    for decimal_comma in (False, True):
        sheet = read_sheet(sheet_text(table, decimal_comma=decimal_comma), table)
        assert sheet.problems == ()
        assert len(sheet.rows) == len(table.profiles)
        assert changes_of(sheet, table, table) == []


def commas(cell: str) -> str:
    whole, point, rest = cell.partition(".")
    return f"{whole},{rest}" if point and whole.isdigit() and rest.isdigit() else cell


def two_places(cell: str) -> str:
    try:
        return f"{float(cell):.2f}"
    except ValueError:
        return cell


REWRITTEN: dict[str, Callable[[Rows], str]] = {
    "everything quoted": lambda rows: text_of(rows, quoting=csv.QUOTE_ALL),
    "text quoted": lambda rows: text_of(rows, quoting=csv.QUOTE_NONNUMERIC),
    "line feeds": lambda rows: text_of(rows).replace("\r\n", "\n"),
    "carriage returns": lambda rows: text_of(rows).replace("\r\n", "\r"),
    "semicolons": lambda rows: text_of(rows, ";"),
    "tabs": lambda rows: text_of(rows, "\t"),
    "decimal commas": lambda rows: text_of([[commas(c) for c in row] for row in rows], ";"),
    "two decimal places": lambda rows: text_of([[two_places(c) for c in row] for row in rows]),
    "commas and places": lambda rows: text_of(
        [[commas(two_places(c)) for c in row] for row in rows], ";", csv.QUOTE_ALL
    ),
    "columns backwards": lambda rows: text_of([row[::-1] for row in rows]),
    "rows backwards": lambda rows: text_of([rows[0], *rows[:0:-1]]),
    "empty columns behind": lambda rows: text_of([[*row, "", "", ""] for row in rows]),
    "empty rows behind": lambda rows: text_of([*rows, [""] * len(rows[0]), []]),
    "columns cut short": lambda rows: "\r\n".join(
        line.rstrip(",") for line in text_of(rows).split("\r\n")
    ),
    "a mark in front": lambda rows: "\ufeff" + text_of(rows),
    "the delimiter named": lambda rows: "sep=;\r\n" + text_of(rows, ";"),
    "headers in capitals": lambda rows: text_of([[h.upper() for h in rows[0]], *rows[1:]]),
    "headers with underscores": lambda rows: text_of(
        [[h.replace(" ", "_").replace("-", " ") for h in rows[0]], *rows[1:]]
    ),
    "cells trimmed and padded": lambda rows: text_of(
        [rows[0], *([f" {cell} " if cell else "" for cell in row] for row in rows[1:])]
    ),
    "apostrophes eaten": lambda rows: text_of(
        [[c[1:] if c.startswith("'") else c for c in row] for row in rows]
    ),
}


@pytest.mark.parametrize("name", REWRITTEN)
def test_what_a_spreadsheet_rewrites_changes_nothing(table: Table, rows: Rows, name: str) -> None:
    text = REWRITTEN[name](rows)
    sheet = read_sheet(text, table)
    assert sheet.problems == ()
    assert {row.key for row in sheet.rows} == set(table.profiles)
    assert changes_of(sheet, table, table) == []


@pytest.mark.parametrize("seed", range(4))
def test_any_order_of_columns_will_do(table: Table, rows: Rows, seed: int) -> None:
    order = list(range(len(rows[0])))
    random.Random(seed).shuffle(order)
    sheet = read([[row[n] for n in order] for row in rows], table)
    assert sheet.problems == ()
    assert changes_of(sheet, table, table) == []


def test_a_sheet_of_some_columns_speaks_of_these_only(table: Table, rows: Rows) -> None:
    header = rows[0]
    kept = [header.index(name) for name in ("key", "acid", "alcohol high")]
    few = [[row[n] for n in kept] for row in changed(rows, WINE, acid="med")]
    change = change_of(few, table)
    assert change.facts == {("structure", "acid"): Fact("med")}


def test_text_in_several_lines_and_with_bars_comes_back(table: Table) -> None:
    profile = replace(
        table.profiles[WINE],
        telling='Flint,\nthen "grass"; and a \\ stroke.',
        synonyms=("a|b", "c\\d", 'e"f', "g; h, i"),
    )
    odd = replace(table, profiles={**table.profiles, WINE: profile})
    for decimal_comma in (False, True):
        sheet = read_sheet(sheet_text(odd, decimal_comma=decimal_comma), odd)
        assert sheet.problems == ()
        assert changes_of(sheet, odd, odd) == []


def test_columns_are_lettered_as_a_spreadsheet_does() -> None:
    assert [column_letters(n) for n in (0, 25, 26, 51, 52, 701, 702)] == [
        "A", "Z", "AA", "AZ", "BA", "ZZ", "AAA",
    ]  # fmt: skip


def test_a_word_named_like_a_column_has_a_column_of_its_own(table: Table) -> None:
    """A taster's lexicon may hold a word such as “window”."""
    lexicon = table.lexicon
    word = replace(lexicon.descriptors["lemon"], key="window", name="window", synonyms=())
    profile = table.profiles[WINE]
    odd = replace(
        table,
        lexicon=replace(lexicon, descriptors={**lexicon.descriptors, "window": word}),
        profiles={
            **table.profiles,
            WINE: replace(
                profile, descriptors={**profile.descriptors, "window": profile.descriptors["lemon"]}
            ),
        },
    )
    text = sheet_text(odd)
    assert "descriptor window" in rows_of(text)[0]
    sheet = read_sheet(text, odd)
    assert sheet.problems == ()
    assert changes_of(sheet, odd, odd) == []
