"""What is changed in the sheet of the table: told, taken, or refused by row and column."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cards.facts import Fact, facts_of
from cards.profiles import UNLISTED
from cards.spreadsheet.cells import cell_text
from cards.spreadsheet.changes import changes_of, told
from cards.spreadsheet.columns import column_letters
from cards.spreadsheet.reading import read_sheet
from cards.spreadsheet.writing import sheet_text
from cards.tables import Table
from tests.cards.sheets import WINE, Rows, change_of, changed, problems, read, rows_of

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
