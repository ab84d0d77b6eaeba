"""Spreadsheet files, put together by hand, so that each can be as odd as a test needs."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence
from datetime import date
from xml.sax.saxutils import escape

Cell = str | float | bool | date | None
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_ODF = "urn:oasis:names:tc:opendocument:xmlns"
_SERIAL_ZERO = date(1899, 12, 30)
HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'


def packed(parts: Mapping[str, str | bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A packed file of these parts."""
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w", method) as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    return content.getvalue()


def letters(column: int) -> str:
    """A column's letters, from 0: A, B, ... AA."""
    found = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        found = chr(65 + rest) + found
    return found


def xlsx_sheet(rows: Sequence[Sequence[Cell]], extra: str = "") -> str:
    """The XML of a sheet; a text that begins with “=” is a formula, its saved value behind “|”."""
    body = []
    for number, row in enumerate(rows, 1):
        cells = []
        for column, cell in enumerate(row):
            place = f"{letters(column)}{number}"
            match cell:
                case None:
                    continue
                case bool():
                    cells.append(f'<c r="{place}" t="b"><v>{int(cell)}</v></c>')
                case int() | float():
                    cells.append(f'<c r="{place}"><v>{cell!r}</v></c>')
                case date():
                    serial = (cell - _SERIAL_ZERO).days
                    cells.append(f'<c r="{place}" s="1"><v>{serial}</v></c>')
                case str() if cell.startswith("="):
                    formula, _, value = cell[1:].partition("|")
                    saved = f"<v>{escape(value)}</v>" if value else ""
                    cells.append(f'<c r="{place}" t="str"><f>{escape(formula)}</f>{saved}</c>')
                case str():
                    text = f'<t xml:space="preserve">{escape(cell)}</t>'
                    cells.append(f'<c r="{place}" t="inlineStr"><is>{text}</is></c>')
        body.append(f'<row r="{number}">{"".join(cells)}</row>')
    return (
        f'{HEAD}<worksheet xmlns="{MAIN}"><sheetData>{"".join(body)}</sheetData>{extra}</worksheet>'
    )


def merged(*ranges: str) -> str:
    """Merged ranges, for the end of a sheet: “A2:A4”."""
    cells = "".join(f'<mergeCell ref="{one}"/>' for one in ranges)
    return f'<mergeCells count="{len(ranges)}">{cells}</mergeCells>'


def xlsx_parts(sheets: Mapping[str, str]) -> dict[str, str | bytes]:
    """The parts of a workbook whose sheets are given as XML."""
    numbered = list(enumerate(sheets.items(), 1))
    relations = f"{_PACKAGE}/relationships"
    kinds = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    parts: dict[str, str | bytes] = {
        "[Content_Types].xml": f'{HEAD}<Types xmlns="{_PACKAGE}/content-types">'
        '<Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{kinds}.sheet.main+xml"/>'
        + "".join(
            f'<Override PartName="/xl/worksheets/sheet{number}.xml" '
            f'ContentType="{kinds}.worksheet+xml"/>'
            for number, _ in numbered
        )
        + f'<Override PartName="/xl/styles.xml" ContentType="{kinds}.styles+xml"/></Types>',
        "_rels/.rels": f'{HEAD}<Relationships xmlns="{relations}"><Relationship Id="rId1" '
        f'Type="{_OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'{HEAD}<workbook xmlns="{MAIN}" xmlns:r="{_OFFICE}"><sheets>'
        + "".join(
            f'<sheet name="{escape(name)}" sheetId="{number}" r:id="rId{number}"/>'
            for number, (name, _) in numbered
        )
        + "</sheets></workbook>",
        "xl/_rels/workbook.xml.rels": f'{HEAD}<Relationships xmlns="{relations}">'
        + "".join(
            f'<Relationship Id="rId{number}" Type="{_OFFICE}/worksheet" '
            f'Target="worksheets/sheet{number}.xml"/>'
            for number, _ in numbered
        )
        + f'<Relationship Id="rId999" Type="{_OFFICE}/styles" Target="styles.xml"/>'
        "</Relationships>",
        # Style 1 is a date.
        "xl/styles.xml": f'{HEAD}<styleSheet xmlns="{MAIN}"><cellXfs count="2">'
        '<xf numFmtId="0"/><xf numFmtId="14" applyNumberFormat="1"/></cellXfs></styleSheet>',
    }
    for number, (_, xml) in numbered:
        parts[f"xl/worksheets/sheet{number}.xml"] = xml
    return parts


def xlsx(*sheets: Sequence[Sequence[Cell]], extra: str = "") -> bytes:
    """A workbook of these sheets; `extra` goes to the end of the first."""
    return packed(
        xlsx_parts(
            {
                f"Sheet{number}": xlsx_sheet(rows, extra if number == 1 else "")
                for number, rows in enumerate(sheets, 1)
            }
        )
    )


def ods_cell(cell: Cell, attributes: str = "") -> str:
    """The XML of one cell."""
    match cell:
        case None:
            return f"<table:table-cell {attributes}/>"
        case bool():
            said = f'office:value-type="boolean" office:boolean-value="{str(cell).lower()}"'
        case int() | float():
            said = f'office:value-type="float" office:value="{cell!r}"'
        case date():
            said = f'office:value-type="date" office:date-value="{cell.isoformat()}"'
        case str():
            said = 'office:value-type="string"'
    text = "".join(f"<text:p>{escape(line)}</text:p>" for line in str(cell).split("\n"))
    return f"<table:table-cell {said} {attributes}>{text}</table:table-cell>"


def ods_row(*cells: str, attributes: str = "") -> str:
    """The XML of one row."""
    return f"<table:table-row {attributes}>{''.join(cells)}</table:table-row>"


def ods_parts(tables: Mapping[str, str]) -> dict[str, str | bytes]:
    """The parts of an open document whose tables are given as XML."""
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    names = " ".join(f'xmlns:{name}="{_ODF}:{name}:1.0"' for name in ("office", "table", "text"))
    body = "".join(
        f'<table:table table:name="{escape(name)}">{xml}</table:table>'
        for name, xml in tables.items()
    )
    return {
        "mimetype": kind,
        "META-INF/manifest.xml": f'{HEAD}<manifest:manifest xmlns:manifest="{_ODF}:manifest:1.0">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
        "</manifest:manifest>",
        "content.xml": f"{HEAD}<office:document-content {names}><office:body><office:spreadsheet>"
        f"{body}</office:spreadsheet></office:body></office:document-content>",
    }


def ods(*sheets: Sequence[Sequence[Cell]]) -> bytes:
    """An open document of these sheets."""
    return packed(
        ods_parts(
            {
                f"Sheet{number}": "".join(ods_row(*map(ods_cell, row)) for row in rows)
                for number, rows in enumerate(sheets, 1)
            }
        )
    )
