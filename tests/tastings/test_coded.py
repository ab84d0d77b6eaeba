"""A filled sheet says which glass, and the sealed key says what was in it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from cards.names import Resolution
from drills.tastings.coded import Poured
from drills.tastings.drafts import Named, PourDraft, Rejected, Unresolved
from drills.tastings.intake import Intake, Listener

DAY = date(2026, 3, 2)
GLASSES = {
    "208": Poured(Named("Chablis 2021", "chardonnay-chablis"), 2021, "mark-208", "Flight 3", DAY),
    "514": Poured(Named("sealed"), None, "mark-514", "Flight 3", DAY),
}


WINES = {"Sancerre": "sauvignon-sancerre", "Muscadet": "melon-muscadet"}


class Names:
    def resolve(self, text: str) -> Resolution:
        return Resolution(text, WINES.get(text), (), "name" if text in WINES else "unknown")


class Key:
    def find(self, flight: str, code: str) -> Poured:
        if flight not in ("", "3"):
            raise ValueError(f"no flight {flight}")
        if code not in GLASSES:
            raise ValueError(f"no glass {code}")
        return GLASSES[code]


def pours(tmp_path: Path, text: str) -> tuple[list[PourDraft | Rejected], tuple[str, ...]]:
    file = tmp_path / "sheet.csv"
    file.write_text(text, encoding="utf-8")
    with Intake(file) as intake:
        listener = Listener(lambda _: None, lambda _: None)
        found = list(intake.pours(Names(), listener, key=Key()))
        return found, intake.warnings


def test_a_code_stands_for_what_the_glass_held(tmp_path: Path) -> None:
    found, warnings = pours(tmp_path, "flight number,code,called,acid\n3,208,Sancerre,high\n")
    (pour,) = found
    assert isinstance(pour, PourDraft)
    assert pour.was == Named("Chablis 2021", "chardonnay-chablis")
    assert (pour.fingerprint, pour.flight, pour.date) == ("mark-208", "Flight 3", DAY)
    assert pour.full is not None
    assert (pour.full.reveal, pour.full.reveal_vintage) == (pour.was, 2021)
    assert pour.full.final.wine == "sauvignon-sancerre"
    assert pour.full.note.readings.keys() == {"acid"}
    assert "1 glass without a date took the day of the reveal" in warnings


def test_what_the_row_says_itself_stands(tmp_path: Path) -> None:
    row = "code,date,flight,called,was\n208,2026-05-01,Lantern hall,Sancerre,Muscadet\n"
    (pour,) = pours(tmp_path, row)[0]
    assert isinstance(pour, PourDraft)
    assert pour.was.wine == "melon-muscadet"
    assert pour.fingerprint != "mark-208"
    row = "code,date,flight,called,was\n208,2026-05-01,Lantern hall,Sancerre,\n"
    (pour,) = pours(tmp_path, row)[0]
    assert isinstance(pour, PourDraft)
    assert (pour.date, pour.flight) == (date(2026, 5, 1), "Lantern hall")


def test_a_glass_whose_key_stays_shut_has_no_wine(tmp_path: Path) -> None:
    (pour,) = pours(tmp_path, "code,called\n514,Sancerre\n")[0]
    assert isinstance(pour, PourDraft)
    assert pour.was == Named("sealed")


@pytest.mark.parametrize(
    ("row", "column", "reason"),
    [
        ("3,999,Sancerre", "Code", "no glass 999"),
        ("4,208,Sancerre", "Code", "no flight 4"),
        ("3,208,,pepper", "called", "the call is missing"),
        ("3,,Sancerre", "Code", "neither the code of its glass is there nor what it was"),
    ],
)
def test_a_row_that_does_not_join_is_named(
    tmp_path: Path, row: str, column: str, reason: str
) -> None:
    found, _ = pours(tmp_path, f"flight number,Code,called,note\n{row}\n3,514,Sancerre\n")
    assert found[0] == Rejected(2, column, reason)
    assert isinstance(found[1], PourDraft)


def test_a_blank_row_of_the_sheet_is_passed_over_and_counted(tmp_path: Path) -> None:
    sheet = (
        "flight number,code,date,flight,pour,acid,called\n"
        "3,208,2026-03-02,Flight 3,1,,\n3,514,,Flight 3,2,, \n3,208,,Flight 3,1,,Sancerre\n"
    )
    found, warnings = pours(tmp_path, sheet)
    assert [(one.row, type(one)) for one in found] == [(4, PourDraft)]
    assert "2 blank rows of the sheet passed over" in warnings


def test_a_row_without_call_and_code_is_named_however_blank(tmp_path: Path) -> None:
    found, _ = pours(tmp_path, "flight number,code,called\n3,,\n3,514,Sancerre\n")
    assert isinstance(found[0], Rejected)
    assert isinstance(found[1], PourDraft)


def test_a_call_that_is_not_clear_waits_beside_what_the_glass_held(tmp_path: Path) -> None:
    file = tmp_path / "sheet.csv"
    file.write_text("code,called\n208,Plonk of the house\n", encoding="utf-8")
    unclear: list[Unresolved] = []
    with Intake(file) as intake:
        (pour,) = intake.pours(Names(), Listener(unclear.append, lambda _: None), key=Key())
    assert isinstance(pour, PourDraft)
    assert (pour.called.wine, pour.was.wine) == (None, "chardonnay-chablis")
    assert [one.text for one in unclear] == ["Plonk of the house"]


def test_a_glass_cannot_stand_in_two_rows(tmp_path: Path) -> None:
    found, _ = pours(tmp_path, "code,called\n208,Sancerre\n208,Chablis\n")
    assert found[1] == Rejected(3, "code", "glass 208 stands in row 2 already")


def test_where_nothing_is_planned_every_code_is_named(tmp_path: Path) -> None:
    file = tmp_path / "sheet.csv"
    file.write_text("code,called\n208,Sancerre\n", encoding="utf-8")
    with Intake(file) as intake:
        (row,) = intake.pours(Names(), Listener(lambda _: None, lambda _: None))
    assert isinstance(row, Rejected)
    assert row.reason.startswith("no flight is planned here")
