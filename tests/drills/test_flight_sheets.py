"""The sheets: the key for the helper, a blank one for each taster, on paper and as a table."""

from __future__ import annotations

import csv
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from drills.errors import NotPossibleError
from drills.pouring.sheets import (
    KeyRow,
    OrderRow,
    Paper,
    ShoppingRow,
    key_page,
    shopping_page,
    taster_page,
)
from drills.service import flight_sheets
from drills.service.desk import Desk
from drills.service.flight_sheets import NoBrowser, WrittenSheets, write_sheets
from drills.service.flight_showing import Asked
from drills.service.planned_flights import find_record, look
from drills.service.pouring import plan
from drills.service.writing import WriteError
from drills.storage.planned_records import StockRow
from drills.tastings.columns import find_columns
from tests.desks import mix_up

CHROMIUM = next(filter(None, map(shutil.which, flight_sheets.BROWSERS)), None)
MARKUP = '<b>"Ada" & [bold]Co[/]</b>'


@pytest.fixture
def desk(open_desk: Callable[[], Desk]) -> Desk:
    desk = open_desk()
    mix_up(desk, "sauvignon-sancerre", "sauvignon-marlborough", times=2)
    desk.repository.change_stock(
        desk.taster.id, "list", [StockRow("=Sancerre", "sauvignon-sancerre", 2022, 20.0, 1)]
    )
    plan(desk, Asked(bottles=4, decoys=1, tasters=("Ada", MARKUP), seed=2))
    return desk


@pytest.fixture
def written(desk: Desk, tmp_path: Path) -> WrittenSheets:
    return write_sheets(desk, None, str(tmp_path / "sheets"))


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as stream:
        return list(csv.DictReader(stream))


def test_every_sheet_is_written_and_named_for_whom_it_is(written: WrittenSheets) -> None:
    assert [path.name for path in written.helper] == [
        "flight-1-helper-key.html",
        "flight-1-helper-key.csv",
        "flight-1-helper-shopping.html",
        "flight-1-helper-shopping.csv",
    ]
    assert [path.name for path in written.tasters] == [
        "flight-1-taster-ada.html",
        "flight-1-taster-ada.csv",
        "flight-1-taster-b-ada-bold-co-b.html",
        "flight-1-taster-b-ada-bold-co-b.csv",
    ]
    assert all(path.stat().st_size for path in (*written.helper, *written.tasters))


def test_the_key_says_what_is_in_each_glass_and_who_gets_it_when(
    desk: Desk, written: WrittenSheets
) -> None:
    flight = look(find_record(desk), unsealed=True)
    table = {int(row["code"]): row for row in rows(written.helper[1])}
    page = written.helper[0].read_text(encoding="utf-8")
    for glass in flight.glasses:
        assert glass.contents is not None
        row = table[glass.code]
        assert row["key"] == glass.contents.wine
        assert row["why"] == glass.contents.sentence
        assert row["place for Ada"] == str(glass.places["Ada"].position)
        assert f">{glass.code}<" in page
    assert flight.coverage.balance
    assert flight.coverage.balance in page
    owned = next(row for row in table.values() if row["bottle"] == "cellar")
    # No spreadsheet may run a name.
    assert owned["wine"] == "'=Sancerre"


def test_the_shopping_list_tells_what_to_buy_and_what_is_there(written: WrittenSheets) -> None:
    bottles = rows(written.helper[3])
    assert [row["from"] for row in bottles] == ["shop"] * 3 + ["cellar"]
    assert (bottles[-1]["price"], bottles[-1]["wine"]) == ("20.00", "'=Sancerre 2022")
    assert all(row["what to look for"] for row in bottles)


def test_no_sheet_of_a_taster_names_a_wine(desk: Desk, written: WrittenSheets) -> None:
    flight = look(find_record(desk), unsealed=True)
    for path in written.tasters:
        said = path.read_text(encoding="utf-8")
        for glass in flight.glasses:
            assert glass.contents is not None
            assert str(glass.code) in said
            assert glass.contents.wine not in said
            assert glass.contents.text not in said


def test_a_blank_table_has_the_columns_that_the_intake_reads(written: WrittenSheets) -> None:
    table = rows(written.tasters[1])
    columns = find_columns(list(table[0]))
    assert columns.warnings == ()
    assert columns.complete
    assert len(columns.at) == len(table[0])
    assert "was" not in columns.at
    assert {row["flight number"] for row in table} == {"1"}
    assert [row["pour"] for row in table] == ["1", "2", "3", "4"]
    filled = {name for row in table for name, cell in row.items() if cell}
    assert filled == {"flight number", "code", "flight", "pour"}


def test_pages_stand_alone_and_hold_the_cautions(written: WrittenSheets) -> None:
    for path in (*written.helper, *written.tasters):
        if path.suffix != ".html":
            continue
        page = path.read_text(encoding="utf-8")
        assert "default-src 'none'" in page
        assert not re.search(r"<script|<link|<img|url\(|https?://|@import", page)
        assert "Spitting does not make driving safe" in page
        assert "sulphites" in page
        assert MARKUP not in page


def test_text_is_never_markup_on_any_sheet() -> None:
    pages = [
        key_page(MARKUP, [KeyRow(208, MARKUP, MARKUP, MARKUP)], [OrderRow(MARKUP, [[208]])]),
        shopping_page(MARKUP, [ShoppingRow(MARKUP, MARKUP, MARKUP, owned=True)]),
        taster_page(MARKUP, MARKUP, [[208], [371]]),
    ]
    for page in pages:
        assert MARKUP not in page
        assert "&lt;b&gt;&quot;Ada&quot; &amp; [bold]Co[/]&lt;/b&gt;" in page


def test_there_is_a_label_for_every_glass_of_every_taster() -> None:
    keys = [KeyRow(code, "wine", "cellar", "why") for code in (371, 208)]
    orders = [OrderRow("Ada", [[208], [371]]), OrderRow("Ben", [[371]])]
    labels = re.findall(r"<div>(\d{3})</div>", key_page("Flight 1", keys, orders))
    assert labels == ["208", "371", "371"]


def test_a_later_sitting_begins_a_page_of_its_own() -> None:
    page = taster_page("Flight 1", "Ada", [[208], [371], [514]])
    assert re.findall(r"<h2( class=\"begins\")?>Sitting", page) == [
        "",
        *[' class="begins"'] * 2,
    ]
    assert ".begins { break-before: page; }" in page


def test_paper_is_the_printers_unless_one_is_said() -> None:
    assert " size:" not in taster_page("Flight 1", "Ada", [[208]])
    assert "size: A4;" in taster_page("Flight 1", "Ada", [[208]], "a4")
    assert "size: letter;" in taster_page("Flight 1", "Ada", [[208]], "letter")


def test_a_file_that_is_there_is_left_unless_it_is_to_be_written_over(
    desk: Desk, written: WrittenSheets
) -> None:
    kept = written.tasters[0]
    kept.write_text("filled in", encoding="utf-8")
    before = {path: path.read_bytes() for path in written.folder.iterdir()}
    with pytest.raises(WriteError, match="is there already; --force"):
        write_sheets(desk, 1, str(written.folder))
    assert {path: path.read_bytes() for path in written.folder.iterdir()} == before
    write_sheets(desk, 1, str(written.folder), overwrite=True)
    assert kept.read_text(encoding="utf-8") != "filled in"


def test_for_tasters_alone_nothing_is_written_that_names_a_wine(desk: Desk, tmp_path: Path) -> None:
    found = write_sheets(desk, 1, str(tmp_path / "mine"), only_tasters=True)
    assert found.helper == ()
    assert len(list((tmp_path / "mine").iterdir())) == len(found.tasters) == 4


def test_what_cannot_be_written_is_said(
    desk: Desk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(WriteError, match="cannot be made"):
        write_sheets(desk, 1, str(tmp_path / "file" / "below"))
    with pytest.raises(NotPossibleError, match="no planned flight 7"):
        write_sheets(desk, 7, str(tmp_path))
    monkeypatch.setattr(shutil, "which", lambda _: None)
    with pytest.raises(NoBrowser, match="none is installed; without --pdf"):
        write_sheets(desk, 1, str(tmp_path / "none"), pdf=True)
    assert not (tmp_path / "none").exists()


@pytest.mark.skipif(
    CHROMIUM is None,
    reason="NOT CHECKED: no Chromium is installed, so no sheet was printed by a browser",
)
@pytest.mark.parametrize(("paper", "box"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_a_browser_prints_the_sheets_on_either_paper(
    desk: Desk, tmp_path: Path, paper: Paper, box: tuple[int, int]
) -> None:
    found = write_sheets(desk, 1, str(tmp_path), pdf=True, paper=paper, only_tasters=True)
    printed = [path for path in found.tasters if path.suffix == ".pdf"]
    assert len(printed) == 2
    for path in printed:
        content = path.read_bytes()
        assert content.startswith(b"%PDF-")
        sizes = {
            tuple(round(float(one)) for one in match.split()[2:])
            for match in re.findall(rb"/MediaBox\s*\[([^\]]*)\]", content)
        }
        assert sizes == {box}
        # Four glasses and the cautions.
        assert len(re.findall(rb"/Type\s*/Page[^s]", content)) == 2
