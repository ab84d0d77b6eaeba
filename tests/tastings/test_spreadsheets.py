"""Spreadsheets: the right sheet, values as saved, merged cells, dates and numbers as such."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from drills.errors import IntakeError
from drills.tastings import packed as reading
from drills.tastings.drafts import IntakeDraft
from drills.tastings.intake import read_intake
from tests.tastings.making import (
    Cell,
    merged,
    ods,
    ods_cell,
    ods_parts,
    ods_row,
    packed,
    xlsx,
    xlsx_parts,
    xlsx_sheet,
)
from tests.tastings.reading_lists import FewNames

DAY = date(2025, 5, 3)
Read = Callable[[bytes, str], IntakeDraft]
Make = Callable[..., bytes]
BOTH = pytest.mark.parametrize(("make", "name"), [(xlsx, "a.xlsx"), (ods, "a.ods")])


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Write a file and read it."""

    def reading(content: bytes, name: str = "list.xlsx") -> IntakeDraft:
        file = tmp_path / name
        file.write_bytes(content)
        return read_intake(file, FewNames())

    return reading


ROWS: list[list[Cell]] = [
    ["date", "called", "was", "alcohol % vol", "acid", "petrol"],
    [DAY, "Chablis", "Sancerre", 13.5, 4, True],
    [DAY, "Sancerre", "Chablis", 13, "med+", None],
]


@BOTH
def test_dates_numbers_and_truths_are_read_as_such(read: Read, make: Make, name: str) -> None:
    draft = read(make(ROWS), name)
    assert [pour.date for pour in draft.pours] == [DAY, DAY]
    assert [pour.row for pour in draft.pours] == [2, 3]
    first = draft.pours[0].full
    assert first is not None
    assert first.note.readings["alcohol"] == 13.5
    assert first.note.readings["acid"].label == "med+"  # type: ignore[union-attr]
    assert not draft.rejected


@BOTH
def test_the_first_sheet_with_both_columns_is_read_and_the_others_named(
    read: Read, make: Make, name: str
) -> None:
    draft = read(make([["my tastings"]], [["wine", "price"]], ROWS, ROWS), name)
    assert len(draft.pours) == 2
    assert any("read from sheet “Sheet3”" in one for one in draft.warnings)
    assert any("“Sheet4” was not read" in one for one in draft.warnings)


@BOTH
def test_headings_below_a_title_and_an_empty_margin(read: Read, make: Make, name: str) -> None:
    rows: list[list[Cell]] = [["Spring"], [], [None, *ROWS[0]], [None, *ROWS[1]]]
    assert [pour.row for pour in read(make(rows), name).pours] == [4]


@BOTH
def test_a_workbook_without_both_columns_says_what_it_found(
    read: Read, make: Make, name: str
) -> None:
    with pytest.raises(IntakeError, match=r"no column “was”.*“called”, “score”"):
        read(make([["called", "score"], ["Chablis", 17]]), name)


@BOTH
def test_a_number_in_the_column_of_dates_is_a_date(read: Read, make: Make, name: str) -> None:
    draft = read(make([["date", "called", "was"], [45780, "Chablis", "Sancerre"]]), name)
    assert draft.pours[0].date == DAY
    draft = read(make([["date", "called", "was"], [17, "Chablis", "Sancerre"]]), name)
    assert "“17” is no date" in draft.rejected[0].reason


@BOTH
def test_a_workbook_and_its_csv_are_the_same_pours(read: Read, make: Make, name: str) -> None:
    csv = "date,called,was\n3.5.2025,Chablis,Sancerre\n3.5.2025,Sancerre,Chablis\n"
    prints = [pour.fingerprint for pour in read(csv.encode(), "a.csv").pours]
    assert [
        pour.fingerprint for pour in read(make([row[:3] for row in ROWS]), name).pours
    ] == prints


def test_a_formula_counts_by_its_saved_value(read: Read) -> None:
    rows: list[list[Cell]] = [
        ["called", "was"],
        ['="Cha"&"blis"|Chablis', "Sancerre"],
        ["=A2", "Sancerre"],
    ]
    draft = read(xlsx(rows))
    assert [pour.called.text for pour in draft.pours] == ["Chablis"]
    assert [(one.row, one.column) for one in draft.rejected] == [(3, "called")]


def test_merged_dates_and_flights_hold_for_all_their_rows(read: Read) -> None:
    rows: list[list[Cell]] = [
        ["date", "flight", "called", "was", "note"],
        [DAY, "Tuesday", "Chablis", "Sancerre", "dry"],
        [None, None, "Sancerre", "Chablis"],
        [None, None, "Sancerre", "Sancerre"],
        [None, None, "Chablis", "Chablis"],
    ]
    draft = read(xlsx(rows, extra=merged("A2:A4", "B2:B3", "E2:E4")))
    assert [(pour.date, pour.flight) for pour in draft.pours] == [
        (DAY, "Tuesday"),
        (DAY, "Tuesday"),
        (DAY, ""),
        (None, ""),
    ]
    # A remark in merged cells is the first row's own.
    assert [pour.note for pour in draft.pours] == ["dry", "", "", ""]
    assert any("merged" in warning for warning in draft.warnings)


def test_spanned_cells_of_an_open_document_are_filled_as_blocks(read: Read) -> None:
    spanned = ods_cell(DAY, 'table:number-rows-spanned="2"')
    rows = [
        ods_row(*map(ods_cell, ["date", "called", "was"])),
        ods_row(spanned, ods_cell("Chablis"), ods_cell("Sancerre")),
        ods_row("<table:covered-table-cell/>", ods_cell("Sancerre"), ods_cell("Chablis")),
    ]
    draft = read(packed(ods_parts({"S": "".join(rows)})), "a.ods")
    assert [pour.date for pour in draft.pours] == [DAY, DAY]
    assert any("took those above" in warning for warning in draft.warnings)


def test_a_renamed_workbook_is_still_one(read: Read) -> None:
    assert len(read(xlsx(ROWS), "list.csv").pours) == 2


def test_a_share_is_per_cent_of_alcohol(read: Read) -> None:
    rows: list[list[Cell]] = [["called", "was", "alcohol", "abv"], ["x", "y", 0.135, 0.14]]
    (pour,) = read(xlsx(rows)).pours
    assert pour.full is not None
    assert (pour.full.note.readings["alcohol"], pour.full.label_alcohol) == (13.5, 14.0)


# Workbooks that would take too much room


def test_a_bomb_is_refused_by_its_real_size(read: Read, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "LARGEST_UNPACKED", 2_000_000)
    parts = xlsx_parts({"S": xlsx_sheet(ROWS)}) | {"xl/media/zeros.bin": bytes(3_000_000)}
    bomb = packed(parts)
    assert len(bomb) < 20_000
    with pytest.raises(IntakeError, match="unpacks to more than"):
        read(bomb, "a.xlsx")


def test_a_bomb_that_lies_about_its_size_is_refused(read: Read) -> None:
    bomb = bytearray(packed(xlsx_parts({"S": xlsx_sheet(ROWS)}) | {"big.bin": bytes(5_000_000)}))
    # The size that the directory and the part itself declare: a thousandth of what is in it.
    for place in (bomb.find(b"big.bin") - 8, bomb.rfind(b"big.bin") - 22):
        assert int.from_bytes(bomb[place : place + 4], "little") == 5_000_000
        bomb[place : place + 4] = (5_000).to_bytes(4, "little")
    with pytest.raises(IntakeError, match="damaged"):
        read(bytes(bomb), "a.xlsx")


def test_two_cells_at_the_ends_of_a_sheet_take_no_room_for_all_between(read: Read) -> None:
    sheet = xlsx_sheet(ROWS).replace(
        "</sheetData>",
        '<row r="1048576"><c r="XFD1048576" t="inlineStr"><is><t>x</t></is></c></row></sheetData>',
    )
    with pytest.raises(IntakeError, match="spread over"):
        read(packed(xlsx_parts({"S": sheet})), "a.xlsx")


@pytest.mark.parametrize("place", ["A1048577", "XFE1"])
def test_a_cell_beyond_the_last_that_a_sheet_has_is_refused(read: Read, place: str) -> None:
    cell = f'<c r="{place}" t="inlineStr"><is><t>x</t></is></c>'
    number = "".join(sign for sign in place if sign.isdecimal())
    sheet = xlsx_sheet(ROWS[:1]).replace(
        "</sheetData>", f'<row r="{number}">{cell}</row></sheetData>'
    )
    with pytest.raises(IntakeError, match="larger than any program makes"):
        read(packed(xlsx_parts({"S": sheet})), "a.xlsx")


def test_a_formatted_but_empty_sheet_takes_no_room(read: Read) -> None:
    sheet = xlsx_sheet(ROWS).replace(
        "</sheetData>", '<row r="1048576"><c r="XFD1048576" s="1"/></row></sheetData>'
    )
    assert len(read(packed(xlsx_parts({"S": sheet})), "a.xlsx").pours) == 2


def test_repeated_cells_of_an_open_document_take_no_room(read: Read) -> None:
    head = ods_row(*map(ods_cell, ["called", "was"]))
    full = ods_cell("x", 'table:number-columns-repeated="16000"')
    bomb = ods_row(full, attributes='table:number-rows-repeated="1000000"')
    with pytest.raises(IntakeError, match="spread over"):
        read(packed(ods_parts({"S": head + bomb})), "a.ods")
    # As every open document ends: empty rows and columns, repeated to the end of the sheet.
    tail = ods_row(
        ods_cell(None, 'table:number-columns-repeated="16384"'),
        attributes='table:number-rows-repeated="1048574"',
    )
    pour = ods_row(*map(ods_cell, ["Chablis", "Sancerre"]))
    assert len(read(packed(ods_parts({"S": head + pour + tail})), "a.ods").pours) == 1


def test_entities_are_not_expanded(read: Read) -> None:
    laughs = "".join(
        f'<!ENTITY l{n} "{"".join(f"&l{n - 1};" for _ in range(10))}">' for n in range(1, 9)
    )
    parts = ods_parts({"S": ods_row(ods_cell("called"), ods_cell("was"))})
    content = str(parts["content.xml"])
    head, _, rest = content.partition("\n")
    parts["content.xml"] = f'{head}<!DOCTYPE x [<!ENTITY l0 "ha">{laughs}]>{rest}'
    with pytest.raises(IntakeError, match="entities"):
        read(packed(parts), "a.ods")
