"""Files as nobody wants them: damaged, odd, hostile. Each with what has to become of it."""

from __future__ import annotations

import gzip
import json
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date

from tests.tastings.making import (
    MAIN,
    merged,
    ods_cell,
    ods_parts,
    ods_row,
    packed,
    xlsx,
    xlsx_parts,
    xlsx_sheet,
)

MEGABYTE = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Becomes:
    """So many pours are kept, so many rows left out; or the file is refused with these words."""

    kept: int = 0
    left_out: int = 0
    refused: str = ""
    waiting: int | None = None


@dataclass(frozen=True, slots=True)
class Nasty:
    """A file: its name, its bytes (made when asked for), and what has to become of it."""

    file: str
    content: Callable[[], bytes]
    becomes: Becomes


ONE = b"called,was\nChablis,Sancerre\n"
ROW = "Chablis,Sancerre\n"
GOOD: list[list[str | float | bool | date | None]] = [["called", "was"], ["Chablis", "Sancerre"]]
ACCENTS = "called,was,note\nRosé d'Anjou,Château-Grillet,crème brûlée\n"


def kept(pours: int = 1, left_out: int = 0, waiting: int | None = None) -> Becomes:
    return Becomes(pours, left_out, waiting=waiting)


def refused(words: str) -> Becomes:
    return Becomes(refused=words)


def text(content: str, encoding: str = "utf-8") -> Callable[[], bytes]:
    return lambda: content.encode(encoding, "surrogatepass")


def raw(content: bytes) -> Callable[[], bytes]:
    return lambda: content


def table(*rows: str, head: str = "called,was") -> Callable[[], bytes]:
    return text("\n".join((head, *rows)) + "\n")


ENCODINGS: Mapping[str, Nasty] = {
    "a mark of UTF-8": Nasty("a.csv", text("\ufeff" + ACCENTS), kept()),
    "two marks of UTF-8": Nasty("a.csv", text("\ufeff\ufeff" + ACCENTS), kept()),
    "a mark between rows": Nasty("a.csv", text(f"called,was\n\ufeff{ROW}"), kept()),
    "UTF-16, little end first": Nasty("a.csv", text("\ufeff" + ACCENTS, "utf-16-le"), kept()),
    "UTF-16, big end first": Nasty("a.csv", text("\ufeff" + ACCENTS, "utf-16-be"), kept()),
    "UTF-32": Nasty("a.csv", text("\ufeff" + ACCENTS, "utf-32-le"), kept()),
    "UTF-16 without a mark": Nasty("a.csv", text(ACCENTS, "utf-16-le"), refused("no text")),
    "UTF-16 that breaks off": Nasty(
        "a.csv", raw(("\ufeff" + ACCENTS).encode("utf-16-le")[:-1]), refused("damaged")
    ),
    "Windows, western": Nasty("a.csv", text(ACCENTS, "cp1252"), kept()),
    "an old Macintosh": Nasty("a.csv", text(ACCENTS, "mac-roman"), kept()),
    "Japanese of another age": Nasty(
        "a.csv", text("called,was\nシャブリ,サンセール\n", "shift-jis"), kept(waiting=2)
    ),
    "a mainframe": Nasty("a.csv", text(ACCENTS, "cp500"), refused("")),
    "damaged letters": Nasty(
        "a.csv", raw(ACCENTS.encode() * 3 + b"Ros\xe9,Sancerre\n"), kept(4, 2)
    ),
    "halves of surrogate pairs": Nasty("a.csv", text("called,was\nCha\ud800blis,x\n"), kept()),
    "only a mark": Nasty("a.csv", raw(b"\xef\xbb\xbf"), refused("empty")),
    "nothing at all": Nasty("a.csv", raw(b""), refused("empty")),
    "nothing but blanks": Nasty("a.csv", raw(b" \r\n\t\n"), refused("empty")),
}

LINES: Mapping[str, Nasty] = {
    "carriage returns alone": Nasty("a.csv", raw(ONE.replace(b"\n", b"\r")), kept()),
    "every end of a line": Nasty(
        "a.csv", raw(b"called,was\r\nChablis,Sancerre\rChablis,x\nChablis,y"), kept(3)
    ),
    "ends that no program shows": Nasty(
        "a.csv", text("called,was,note\nChablis,Sancerre,one\u2028two\u0085three\x0bfour\n"), kept()
    ),
    "the end mark of an old system": Nasty("a.csv", raw(ONE + b"\x1a"), kept(1, 0)),
    "zeros between letters": Nasty(
        "a.csv", raw(ONE * 3 + b"Cha\x00blis,Sanc\x00erre\n"), kept(4, 2)
    ),
    "mostly zeros": Nasty("a.csv", raw(b"called,was\n" + bytes(500)), refused("no text")),
    "a line of 50 MB": Nasty(
        "a.csv", lambda: ONE + b"x" * (50 * MEGABYTE), refused("characters in line 3")
    ),
    "a quoted cell of 50 MB": Nasty(
        "a.csv",
        lambda: ONE + b'"' + b"xyz, lemon\n" * (5 * MEGABYTE) + b'",y\n',
        refused("more than 1,000,000 characters"),
    ),
    "a cell of a million characters": Nasty(
        "a.csv", lambda: b"called,was,note\nChablis,Sancerre," + b"x" * 999_999 + b"\n", kept()
    ),
    "a hundred thousand empty cells": Nasty(
        "a.csv", lambda: ONE + b"Chablis,Sancerre" + b"," * 100_000 + b"\n", kept(2)
    ),
    "a hundred thousand cells": Nasty(
        "a.csv", lambda: ONE + b"Chablis,Sancerre" + b",x" * 100_000 + b"\n", kept(1, 1)
    ),
    "ten thousand headings": Nasty(
        "a.csv",
        lambda: (
            ",".join(("called", "was", *(f"h{n}" for n in range(10_000)))) + "\n" + ROW
        ).encode(),
        kept(),
    ),
}

STRUCTURE: Mapping[str, Nasty] = {
    "empty rows everywhere": Nasty(
        "a.csv", text(f"\n\ncalled,was\n\n,\n , \n{ROW}\n,,,\n"), kept()
    ),
    "no headings": Nasty("a.csv", text(ROW * 3), refused("no column")),
    "headings alone": Nasty("a.csv", text("called,was\n"), kept(0)),
    "headings below a title": Nasty("a.csv", text("My\n\n2025\n\n" + ONE.decode()), kept()),
    "headings too far down": Nasty("a.csv", text("x\n" * 25 + ONE.decode()), refused("no column")),
    "two columns of one name": Nasty(
        "a.csv", table("Chablis,Barolo,Sancerre", head="called,called,was"), kept()
    ),
    "a column named twice in other words": Nasty(
        "a.csv", table("Chablis,Barolo,Sancerre", head="verdict,called,was"), kept()
    ),
    "headings with blanks of every width": Nasty(
        "a.csv", table("Chablis,Sancerre", head="\u00a0Called\u2009,\u200bW\u200das\u3000"), kept()
    ),
    "headings without end": Nasty(
        "a.csv", table("x,y", head="called," + "w" * 90_000), refused("")
    ),
    "a heading that never closes": Nasty("a.csv", text('"called,was\nx,y\n'), refused("row 1")),
    "a quote that never closes": Nasty("a.csv", text(f'called,was\n{ROW}"x,y\n'), refused("row 3")),
    "quotes inside words": Nasty("a.csv", table('6" of mud,"the ""best"" one"'), kept()),
    "text behind a quoted cell": Nasty("a.csv", table('"Chablis"x,Sancerre'), kept()),
    "cells of many lines": Nasty("a.csv", table('"Cha\n\nblis",Sancerre', ROW.strip()), kept(2)),
    "short and long rows": Nasty("a.csv", table("Chablis", ROW.strip(), "x,y,z"), kept(1, 2)),
    "a separator of its own": Nasty("a.csv", text("sep=^\ncalled^was\nChablis^Sancerre\n"), kept()),
    "a quote for a separator": Nasty("a.csv", text('sep="\n' + ONE.decode()), kept()),
    "tabs in a file of commas": Nasty("a.csv", text("called\twas\nChablis\tSancerre\n"), kept()),
    "bars": Nasty("a.tsv", text("called|was\nChablis|Sancerre\n"), kept()),
    "semicolons and decimal commas": Nasty(
        "a.csv", text("called;was;alcohol;price\nx;y;13,5;1.234,50\n"), kept()
    ),
    "commas that were never quoted": Nasty(
        "a.csv", table("Sauvignon Blanc, Loire,Sancerre"), kept(0, 1)
    ),
    "a page of HTML": Nasty("a.csv", text("<html><body>called,was</body></html>"), refused("")),
    "a program": Nasty("a.csv", text("#!/bin/sh\nrm -rf tastings\n"), refused("no column")),
}

CONTENT: Mapping[str, Nasty] = {
    "days that could be months": Nasty(
        "a.csv", table("3/5/2025,x,y", "4/5/2025,x,y", head="date,called,was"), kept(0, 2)
    ),
    "days that never were": Nasty(
        "a.csv",
        table("31.2.2025,x,y", "2025-13-01,x,y", "0000-00-00,x,y", head="date,called,was"),
        kept(0, 3),
    ),
    "dates as numbers": Nasty(
        "a.csv", table("45780,x,y", "45781.5,x,y", head="date,called,was"), kept(2)
    ),
    "both orders of dates": Nasty(
        "a.csv",
        table("13/5/2025,x,y", "5/13/2025,x,y", "3/5/2025,x,y", head="date,called,was"),
        kept(2, 1),
    ),
    "markup": Nasty("a.csv", table("[bold red]Chablis[/],[link=x]y[/nope]"), kept(waiting=2)),
    "tags": Nasty("a.csv", table("<script>alert(1)</script>,<b>y"), kept(waiting=2)),
    "colours of a terminal": Nasty("a.csv", table("\x1b[31mChablis\x1b[0m,\x9b2JSancerre"), kept()),
    "bells and backspaces": Nasty(
        "a.csv", table(*[ROW.strip()] * 3, "Cha\x08\x07blis,Sancerre\x7f"), kept(4, waiting=0)
    ),
    "letters that turn the writing round": Nasty(
        "a.csv", table("\u202eChablis\u202c,\u2067Sancerre\u2069"), kept(waiting=0)
    ),
    "letters that cannot be seen": Nasty(
        "a.csv", table("Cha\u200bb\u00adlis,\ufeffSan\u2060cerre\U000e0041"), kept(waiting=0)
    ),
    "towers of accents": Nasty("a.csv", table("C" + "\u0301" * 200 + "hablis,Sancerre"), kept()),
    "faces and flags": Nasty("a.csv", table("🍷🇫🇷 Chablis,👩‍🌾 Sancerre"), kept()),
    "right to left": Nasty("a.csv", table("שאבלי,سانسير"), kept(waiting=2)),
    "formulas": Nasty("a.csv", table("=1+1,+cmd|'/C calc'!A0", "@SUM(A1),-2+3"), kept(2)),
    "a database's own language": Nasty("a.csv", table("x'; DROP TABLE pour; --,y"), kept()),
    "paths": Nasty("a.csv", table("../../etc/passwd,C:\\con\\con"), kept()),
    "a novel for a name": Nasty("a.csv", table("x" * 501 + ",y"), kept(0, 1)),
    "nothing but punctuation": Nasty("a.csv", table("...,---", "?,n/a"), kept(0, 2)),
    "errors of a spreadsheet": Nasty("a.csv", table("#N/A,Sancerre", "Chablis,#REF!"), kept(0, 2)),
    "numbers for names": Nasty("a.csv", table("12345,67890"), kept(waiting=2)),
    "places that are none": Nasty(
        "a.csv", table("-1,x,y", "1e9,x,y", "half,x,y", head="pour,called,was"), kept(3)
    ),
    "levels out of all bounds": Nasty(
        "a.csv",
        table("x,y,99,-5,1e999,2.5", head="called,was,acid,alcohol,seconds,sureness"),
        kept(),
    ),
    "vintages out of all bounds": Nasty(
        "a.csv", table("x,y,99999", "x,y,0", "x,y,-1", head="called,was,vintage"), kept(3)
    ),
    "lists of nothing": Nasty(
        "a.csv", table('x,y,";;,,||\\"', head="called,was,descriptors"), kept()
    ),
    "backslashes": Nasty("a.csv", table("x,y,\\;\\\\;\\n", head="called,was,candidates"), kept()),
    "a forged mark": Nasty(
        "a.csv", table(f"x,y,pour-{'0' * 64}-{'0' * 12}", head="called,was,mark"), kept()
    ),
    "arrows of every kind": Nasty("a.txt", text("a > b\na -> b -> c\n> b\na =>\n→\n"), kept(1, 4)),
}

PACKED: Mapping[str, Nasty] = {
    "a PDF": Nasty("a.csv", raw(b"%PDF-1.7\n"), refused("PDF")),
    "a picture": Nasty("a.xlsx", raw(b"\x89PNG\r\n\x1a\n" + bytes(99)), refused("picture")),
    "a compressed table": Nasty("a.csv.gz", lambda: gzip.compress(ONE), refused("compressed")),
    "a database": Nasty("a.csv", raw(b"SQLite format 3\x00" + bytes(99)), refused("database")),
    "an old workbook": Nasty("a.xls", raw(b"\xd0\xcf\x11\xe0" + bytes(600)), refused("XLS")),
    "an archive": Nasty("a.zip", lambda: packed({"a.csv": ONE}), refused("no spreadsheet")),
    "a letter": Nasty("a.docx", lambda: packed({"word/document.xml": "<x/>"}), refused("document")),
    "a binary workbook": Nasty("a.xlsb", lambda: packed({"xl/workbook.bin": b""}), refused("XLSB")),
    "half a workbook": Nasty("a.xlsx", lambda: xlsx(GOOD)[:700], refused("damaged")),
    "a workbook with a broken sheet": Nasty(
        "a.xlsx", lambda: packed(xlsx_parts({"S": xlsx_sheet(GOOD)[:-60]})), refused("")
    ),
    "a workbook that is no XML": Nasty(
        "a.xlsx", lambda: packed(xlsx_parts({"S": "called,was"})), refused("")
    ),
    "a workbook without sheets": Nasty("a.xlsx", lambda: packed(xlsx_parts({})), refused("")),
    "a workbook without its list of sheets": Nasty(
        "a.xlsx", lambda: packed({"xl/worksheets/sheet1.xml": xlsx_sheet(GOOD)}), refused("damaged")
    ),
    "texts that are not there": Nasty(
        "a.xlsx",
        lambda: packed(
            xlsx_parts(
                {
                    "S": f'<worksheet xmlns="{MAIN}"><sheetData><row r="1"><c r="A1" t="s">'
                    "<v>99</v></c></row></sheetData></worksheet>"
                }
            )
        ),
        refused(""),
    ),
    "a cell beyond the last column": Nasty(
        "a.xlsx",
        lambda: packed(xlsx_parts({"S": xlsx_sheet(GOOD).replace('"B2"', '"ZZZZ2"')})),
        refused("larger than any program makes"),
    ),
    "a cell far beyond every column": Nasty(
        "a.xlsx",
        lambda: packed(xlsx_parts({"S": xlsx_sheet(GOOD).replace('"B2"', '"zzzzz999999"')})),
        refused("spread over"),
    ),
    "cells at the ends of the sheet": Nasty(
        "a.xlsx",
        lambda: packed(xlsx_parts({"S": xlsx_sheet(GOOD).replace('"B2"', '"XFD1048576"')})),
        refused("spread over"),
    ),
    "formulas without values": Nasty(
        "a.xlsx",
        lambda: xlsx([["called", "was"], ["=A1", "=B1"], ["x", "=A1"], ["x", "y"]]),
        kept(1, 1),
    ),
    "merged cells over everything": Nasty(
        "a.xlsx",
        lambda: xlsx(
            [["date", "called", "was"], [45780, "x", "y"], [None, "x", "y"]],
            extra=merged("A2:A3", "A1:C1", "A2:XFD1048576", "C9:C9"),
        ),
        kept(2),
    ),
    "dates before all dates": Nasty(
        "a.xlsx",
        lambda: xlsx([["date", "called", "was"], [-1, "x", "y"], [1e300, "x", "y"]]),
        kept(0, 2),
    ),
    "a sheet of the oddest name": Nasty(
        "a.xlsx", lambda: packed(xlsx_parts({"[red]\u202e": xlsx_sheet(GOOD)})), kept()
    ),
    "a bomb of zeros": Nasty(
        "a.xlsx",
        lambda: packed(xlsx_parts({"S": xlsx_sheet(GOOD)}) | {"z": bytes(450 * MEGABYTE)}),
        refused("unpacks to more"),
    ),
    "twenty thousand parts": Nasty(
        "a.xlsx",
        lambda: packed(
            xlsx_parts({"S": xlsx_sheet(GOOD)}) | {f"p{n}": b"" for n in range(20_000)},
            zipfile.ZIP_STORED,
        ),
        refused("parts"),
    ),
    "parts that lead out of the file": Nasty(
        "a.xlsx",
        lambda: packed({**xlsx_parts({"S": xlsx_sheet(GOOD)}), "../../../x.txt": b"out"}),
        kept(),
    ),
    "a way of packing that nobody knows": Nasty(
        "a.xlsx",
        lambda: packed(xlsx_parts({"S": xlsx_sheet(GOOD)}), zipfile.ZIP_LZMA),
        refused("packed in a way"),
    ),
    "a document repeated without end": Nasty(
        "a.ods",
        lambda: packed(
            ods_parts(
                {
                    "S": ods_row(
                        ods_cell("x", 'table:number-columns-repeated="16384"'),
                        attributes='table:number-rows-repeated="1048576"',
                    )
                }
            )
        ),
        refused("spread over"),
    ),
    "a document that is no XML": Nasty("a.ods", lambda: packed({"content.xml": "x"}), refused("")),
}

OBJECTS: Mapping[str, Nasty] = {
    "JSON that breaks off": Nasty(
        "a.json", text('[{"called": "x", "was": "y"},'), refused("line 1")
    ),
    "JSON nested without end": Nasty("a.json", text("[" * 200_000), refused("deeply")),
    "objects nested without end": Nasty("a.json", text('{"a":' * 200_000), refused("")),
    "names that stand there twice": Nasty(
        "a.json", text('[{"called": "x", "called": "z", "was": "y"}]'), kept(0, 1)
    ),
    "numbers that are none": Nasty(
        "a.jsonl",
        text('{"called":"x","was":"y","alcohol":NaN}\n{"called":"x","was":"y"}'),
        kept(1, 1),
    ),
    "numbers without end": Nasty(
        "a.json",
        text('[{"called":"x","was":"y"},{"called":"x","was":' + "9" * 5000 + "}]"),
        refused(""),
    ),
    "a text without end": Nasty(
        "a.json",
        lambda: b'[{"called":"' + b"x" * (5 * MEGABYTE) + b'","was":"y"}]',
        refused("characters"),
    ),
    "lines of which some are none": Nasty(
        "a.jsonl", text('{"called":"x","was":"y"}\n{\n\n]\n{"called":"x","was":"z"}'), kept(2, 2)
    ),
    "JSON in UTF-16": Nasty(
        "a.json", text('\ufeff[{"called":"x","was":"y"}]', "utf-16-le"), kept()
    ),
    "bare values": Nasty("a.json", text('[1, "x", null, true, []]'), kept(0, 5)),
    "values of the wrong kind": Nasty(
        "a.json",
        text(json.dumps([{"called": {"text": ["x"]}, "was": {"text": 7, "vintage": {}}}])),
        kept(),
    ),
    "ten thousand different names": Nasty(
        "a.json",
        lambda: json.dumps(
            [{"called": "x", "was": "y", f"n{n}": 1} for n in range(10_000)]
        ).encode(),
        refused("different things"),
    ),
}

FILES: Mapping[str, Nasty] = {
    **ENCODINGS,
    **LINES,
    **STRUCTURE,
    **CONTENT,
    **PACKED,
    **OBJECTS,
}
