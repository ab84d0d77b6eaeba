"""A flight that lies open: planned flights begin where they were left, and keep their key."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from drills.errors import StorageError
from drills.screens.tasting_open import OpenFlight
from drills.screens.tasting_sheet import FlightSheet, PourSheet
from drills.service.desk import Desk
from drills.service.flight_showing import Asked, PlannedFlight
from drills.service.planned_flights import find_record, look, planned_flights
from drills.service.pouring import plan
from tests.desks import mix_up
from tests.screens.terminal import refusing


@pytest.fixture
def flight(desk: Desk) -> PlannedFlight:
    mix_up(desk, "sauvignon-sancerre", "sauvignon-marlborough", times=2)
    return plan(desk, Asked(bottles=2, decoys=0, seed=1))


def begun(desk: Desk, flight: PlannedFlight) -> OpenFlight:
    opened = OpenFlight.planned(desk, flight)
    assert opened is not None
    return opened


def test_a_planned_flight_begins_with_a_blank_page_for_each_glass(
    desk: Desk, flight: PlannedFlight
) -> None:
    sheet = begun(desk, flight).sheet
    assert [pour.code for pour in sheet.pours] == [glass.code for glass in flight.glasses]
    assert not any(pour.texts for pour in sheet.pours)
    assert (sheet.name, sheet.planned, sheet.minutes) == (flight.name, flight.number, 8.0)


def test_it_is_taken_up_again_where_it_was_left(desk: Desk, flight: PlannedFlight) -> None:
    first = begun(desk, flight)
    first.sheet.pours[1].type("nose", "lemon")
    first.keeper.save(*first.keeper.snapshot())
    again = begun(desk, flight)
    assert again.sheet == first.sheet
    assert again.keeper.draft_id == first.keeper.draft_id


def test_once_every_glass_is_in_the_log_there_is_nothing_to_taste(
    desk: Desk, flight: PlannedFlight
) -> None:
    opened = begun(desk, flight)
    for pour in opened.sheet.pours:
        pour.type("final", "Chablis")
    opened.log()
    assert OpenFlight.planned(desk, flight) is None
    assert planned_flights(desk)[0].state == "done"


def test_the_key_fills_the_reveal_of_its_own_glass_only(desk: Desk, flight: PlannedFlight) -> None:
    opened = begun(desk, flight)
    first, second = opened.sheet.pours
    opened.reveal(first)
    held = look(find_record(desk, 1), unsealed=True).glasses[0].contents
    assert held is not None
    assert first.text("was") == held.text
    assert first.picked["was"] == held.wine
    assert (first.opened, first.skipped) == (True, True)
    assert second == PourSheet(code=second.code)
    assert planned_flights(desk)[0].sealed == 1


def test_a_key_that_cannot_be_opened_leaves_the_page_as_it_is(
    desk: Desk, flight: PlannedFlight, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = begun(desk, flight)
    pour = opened.sheet.pours[0]
    monkeypatch.setattr("drills.service.glasses.open_glass", refusing(1, lambda *_: None))
    with pytest.raises(StorageError):
        opened.reveal(pour)
    assert pour == PourSheet(code=pour.code)


def test_a_flight_that_could_not_be_kept_goes_on_being_saved(
    desk: Desk, open_desk: Callable[[], Desk], monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = OpenFlight(desk, FlightSheet("Tuesday", pours=[PourSheet({"final": "Chablis"})]))
    repository = desk.repository
    record = repository.record_flight
    refuse = refusing(1, lambda given, named: record(*given, **named))
    monkeypatch.setattr(repository, "record_flight", lambda *given, **named: refuse(given, named))
    with pytest.raises(StorageError):
        opened.log()
    opened.keeper.save(*opened.keeper.snapshot())
    assert len(open_desk().repository.drafts(desk.taster.id)) == 1
    kept = opened.log().id
    assert [one.id for one in repository.flights(desk.taster.id)] == [kept]
    assert repository.drafts(desk.taster.id) == []
