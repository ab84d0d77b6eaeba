"""Pasted lines: called > was."""

from __future__ import annotations

import io
from datetime import date

import pytest

from drills.errors import IntakeError
from drills.tastings.intake import read_intake
from tests.tastings.reading_lists import FewNames, Reading, pairs, typed


@pytest.mark.parametrize("arrow", [">", " > ", "->", " → ", "=>", "-->", "  =>  "])
def test_arrows(arrow: str) -> None:
    assert pairs(typed(f"Chablis{arrow}Sancerre")) == [("Chablis", "Sancerre")]


def test_lines_with_dates_and_notes() -> None:
    draft = typed(
        "# spring\n\n2025-05-03 Chablis > Sancerre # flinty\n3 May 2025; Sancerre > Chablis\n"
        "  Côte-Rôtie -> Chablis #\n"
    )
    assert [(p.row, p.date, p.note) for p in draft.pours] == [
        (3, date(2025, 5, 3), "flinty"),
        (4, date(2025, 5, 3), ""),
        (5, None, ""),
    ]
    assert draft.pours[2].called.text == "Côte-Rôtie"
    assert draft.source == "typed"


def test_lines_that_are_none_say_so() -> None:
    draft = typed(
        "Chablis > Sancerre\nChablis\na > b > c\nnonsense; a > b\n> Sancerre\nChablis >\n"
    )
    assert [pour.row for pour in draft.pours] == [1]
    assert [(one.row, one.column) for one in draft.rejected] == [
        (2, "line"),
        (3, "line"),
        (4, "date"),
        (5, "called"),
        (6, "was"),
    ]


def test_lines_may_have_a_heading_and_tables_may_be_pasted() -> None:
    assert pairs(typed("called > was\nChablis > Sancerre")) == [("Chablis", "Sancerre")]
    assert pairs(typed("called\twas\nChablis\tSancerre")) == [("Chablis", "Sancerre")]


def test_a_text_file_holds_lines_or_a_table(read: Reading) -> None:
    assert pairs(read("Chablis > Sancerre\n", name="a.txt")) == [("Chablis", "Sancerre")]
    assert pairs(read("called;was\nChablis;Sancerre\n", name="b.txt")) == [("Chablis", "Sancerre")]


@pytest.mark.parametrize("text", ["", "\n\n", "# nothing yet\n", "Chablis\nSancerre\n"])
def test_nothing_typed_is_an_error(text: str) -> None:
    with pytest.raises(IntakeError, match="what was typed"):
        typed(text)


def test_a_stream_of_bytes_is_decoded_as_a_file_is() -> None:
    raw = io.TextIOWrapper(io.BytesIO("Rosé > Chablis\n".encode("cp1252")), encoding="utf-8")
    assert pairs(read_intake(raw, FewNames())) == [("Rosé", "Chablis")]


def test_lines_and_tables_agree_on_fingerprints(read: Reading) -> None:
    (line,) = typed("2025-05-03 Chablis > Sancerre # flinty").pours
    (row,) = read("called,was,date,note\nChablis,Sancerre,3.5.2025,flinty\n").pours
    assert line.fingerprint == row.fingerprint
