"""Lists of tastings: which columns, headings and rows are read, and what is said of the others."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path

import pytest

from cards.names import WineNames
from cards.tables import load_table
from drills.tastings.intake import read_intake
from tests.tastings.reading_lists import Reading, pairs

FULL = (
    "date,flight,called,was,first call,runner-up,note\n"
    '2025-05-03,Monday,Chablis,Sancerre,Sancerre,Sauvignon,"crisp, lemony"\n'
)


# A sound file


def test_every_column_is_read(read: Reading) -> None:
    draft = read(FULL)
    (pour,) = draft.pours
    assert (pour.row, pour.date, pour.flight, pour.position) == (2, date(2025, 5, 3), "Monday", 1)
    assert (pour.called.text, pour.called.wine) == ("Chablis", "chardonnay-chablis")
    assert (pour.was.text, pour.was.wine) == ("Sancerre", "sauvignon-sancerre")
    assert (pour.first.wine, pour.runner_up.wine) == ("sauvignon-sancerre", None)
    assert pour.note == "crisp, lemony"
    assert draft.source == "list.csv"
    assert draft.digest == hashlib.sha256(FULL.encode()).hexdigest()
    (waiting,) = draft.unresolved
    assert (waiting.row, waiting.column, waiting.text) == (2, "runner-up", "Sauvignon")
    assert waiting.suggestions == ("sauvignon-sancerre",)
    assert not draft.rejected
    assert not draft.warnings


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_delimiters_encodings_and_ends_of_lines(
    read: Reading, delimiter: str, encoding: str, newline: str
) -> None:
    rows = [
        ["Called", "Was", "Note"],
        ["Château Été", "Rosé", "crème"],
        ["Chablis", "Sancerre", ""],
    ]
    text = newline.join(delimiter.join(row) for row in rows) + newline
    draft = read(text, encoding=encoding)
    assert pairs(draft) == [("Château Été", "Rosé"), ("Chablis", "Sancerre")]
    assert [pour.note for pour in draft.pours] == ["crème", ""]


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be", "utf-32-le", "utf-32-be"])
def test_both_byte_orders(read: Reading, encoding: str) -> None:
    text = "\ufeffcalled,was\nChablis,Rosé\n"
    assert pairs(read(text, encoding=encoding)) == [("Chablis", "Rosé")]


@pytest.mark.parametrize(
    "heading",
    [
        "CALLED,WAS",
        " Called ,  was",
        "final_call,Reveal",
        "Final Call,REVEALED",
        "final-call,Wine",
        "verdict,vin",
        "Annoncé,Vin servi",
        "Ansage,Wein",
        "Letzte Ansage,Auflösung",
        "Chiamata,Vino",
        "Llamada,Vino servido",
        "Respuesta,Revelado",
        '"called","was"',
        "called,was,",
        "called,was,,,",
    ],
)
def test_headings_are_forgiven(read: Reading, heading: str) -> None:
    assert pairs(read(f"{heading}\nChablis,Sancerre\n")) == [("Chablis", "Sancerre")]


def test_columns_in_any_order(read: Reading) -> None:
    draft = read("Notiz;Aufgedeckt;Datum;Tipp\ngut;Sancerre;3.5.2025;Chablis\n")
    (pour,) = draft.pours
    assert (pour.called.text, pour.was.text, pour.note) == ("Chablis", "Sancerre", "gut")
    assert pour.date == date(2025, 5, 3)


def test_unknown_and_doubled_columns_are_named(read: Reading) -> None:
    draft = read("called,wine,reveal,score\nChablis,1,Sancerre,17\n")
    assert pairs(draft) == [("Chablis", "Sancerre")]
    assert len(draft.warnings) == 2
    assert any("“score”" in warning for warning in draft.warnings)
    assert any("“wine”" in warning and "“reveal”" in warning for warning in draft.warnings)


def test_headings_may_stand_below_a_title(read: Reading) -> None:
    draft = read("My tastings, spring\n\ncalled,was\nChablis,Sancerre\n")
    assert [pour.row for pour in draft.pours] == [4]


def test_the_spreadsheets_own_first_line_is_no_row(read: Reading) -> None:
    draft = read("sep=;\ncalled;was\nChablis;Sancerre\n")
    assert [pour.row for pour in draft.pours] == [2]


# Rows as a spreadsheet counts them


def test_empty_rows_are_passed_over_and_counted(read: Reading) -> None:
    draft = read("\ncalled,was\n\n,,\nChablis,Sancerre\n  , \nSancerre,Chablis")
    assert [pour.row for pour in draft.pours] == [5, 7]
    assert draft.rejected == ()


def test_a_cell_of_two_lines_is_one_row(read: Reading) -> None:
    draft = read('called,was,note\nChablis,Sancerre,"first\nsecond"\nSancerre,Chablis,\n')
    assert [pour.row for pour in draft.pours] == [2, 3]
    assert draft.pours[0].note == "first\nsecond"


def test_quotes_inside_cells(read: Reading) -> None:
    draft = read('called,was,note\n"Chablis ""Les Clos""", "Sancerre" ,6" of "mud"\n')
    assert pairs(draft) == [('Chablis "Les Clos"', "Sancerre")]
    assert draft.pours[0].note == '6" of "mud"'


def test_short_rows_are_filled_up(read: Reading) -> None:
    assert pairs(read("called,was,note,date\nChablis,Sancerre\n")) == [("Chablis", "Sancerre")]


def test_a_comma_without_quotes_is_refused_and_shifts_nothing(read: Reading) -> None:
    draft = read("called,was,note\nSauvignon Blanc, Marlborough,Sancerre,flinty\n")
    assert draft.pours == ()
    (one,) = draft.rejected
    assert one.row == 2
    assert "quotes" in one.reason


@pytest.mark.parametrize("nothing", ["", " ", "?", "-", "–", "n/a", "..."])
def test_no_reveal_no_pour(read: Reading, nothing: str) -> None:
    draft = read(f"called,Reveal\nChablis,{nothing}\nChablis,Sancerre\n")
    assert [pour.row for pour in draft.pours] == [3]
    (one,) = draft.rejected
    assert (one.row, one.column) == (2, "Reveal")


def test_no_call_no_pour(read: Reading) -> None:
    (one,) = read("called,was\n,Sancerre\n").rejected
    assert (one.row, one.column) == (2, "called")


def test_a_novel_is_no_name(read: Reading) -> None:
    (one,) = read(f"called,was\nChablis,{'x' * 501}\n").rejected
    assert (one.row, one.column) == (2, "was")


def test_names_that_do_not_resolve_are_kept_as_typed(read: Reading) -> None:
    draft = read("called,was\n  Sauvignon   Blanc ,Elsewhere\n")
    (pour,) = draft.pours
    assert (pour.called.text, pour.called.wine) == ("Sauvignon Blanc", None)
    assert [one.column for one in draft.unresolved] == ["called", "was"]


# Places in the flight


def test_places_follow_the_rows_of_each_flight(read: Reading) -> None:
    draft = read("flight,called,was\nA,x,y\nB,x,y\nA,p,q\nB,p,q\nA,r,s\n")
    assert [(p.flight, p.position) for p in draft.pours] == [
        ("A", 1),
        ("B", 1),
        ("A", 2),
        ("B", 2),
        ("A", 3),
    ]


def test_places_may_be_given(read: Reading) -> None:
    draft = read("Glass #,called,was\n3,x,y\n1,p,q\n")
    assert [pour.position for pour in draft.pours] == [1, 2]  # the heading is not known
    draft = read("#,called,was\n3,x,y\nWine 1,p,q\n2.0,r,s\nleft,t,u\n,v,w\n")
    assert [pour.position for pour in draft.pours] == [3, 1, 2, 4, 5]
    assert any("1 place" in warning for warning in draft.warnings)


# Names of the shipped table


def test_shipped_names_resolve_in_a_file(tmp_path: Path) -> None:
    file = tmp_path / "list.csv"
    file.write_text(
        'called;was\nNZ SB;"Sauvignon Blanc, Loire"\nCab;Left Bank Bordeaux 2015\n', "utf-8"
    )
    draft = read_intake(file, WineNames(load_table()))
    first, second = draft.pours
    assert (first.called.wine, first.was.wine) == ("sauvignon-marlborough", "sauvignon-sancerre")
    assert (second.called.wine, second.was.wine) == (None, "cabernet-left-bank")
    (waiting,) = draft.unresolved
    assert waiting.text == "Cab"
    assert "cabernet-left-bank" in waiting.suggestions
