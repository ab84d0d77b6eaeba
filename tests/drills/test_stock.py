"""A cellar goes in and out as a list; what is not clear waits, and every change can be undone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cards.errors import UnknownWine
from drills.errors import IntakeError, NotPossibleError, UsageError
from drills.service.desk import Desk
from drills.service.stock import (
    cellar,
    export_cellar,
    import_cellar,
    name_bottle,
    undo_cellar,
)
from drills.service.writing import WriteError
from drills.storage.planned_records import StockRow
from tests.tastings.making import packed, xlsx_parts, xlsx_sheet

LIST = """A list of the lantern cellar
Wein;Jahrgang;Preis;Flaschen;Notiz;Regal
Chablis;2021;18,50 €;2;from the fair;A1
Sancerre 2022;;24;;;A2
the lantern white;NV;;3;;B
Rioja;2018;twelve;1;;
Barolo;MMXX;;1;;
Gavi;;;-1;;
;2020;;4;;
chablis;2021;;1;;
"""


@pytest.fixture
def desk(open_desk: Callable[[], Desk]) -> Desk:
    return open_desk()


@pytest.mark.parametrize("heading", ["Price (EUR)", "prix €", "Price, $", "GBP price"])
def test_a_price_is_found_whatever_money_its_heading_names(
    desk: Desk, tmp_path: Path, heading: str
) -> None:
    file = tmp_path / "list.csv"
    file.write_text(f"wine;{heading}\nChablis;18,50\n", encoding="utf-8")
    assert import_cellar(desk, str(file)).warnings == ()
    assert [row.price for row in cellar(desk)] == [18.5]


@pytest.fixture
def listed(tmp_path: Path) -> str:
    file = tmp_path / "list.csv"
    file.write_text(LIST, encoding="utf-8")
    return str(file)


def rows(desk: Desk) -> list[tuple[str, str | None, int | None, float | None, int]]:
    return [(one.text, one.wine, one.vintage, one.price, one.bottles) for one in cellar(desk)]


def test_a_list_is_read_whatever_its_headings_and_what_it_cannot_say_is_named(
    desk: Desk, listed: str
) -> None:
    found = import_cellar(desk, listed)
    assert rows(desk) == [
        ("Chablis", "chardonnay-chablis", 2021, 18.5, 3),
        ("Sancerre 2022", "sauvignon-sancerre", 2022, 24.0, 1),
        ("the lantern white", None, None, None, 3),
    ]
    assert (found.new, found.changed, found.same, found.gone, found.bottles) == (3, 0, 0, 0, 7)
    assert [(one.row, one.column) for one in found.rejected] == [
        (6, "Preis"),
        (7, "Jahrgang"),
        (8, "Flaschen"),
        (9, "Wein"),
    ]
    assert [one.text for one in found.unresolved] == ["the lantern white"]
    assert "column “Regal” was not read" in found.warnings
    assert "rows 3 and 10 are one wine: bottles were added up" in found.warnings


def test_the_same_list_twice_changes_nothing(desk: Desk, listed: str) -> None:
    import_cellar(desk, listed)
    again = import_cellar(desk, listed)
    assert (again.new, again.changed, again.same) == (0, 0, 3)
    # The first time is still the latest change, and the only one.
    assert desk.repository.undo_stock_change(desk.taster.id) is not None
    assert desk.repository.stock(desk.taster.id) == []


def test_a_dry_run_changes_nothing(desk: Desk, listed: str) -> None:
    assert import_cellar(desk, listed, dry_run=True).new == 3
    assert cellar(desk) == []


def test_a_spreadsheet_is_read_too(desk: Desk, tmp_path: Path) -> None:
    sheet = xlsx_sheet([["Wine", "Year", "Bottles", "Price"], ["Chablis", 2021, 2, 18.5]])
    file = tmp_path / "cellar.xlsx"
    file.write_bytes(packed(xlsx_parts({"rack": sheet})))
    import_cellar(desk, str(file))
    assert rows(desk) == [("Chablis", "chardonnay-chablis", 2021, 18.5, 2)]


def test_what_the_list_leaves_out_stays_unless_it_is_to_replace_all(
    desk: Desk, listed: str, tmp_path: Path
) -> None:
    import_cellar(desk, listed)
    shorter = tmp_path / "shorter.csv"
    shorter.write_text("wine,vintage,bottles\nChablis,2021,9\n", encoding="utf-8")
    found = import_cellar(desk, str(shorter))
    assert (found.changed, found.gone) == (1, 0)
    assert [one[4] for one in rows(desk)] == [9, 1, 3]
    assert import_cellar(desk, str(shorter), replace_all=True).gone == 2
    assert [one[0] for one in rows(desk)] == ["Chablis"]
    undo_cellar(desk)
    assert [one[4] for one in rows(desk)] == [9, 1, 3]


def test_a_list_with_an_unreadable_row_never_replaces_the_cellar(desk: Desk, listed: str) -> None:
    desk.repository.change_stock(desk.taster.id, "by hand", [StockRow("Gavi", "cortese-gavi")])
    with pytest.raises(NotPossibleError, match="row 6 cannot be read"):
        import_cellar(desk, listed, replace_all=True)
    assert [one[0] for one in rows(desk)] == ["Gavi"]


def test_a_name_is_said_once_and_holds(desk: Desk, listed: str) -> None:
    import_cellar(desk, listed)
    with pytest.raises(NotPossibleError, match="no wine called"):
        name_bottle(desk, "the harbour red", "gavi")
    with pytest.raises(UnknownWine):
        name_bottle(desk, "the lantern white", "the harbour red")
    assert name_bottle(desk, "The Lantern  White", "Gavi") == 1
    assert rows(desk)[2][1] == "cortese-gavi"
    undo_cellar(desk)
    import_cellar(desk, listed)
    assert rows(desk)[2][1] == "cortese-gavi"


def test_bad_files_are_answered_with_a_sentence(desk: Desk, tmp_path: Path) -> None:
    (tmp_path / "empty.csv").write_text("\n", encoding="utf-8")
    (tmp_path / "other.csv").write_text("date,called\n2026-01-01,Gavi\n", encoding="utf-8")
    for name, words in (("none", "no file"), ("empty", "is empty"), ("other", "no column “wine”")):
        with pytest.raises(IntakeError, match=words):
            import_cellar(desk, str(tmp_path / f"{name}.csv"))
    with pytest.raises(UsageError, match="should end in"):
        export_cellar(desk, str(tmp_path / "cellar.xlsx"))
    (tmp_path / "there.csv").touch()
    with pytest.raises(WriteError, match="there already"):
        export_cellar(desk, str(tmp_path / "there.csv"))
    with pytest.raises(NotPossibleError, match="no change of the cellar"):
        undo_cellar(desk)


def test_a_remark_that_looks_broken_by_another_delimiter_is_read(
    desk: Desk, tmp_path: Path
) -> None:
    file = tmp_path / "cellar.csv"
    file.write_text('wine,bottles,note\nChablis,2,"cold, steel;"\n', encoding="utf-8")
    assert import_cellar(desk, str(file)).new == 1
    assert cellar(desk)[0].note == "cold, steel;"
    file.write_text('wine,bottles,note\nChablis,2,"cold, steel;\n', encoding="utf-8")
    with pytest.raises(IntakeError, match="inside a quoted cell of row 2"):
        import_cellar(desk, str(file))


NAMES = st.text(
    st.characters(min_codepoint=32, max_codepoint=0x24F, exclude_categories=("Cc", "Cf")),
    min_size=1,
    max_size=30,
).filter(lambda text: any(one.isalnum() for one in text))
STOCK = st.builds(
    StockRow,
    text=NAMES.map(lambda text: " ".join(text.split())).filter(bool),
    wine=st.sampled_from(["chardonnay-chablis", "cortese-gavi"]),
    vintage=st.integers(1900, 2026),
    price=st.none() | st.integers(0, 10**6).map(lambda cents: cents / 100),
    bottles=st.integers(0, 99),
    note=NAMES.map(lambda text: " ".join(text.split())) | st.just(""),
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40)
@given(st.lists(STOCK, max_size=5, unique_by=lambda row: row.text.casefold()))
def test_an_exported_cellar_taken_in_again_is_the_same(
    desk: Desk, tmp_path: Path, stock: list[StockRow]
) -> None:
    repository, me = desk.repository, desk.taster.id
    gone = [row.id for row in repository.stock(me) if row.id is not None]
    repository.change_stock(me, "drawn", stock, gone)
    file = tmp_path / "cellar.csv"
    assert export_cellar(desk, str(file), overwrite=True) == len(stock)
    before = cellar(desk)
    found = import_cellar(desk, str(file))
    assert (found.new, found.changed, found.same) == (0, 0, len(stock))
    assert found.rejected == ()
    assert cellar(desk) == before
