"""The table as one sheet: nothing is lost on the way out and back, and no cell is guessed."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from cards.facts import Change, Fact, facts_of
from cards.profiles import UNLISTED
from cards.spreadsheet.cells import cell_text
from cards.spreadsheet.changes import changes_of, told
from cards.spreadsheet.columns import column_letters, header_of
from cards.spreadsheet.reading import Sheet, read_sheet
from cards.spreadsheet.writing import sheet_text
from cards.tables import Table

WINE = "sauvignon-sancerre"
Rows = list[list[str]]


def rows_of(text: str, delimiter: str = ",") -> Rows:
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))


def text_of(rows: Rows, delimiter: str = ",", quoting: int = csv.QUOTE_MINIMAL) -> str:
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter, quoting=quoting, lineterminator="\r\n").writerows(rows)  # type: ignore[arg-type]
    return text.getvalue()


@pytest.fixture(scope="module")
def rows(table: Table) -> Rows:
    """The rows of the shipped table's sheet, the header first; tests change a copy."""
    return rows_of(sheet_text(table))


def changed(rows: Rows, wine: str, **cells: str) -> Rows:
    """A copy of the rows with other cells; “_” in a column's name stands for a space."""
    header = rows[0]
    copy = [list(row) for row in rows]
    row = next(row for row in copy if row[header.index("key")] == wine)
    for name, cell in cells.items():
        row[header.index(name.replace("_", " "))] = cell
    return copy


def read(rows: Rows, table: Table) -> Sheet:
    return read_sheet(text_of(rows), table)


def change_of(rows: Rows, table: Table) -> Change:
    sheet = read(rows, table)
    assert sheet.problems == ()
    (change,) = changes_of(sheet, table, table)
    return change


def problems(rows: Rows, table: Table) -> list[str]:
    return [str(problem) for problem in read(rows, table).problems]


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


# ---- changes


def test_a_changed_cell_is_a_fact_of_ones_own(table: Table, rows: Rows) -> None:
    change = change_of(changed(rows, WINE, acid="Med  to HIGH", petrol="Occasional"), table)
    assert (change.wine, change.style) == (WINE, "white")
    assert change.facts == {
        ("structure", "acid"): Fact("med to high"),
        ("descriptors", "petrol"): Fact("occasional"),
    }


def test_both_ends_of_a_range_are_written_together(table: Table, rows: Rows) -> None:
    profile = table.profiles[WINE]
    change = change_of(changed(rows, WINE, alcohol_high="14,5"), table)
    assert change.facts == {
        ("alcohol", "low"): Fact(profile.alcohol.low),
        ("alcohol", "high"): Fact(14.5),
    }


def test_an_emptied_cell_takes_a_descriptor_off(table: Table, rows: Rows) -> None:
    word = next(iter(table.profiles[WINE].descriptors))
    change = change_of(changed(rows, WINE, **{word: ""}), table)
    assert change.facts == {("descriptors", word): Fact(UNLISTED)}


def test_lists_and_shares_are_read(table: Table, rows: Rows) -> None:
    cells = {
        "synonyms": "One | Two",
        "hue": "gold | straw",
        "laterals": "chardonnay-chablis",
        "grapes": "sauvignon-blanc 80 to 95,5 | Semillon 5 to 20",
    }
    change = change_of(changed(rows, WINE, **cells), table)
    assert {path: fact.value for path, fact in change.facts.items() if fact} == {
        ("synonyms",): ["One", "Two"],
        ("colour", "hue"): ["gold", "straw"],
        ("laterals",): ["chardonnay-chablis"],
        ("grape", "shares"): {"sauvignon-blanc": "80 to 95.5", "semillon": "5 to 20"},
    }


def test_a_basis_given_with_a_change_counts(table: Table, rows: Rows) -> None:
    bases = dict(zip(rows[0], next(r for r in rows if r[0] == WINE), strict=True))["bases"]
    change = change_of(changed(rows, WINE, acid="med", bases=f"{bases} | acid=memory"), table)
    assert change.facts == {("structure", "acid"): Fact("med", "memory")}


def test_a_basis_may_change_alone(table: Table, rows: Rows) -> None:
    profile = table.profiles[WINE]
    bases = dict(zip(rows[0], next(r for r in rows if r[0] == WINE), strict=True))["bases"]
    change = change_of(changed(rows, WINE, bases=f"{bases} | acid=memory"), table)
    acid = str(profile.structure["acid"])
    assert change.facts == {("structure", "acid"): Fact(acid, "memory")}
    assert [str(one.fact) for one in told(change, table, table)] == ["basis of acid"]


def test_what_returns_to_the_shipped_value_is_no_longer_ones_own(table: Table) -> None:
    profile = table.profiles[WINE]
    mine = replace(
        profile,
        structure={**profile.structure, "acid": table.profiles["chenin-vouvray"].structure["oak"]},
        bases={**profile.bases, "acid": "own"},
    )
    own = replace(table, profiles={**table.profiles, WINE: mine})
    sheet = read_sheet(sheet_text(own), own)
    assert changes_of(sheet, own, table) == []
    acid = str(profile.structure["acid"])
    sheet = read(changed(rows_of(sheet_text(own)), WINE, acid=acid), own)
    (change,) = changes_of(sheet, own, table)
    assert change.facts == {("structure", "acid"): None}
    (words,) = told(change, own, table)
    assert (words.fact, words.after) == ("acid", acid)


def test_changes_are_told_by_the_name_of_the_column(table: Table, rows: Rows) -> None:
    change = change_of(changed(rows, WINE, alcohol_high="15", petrol="common", rim="green"), table)
    words = {one.fact: (one.before, one.after) for one in told(change, table, table)}
    profile = table.profiles[WINE]
    assert words == {
        "alcohol high": (f"{profile.alcohol.high:g}", "15"),
        "petrol": (cell_text(str(profile.descriptors.get("petrol", ""))), "common"),
        "rim": (profile.rim, "green"),
    }


def test_a_row_with_a_new_key_is_a_new_wine(table: Table, rows: Rows) -> None:
    row = list(next(row for row in rows if row[0] == WINE))
    header = rows[0]
    row[header.index("key")] = "silex"
    row[header.index("name")] = "Silex"
    row[header.index("bases")] = ""
    change = change_of([header, row], table)
    assert (change.wine, change.style) == ("silex", "white")
    profile = table.profiles[WINE]
    facts = facts_of(profile) | {("name",): "Silex"}
    assert change.facts == {path: Fact(value) for path, value in facts.items()}


# ---- what cannot be taken

BAD_CELLS = [
    ("acid", "hihg", "“hihg” is no level"),
    ("acid", "high to low", "backwards"),
    ("acid", "", "is empty"),
    ("tannin", "some", "“some” is no level"),
    ("alcohol low", "twelve", "“twelve” is no number"),
    ("alcohol low", "12. May", "“12. May” is no number"),
    ("alcohol low", "-12", "is no number"),
    ("sugar high", "", "is empty"),
    ("window", "1-5", "is no range"),
    ("oak months", "half a year", "is no range"),
    ("lemon", "often", "none of signature, common, occasional, never"),
    ("grapes", "sauvignon-blanc", "should be a grape and its share"),
    ("grapes", "sauvingon 100", "“sauvingon” is not in names.toml"),
    ("laterals", "nowhere", "“nowhere” is no wine of the table"),
    ("bases", "hearsay", "“hearsay” is no basis"),
    ("bases", "practice | acid=hearsay", "“hearsay” is no basis"),
    ("bases", "practice | acdi=memory", "“acdi” is no fact"),
    ("name", " ", "is empty"),
    ("style", "red", "its style stays"),
    ("key", "Not a key", "is no key"),
]


@pytest.mark.parametrize(("column", "cell", "said"), BAD_CELLS)
def test_a_bad_cell_is_named_by_row_and_column(
    table: Table, rows: Rows, column: str, cell: str, said: str
) -> None:
    bad = changed(rows, WINE, **{column: cell})
    row = 1 + next(n for n, one in enumerate(rows) if one[0] == WINE)
    letters = column_letters(rows[0].index(column))
    (problem,) = read(bad, table).problems
    assert (problem.row, problem.column, problem.header) == (row, letters, column)
    assert said in problem.text
    assert str(problem).startswith(f"row {row}, column {letters} ({column}): ")


def test_all_bad_cells_are_named_at_once(table: Table, rows: Rows) -> None:
    bad = changed(changed(rows, WINE, acid="x", body="y"), "chenin-vouvray", finish="z")
    assert len(problems(bad, table)) == 3


def test_an_unknown_column_is_an_error(table: Table, rows: Rows) -> None:
    letters = column_letters(len(rows[0]))
    extra = [[*row, "points" if n == 0 else "90"] for n, row in enumerate(rows)]
    assert problems(extra, table) == [f"row 1, column {letters} (points): no fact has this name"]
    nameless = [[*row, "" if n == 0 else "90"] for n, row in enumerate(rows)]
    assert problems(nameless, table) == [f"row 2, column {letters}: the column has no name"]


def test_a_column_or_a_wine_that_stands_twice_is_an_error(table: Table, rows: Rows) -> None:
    twice = [[*row, row[rows[0].index("acid")]] for row in rows]
    (said,) = problems(twice, table)
    assert "is column" in said
    row = next(row for row in rows if row[0] == WINE)
    (said,) = problems([*rows, row], table)
    assert f"“{WINE}” stands in row" in said


def test_a_sheet_without_keys_is_no_sheet(table: Table) -> None:
    for text in ("", "name,acid\r\nSancerre,high\r\n", "\x00\x01", "just words\n"):
        sheet = read_sheet(text, table)
        assert sheet.rows == ()
        assert sheet.problems


def test_a_new_wine_needs_every_column(table: Table) -> None:
    sheet = [["key", "style", "acid"], ["silex", "white", "high"]]
    (said,) = problems(sheet, table)
    assert said.startswith("row 2: a new wine needs a column for name")
    assert "tannin" not in said
    (said, *_) = problems([["key", "acid"], ["silex", "high"]], table)
    assert "“” is none of white, rose" in said


def test_letters_lost_by_a_spreadsheet_are_noticed(table: Table, rows: Rows) -> None:
    wine = next(p for p in table.profiles.values() if not p.name.isascii())
    lost = wine.name.encode("ascii", "replace").decode()
    (problem,) = read(changed(rows, wine.key, name=lost), table).problems
    assert "letters are lost" in problem.text
    assert read(changed(rows, wine.key, name="Another name?"), table).problems == ()


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
