"""What tests of the table as a sheet share: its rows, rows changed, what is read of them."""

from __future__ import annotations

import csv
import io

from cards.facts import Change
from cards.spreadsheet.changes import changes_of
from cards.spreadsheet.reading import Sheet, read_sheet
from cards.tables import Table

WINE = "sauvignon-sancerre"
Rows = list[list[str]]


def rows_of(text: str, delimiter: str = ",") -> Rows:
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))


def text_of(rows: Rows, delimiter: str = ",", quoting: int = csv.QUOTE_MINIMAL) -> str:
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter, quoting=quoting, lineterminator="\r\n").writerows(rows)  # type: ignore[arg-type]
    return text.getvalue()


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
