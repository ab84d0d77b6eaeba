"""A glass that was noted on a sheet and at the table keeps both notes."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given

from cards.scale import Level
from drills.tastings.beside import with_beside
from drills.tastings.drafts import Named
from drills.tastings.notes import Candidate, FullPour, Note, Verdict
from tests.tastings.strategies import pours

BAROLO = Verdict("Barolo", "nebbiolo-barolo", 2016, 3)
SHEET = FullPour(
    1,
    note=Note(readings={"acid": Level.HIGH}, free=("tar",), nose="roses"),
    candidates=(Candidate("Chianti"),),
    final=BAROLO,
    reveal=Named("Barbaresco", "nebbiolo-barbaresco"),
    remark="good",
)


def test_what_the_kept_pour_lacks_is_filled_in() -> None:
    table = FullPour(
        1,
        note=Note(readings={"tannin": Level.HIGH, "petrol": False}, free=("rust",), palate="dry"),
        candidates=(Candidate("chianti", None, "no cherry"), Candidate("Aglianico")),
        first=Verdict("Nebbiolo"),
        runner_up=Named("Chianti", None),
        label_alcohol=14.0,
        seconds=200.0,
    )
    both = with_beside(SHEET, table)
    assert both.note == Note(
        readings={"acid": Level.HIGH, "tannin": Level.HIGH, "petrol": False},
        free=("tar", "rust"),
        nose="roses",
        palate="dry",
    )
    assert both.candidates == (Candidate("Chianti", None, "no cherry"), Candidate("Aglianico"))
    assert (both.first, both.final, both.runner_up) == (table.first, BAROLO, table.runner_up)
    assert (both.label_alcohol, both.seconds, both.remark) == (14.0, 200.0, "good")


def test_where_the_two_differ_the_kept_pour_stands_and_the_remark_says_the_rest() -> None:
    table = FullPour(
        1,
        note=Note(readings={"acid": Level.MED_PLUS}, nose="tar"),
        final=Verdict("Chinon", None, 2019, 1),
        reveal=Named("Roero"),
        remark="second glass",
    )
    both = with_beside(SHEET, table)
    assert both.final == BAROLO
    assert both.reveal == SHEET.reveal
    assert both.note.readings == {"acid": Level.HIGH}
    assert both.remark == (
        "good; called Chinon 2019, guess; acid med+; nose tar; was Roero; second glass"
    )


def test_one_call_in_two_spellings_is_one_call() -> None:
    table = FullPour(1, final=Verdict("barolo docg", "nebbiolo-barolo"))
    assert with_beside(SHEET, table) == SHEET
    surer = replace(SHEET, final=replace(BAROLO, vintage=None, sureness=None))
    assert with_beside(surer, replace(table, final=BAROLO)).final == BAROLO


@given(pours(), pours())
def test_nothing_that_was_kept_changes_and_nothing_typed_is_lost(
    kept: FullPour, typed: FullPour
) -> None:
    both = with_beside(kept, typed)
    assert both.reveal == kept.reveal
    assert both.note.readings.items() >= kept.note.readings.items()
    assert both.remark.startswith(kept.remark)
    assert both.note.readings.keys() >= typed.note.readings.keys()
    assert set(both.note.free) >= {*kept.note.free, *typed.note.free}
    for was, now, mine in (
        (kept.first, both.first, typed.first),
        (kept.final, both.final, typed.final),
    ):
        if was.text:
            assert (now.text, now.wine) == (was.text, was.wine)
            same = was.wine is not None and was.wine == mine.wine
            same = same or was.text.casefold() == mine.text.casefold()
            assert same or mine.text in both.remark
        else:
            assert now == mine
    for name in ("nose", "palate", "appearance", "age"):
        text = getattr(typed.note, name)
        assert text in getattr(both.note, name) or text in both.remark
    assert typed.remark in both.remark


@given(pours(), pours())
def test_adding_the_same_again_changes_nothing(kept: FullPour, typed: FullPour) -> None:
    once = with_beside(kept, typed)
    assert with_beside(once, typed) == once


def test_a_candidate_struck_off_twice_keeps_both_reasons_and_is_told_once() -> None:
    twice = (Candidate("Chablis", struck="oak"), Candidate("chablis", struck="colour"))
    typed = FullPour(1, candidates=twice)
    once = with_beside(FullPour(1), typed)
    assert once.candidates == (Candidate("Chablis", struck="oak"),)
    assert once.remark == "chablis struck off: colour"
    assert with_beside(once, typed) == once
