"""A flight is kept as it was entered, corrected, found again and debriefed."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings

from drills.errors import NotPossibleError, StorageError, UsageError
from drills.service.desk import Desk
from drills.service.pours import (
    fingerprint_of,
    full_pour,
    observation_rows,
    pour_draft,
    read_observations,
)
from drills.service.tasting import change_pour, debrief_flight, find_flight, log_flight, pick_pour
from drills.storage.records import ObservationRow, PourDraft
from drills.tastings.drafts import Named
from drills.tastings.notes import FullFlight, FullPour, Note, Verdict
from tests.tastings.logged import DAY, MARLBOROUGH, SANCERRE, flight, pour
from tests.tastings.strategies import ANY_POURS

# ---- keeping


def test_a_flight_is_kept_as_it_was_entered_and_its_draft_goes(desk: Desk) -> None:
    draft = desk.repository.save_draft(desk.taster.id, "{}")
    entered = (pour(1), pour(2, note=Note(), candidates=(), final=Verdict()))
    kept = log_flight(desk, flight(*entered), draft_id=draft)
    records = desk.repository.pours(desk.taster.id, kept, full=True)
    assert tuple(full_pour(one) for one in records) == entered
    assert desk.repository.drafts(desk.taster.id) == []


@settings(max_examples=80, deadline=None)
@given(ANY_POURS)
def test_no_field_of_a_pour_is_lost_between_note_and_storage(one: FullPour) -> None:
    kept = full_pour(pour_draft(one, flight="x", tasted_on=None, fingerprint="f"))
    noted = one.note.readings
    # What was typed is kept where something was typed, and of what was read.
    typed = {name: word for name, word in one.note.typed.items() if word and name in noted}
    expected = one.to_plain()
    expected.get("note", {}).pop("typed", None)
    if typed:
        expected.setdefault("note", {})["typed"] = typed
    if not expected.get("note", True):
        expected.pop("note")
    assert kept.to_plain() == expected


def test_observations_stand_in_the_order_of_noting() -> None:
    rows = observation_rows(pour().note)
    assert [(row.attribute, row.reading, row.typed) for row in rows] == [
        ("acid", "med", ""),
        ("alcohol", "13.5", ""),
        ("passion-fruit", "yes", "maracuja"),
        ("petrol", "no", ""),
        ("", "", "zesty"),
    ]


def test_an_observation_that_nobody_can_read_is_left_out_not_guessed() -> None:
    odd = [
        ObservationRow("acid", "enormous"),
        ObservationRow("acid", "yes"),
        ObservationRow("alcohol", "strong"),
        ObservationRow("hue", "13"),
        ObservationRow("petrol", "high"),
    ]
    assert read_observations(odd) == {}


def test_a_confusion_that_was_logged_heads_the_next_drill(desk: Desk) -> None:
    far = pour(1, "nebbiolo-barolo")
    log_flight(desk, flight(far))
    urgent = desk.repository.urgent(desk.taster.id, 50)
    assert {row.contrast.wine_a for row in urgent} == {"nebbiolo-barolo"}
    assert {row.contrast.wine_b for row in urgent} == {SANCERRE}


def test_two_equal_pours_and_two_equal_flights_are_all_kept(desk: Desk) -> None:
    entered = flight(pour(1), pour(1), pour(2))
    first, second, third = (log_flight(desk, entered) for _ in range(3))
    unnamed = log_flight(desk, flight(name=""))
    again = log_flight(desk, flight(name=""))
    names = {one.id: one.name for one in desk.repository.flights(desk.taster.id)}
    assert [names[key] for key in (first, second, third)] == ["Club", "Club (2)", "Club (3)"]
    assert [names[key] for key in (unnamed, again)] == ["", "(2)"]
    assert len(desk.repository.pours(desk.taster.id)) == 11
    other_day = log_flight(desk, flight(day=date(2026, 3, 2)))
    found = {one.id: one.name for one in desk.repository.flights(desk.taster.id)}
    assert found[other_day] == "Club"


def test_a_list_that_holds_a_logged_pour_adds_nothing(desk: Desk) -> None:
    log_flight(desk, flight(pour(1), pour(1)))
    known = desk.repository.known_pours(desk.taster.id)
    assert known == {fingerprint_of(pour(), "Club", DAY), fingerprint_of(pour(), "Club", DAY, 2)}


def test_nothing_is_kept_of_a_flight_that_cannot_be(desk: Desk) -> None:
    draft = desk.repository.save_draft(desk.taster.id, "{}")
    with pytest.raises(UsageError, match="without a pour"):
        log_flight(desk, FullFlight("Club", DAY), draft_id=draft)
    broken = pour(1, price=None)
    with pytest.raises(StorageError):
        log_flight(desk, flight(pour(2), broken), draft_id=draft)
    assert desk.repository.flights(desk.taster.id) == []
    assert len(desk.repository.drafts(desk.taster.id)) == 1


# ---- corrections


def test_a_pour_may_be_revealed_later_and_corrected_with_its_history(desk: Desk) -> None:
    hidden = pour(reveal=Named(""), reveal_vintage=None, label_alcohol=None)
    kept = log_flight(desk, flight(hidden))
    record = desk.repository.pours(desk.taster.id, kept)[0]
    assert desk.repository.confusions(desk.taster.id) == []
    assert debrief_flight(desk, find_flight(desk)).pours[0].debrief is None
    changed = change_pour(desk, record.id, pour())
    assert full_pour(changed) == pour()
    assert changed.draft.flight == "Club"
    assert changed.draft.fingerprint == record.draft.fingerprint
    fields = {(one.field, one.before, one.after) for one in desk.repository.changes(record.id)}
    assert fields == {
        ("was_text", "", "Sancerre"),
        ("was_wine", None, SANCERRE),
        ("was_vintage", None, "2020"),
        ("label_alcohol", None, "13.0"),
    }
    assert len(desk.repository.confusions(desk.taster.id)) == 1
    assert debrief_flight(desk, find_flight(desk)).pours[0].debrief is not None
    with pytest.raises(StorageError, match="no pour"):
        change_pour(desk, 999, pour())


# ---- which flight


def test_a_flight_is_found_by_name_date_or_number(desk: Desk) -> None:
    with pytest.raises(NotPossibleError, match="no tasting is logged"):
        find_flight(desk)
    old = log_flight(desk, flight(name="Club", day=date(2026, 1, 5)))
    new = log_flight(desk, flight(name="club  night", day=date(2026, 2, 5)))
    undated = log_flight(desk, flight(name="1", day=None))
    same_day = log_flight(desk, flight(name="Late", day=date(2026, 2, 5)))
    for said, meant in (
        (None, same_day),
        ("CLUB", old),
        ("Club Night", new),
        ("2026-01-05", old),
        ("2026-02-05", same_day),
        (str(new), new),
        ("1", undated),  # a name before a number
    ):
        assert find_flight(desk, said).id == meant, said
    with pytest.raises(NotPossibleError, match=r"no flight is called “x”.*Late, 2026-02-05"):
        find_flight(desk, "x")


def test_one_pour_of_a_flight_is_picked_by_its_place(desk: Desk) -> None:
    log_flight(desk, flight(pour(1), pour(3)))
    whole = debrief_flight(desk, find_flight(desk))
    assert [one.pour.position for one in pick_pour(whole, 3).pours] == [3]
    with pytest.raises(NotPossibleError, match="has no pour 2; it has 1, 3"):
        pick_pour(whole, 2)


# ---- debriefs of what is kept


def test_wines_of_no_table_are_debriefed_with_a_reason(desk: Desk) -> None:
    log_flight(desk, flight(pour(1, reveal=Named("Inconnu")), pour(2)))
    found = debrief_flight(desk, find_flight(desk)).pours
    assert found[0].debrief is None
    assert "“Inconnu” is no wine of the table" in found[0].reason
    assert found[1].debrief is not None
    assert found[1].reason == ""


def test_calls_without_any_note_are_debriefed_too(desk: Desk) -> None:
    """As they come from a list of called and was."""
    draft = PourDraft(
        flight="Club",
        tasted_on=DAY,
        position=1,
        fingerprint="f",
        called_text="Marl",
        called_wine=MARLBOROUGH,
        was_text="Sanc",
        was_wine=SANCERRE,
    )
    desk.repository.record_flight(desk.taster.id, "Club", DAY, [draft])
    (one,) = debrief_flight(desk, find_flight(desk)).pours
    assert one.debrief is not None
    assert one.debrief.rank is None
    assert one.debrief.missed
