"""The rules of a sheet: what follows for a page from what the taster does, without a screen."""

from __future__ import annotations

import pytest

from cards.scale import Level
from drills.screens.tasting_reader import Fault, SheetReader
from drills.screens.tasting_sheet import MOST_POURS, FlightSheet, PourSheet
from drills.screens.tasting_words import called_words, sign_of
from drills.screens.twice import Twice
from drills.service.completing import WineBook, WordBook
from drills.service.desk import Desk
from drills.tastings.drafts import NOTHING, Named
from drills.tastings.notes import Candidate, FullPour, Verdict

SANCERRE = "sauvignon-sancerre"


@pytest.fixture
def reader(desk: Desk) -> SheetReader:
    return SheetReader(WordBook(desk.table.lexicon), WineBook(desk.table, desk.names), 2026)


def test_a_pour_is_begun_then_called_then_revealed() -> None:
    pour = PourSheet(texts={"was": "Barolo"})
    assert pour.state == ""
    pour.place("acid", 4)
    assert pour.state == "begun"
    pour.type("final", "Chablis")
    assert pour.state == "called"
    pour.opened = True
    assert pour.state == "revealed"


def test_a_step_is_a_level_or_how_sure_a_call_is_and_can_be_left_open_again() -> None:
    pour = PourSheet()
    for scale, step in (("acid", 4), ("final-sure", 0), ("first-sure", 2)):
        assert pour.step(scale) is None
        pour.place(scale, step)
        assert pour.step(scale) == step
    assert pour.levels == {"acid": Level.HIGH}
    assert pour.sureness == {"final": 1, "first": 3}
    for scale in ("acid", "final-sure", "first-sure"):
        pour.place(scale, None)
    assert not pour.begun


def test_a_wine_that_was_picked_is_forgotten_when_another_name_is_typed() -> None:
    pour = PourSheet()
    pour.write("final", "Sancerre", SANCERRE)
    pour.write("final", "Sancerre", None)
    assert pour.picked == {"final": SANCERRE}
    pour.write("final", "Sancerr", None)
    assert pour.picked == {}


def test_candidates_are_struck_stand_again_become_calls_and_leave_the_row() -> None:
    pour = PourSheet(texts={"candidate": "Sancerre"})
    pour.consider("Sancerre", SANCERRE)
    pour.consider("Plonk", None)
    assert pour.text("candidate") == ""
    pour.strike(1, "too ripe")
    assert pour.candidates[1] == Candidate("Plonk", None, "too ripe")
    pour.strike(1, "")
    assert pour.candidates == [Candidate("Sancerre", SANCERRE), Candidate("Plonk")]
    pour.call("final", 0)
    pour.call("runner-up", 1)
    assert pour.texts == {"final": "Sancerre", "runner-up": "Plonk"}
    assert pour.picked == {"final": SANCERRE}
    pour.drop(0)
    assert pour.candidates == [Candidate("Plonk")]


def test_a_flight_takes_so_many_pours_and_no_more() -> None:
    sheet = FlightSheet(pours=[PourSheet() for _ in range(MOST_POURS - 1)])
    assert sheet.add_pour()
    assert not sheet.add_pour()
    assert len(sheet.pours) == MOST_POURS


def test_what_cannot_be_read_is_named_but_not_before_its_reveal(reader: SheetReader) -> None:
    odd = {"alcohol": "much", "final-vintage": "nv", "was-vintage": "20x9"}
    sheet = FlightSheet(pours=[PourSheet(), PourSheet(texts=odd)])
    strength = Fault(1, "alcohol", "“much” should be % vol, as 13.5")
    assert reader.faults(sheet) == [strength]
    sheet.pours[1].opened = True
    year = Fault(1, "was-vintage", "“20x9” should be a year, or NV")
    assert reader.faults(sheet) == [strength, year]


def test_a_sign_says_whether_a_name_is_a_wine_of_the_table(reader: SheetReader) -> None:
    pour = PourSheet(texts={"final": "Barolo", "first": "Plonk", "runner-up": "  "})
    signs = {name: sign_of(reader.named(pour, name))[0] for name in ("final", "first", "runner-up")}
    assert signs == {"final": "✓", "first": "?", "runner-up": ""}


def test_above_the_reveal_stands_every_call_and_how_sure_it_was() -> None:
    pour = FullPour(
        3,
        first=Verdict("Plonk [b]"),
        final=Verdict("Sancerre", SANCERRE, sureness=2),
        runner_up=Named("Chablis"),
    )
    said = str(called_words(pour, {SANCERRE: "Sancerre"}.__getitem__))
    told = "pour 3   you called Sancerre (leaning)   first Plonk [b]   runner-up Chablis"
    assert said.strip() == told
    assert str(called_words(FullPour(1, runner_up=NOTHING), str)) == "pour 1   no call was made"


def test_only_the_same_thing_asked_for_twice_running_is_done() -> None:
    twice = Twice()
    asked = ["keep", "keep", "reveal", "keep"]
    assert [twice.again(what) for what in asked] == [False, True, False, False]
    twice.forget()
    assert not twice.again("keep")
