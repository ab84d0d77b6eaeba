"""Pours are kept whole, once, as typed; confusions reach the next drill."""

from __future__ import annotations

import threading
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.errors import StorageError
from drills.storage.records import (
    ConfusionRow,
    IntakeOutcome,
    PourDraft,
    RevealRow,
)
from drills.storage.repository import Repository
from tests.storage.making import Wound, contrast, dump, emptied, intake, pour


def test_a_pour_comes_back_as_it_was_typed(repository: Repository, me: int) -> None:
    draft = pour(
        "p1",
        position=4,
        first_text="Godello?",
        first_wine="godello",
        runner_text="nothing [i know]",
        note="lime, salt\nno oak",
    )
    outcome = repository.record_pours(me, intake(), [draft])
    assert (outcome.added, outcome.already_known) == (1, 0)
    (kept,) = repository.pours(me)
    assert kept.draft == draft
    assert kept.intake_id == outcome.intake_id
    assert repository.pour(kept.id) == kept
    assert repository.pour(999) is None


def test_taking_the_same_file_in_twice_changes_nothing(
    repository: Repository, me: int, file: Path
) -> None:
    drafts = [pour("p1"), pour("p2", position=2), pour("p2", position=3)]
    first = repository.record_pours(me, intake(), drafts)
    assert (first.added, first.already_known) == (2, 1)
    before = dump(file)
    assert repository.record_pours(me, intake("copy.csv"), drafts) == IntakeOutcome(None, 0, 3)
    assert dump(file) == before


def test_pours_of_one_date_and_name_join_one_flight(repository: Repository, me: int) -> None:
    other_day = date(2026, 3, 8)
    repository.record_pours(me, intake(), [pour("1"), pour("2", tasted_on=None)])
    repository.record_pours(
        me,
        intake(),
        [
            pour("3"),
            pour("4", tasted_on=None),
            pour("5", tasted_on=other_day),
            pour("6", flight=""),
        ],
    )
    found = [(one.name, one.tasted_on, one.pours) for one in repository.flights(me)]
    assert found == [
        ("Tuesday", other_day, 1),
        ("", date(2026, 3, 1), 1),
        ("Tuesday", date(2026, 3, 1), 2),
        ("Tuesday", None, 2),
    ]
    flight = repository.flights(me)[2]
    assert [one.draft.fingerprint for one in repository.pours(me, flight.id)] == ["1", "3"]


def test_an_intake_with_an_error_keeps_nothing(repository: Repository, me: int, file: Path) -> None:
    before = dump(file)
    with pytest.raises(StorageError):
        repository.record_pours(me, intake(), [pour("1"), pour("2", position=None)])
    with pytest.raises(StorageError):
        repository.record_pours(99, intake(), [pour("1")])
    assert dump(file) == before


def test_a_wrong_call_is_a_confusion_and_brings_the_pairs_contrasts_up(
    repository: Repository, me: int, wound: Wound
) -> None:
    repository.keep_contrasts([contrast(n) for n in range(1, 4)], "f")
    right = {"called_wine": "gavi", "was_wine": "gavi"}
    open_call = {"called_wine": None, "was_wine": "gavi", "called_text": "Gavy?"}
    no_reveal = {"called_wine": "gavi", "was_wine": None, "was_text": ""}
    repository.record_pours(
        me,
        intake(),
        [pour("1", **right), pour("2"), pour("3", **open_call), pour("4", **no_reveal)],
    )
    on = date(2026, 3, 1)
    assert repository.confusions(me) == [
        ConfusionRow("verdejo-0000", "albarino-0000", on, wound.at)
    ]
    assert repository.reveals(me) == [
        RevealRow("gavi", "gavi", on),
        RevealRow("albarino-0000", "verdejo-0000", on),
        RevealRow("gavi", None, on),
    ]
    assert [row.contrast.id for row in repository.urgent(me, 9)] == [1, 2, 3]


def test_what_cannot_be_resolved_waits_until_it_is(repository: Repository, me: int) -> None:
    repository.keep_contrasts([contrast(1)], "f")
    unknown = pour("1", called_text="Verdjo", called_wine=None, runner_text="Gvi")
    blank = pour("2", called_text="", called_wine=None)
    repository.record_pours(me, intake(), [unknown, blank])
    (waiting,) = repository.unresolved(me)
    assert waiting.draft == unknown
    assert repository.unresolved_pours(me) == 1
    assert repository.confusions(me) == []
    repository.remember_name(me, "Verdjo", "verdejo-0000")
    (waiting,) = repository.unresolved(me)
    assert waiting.draft.called_wine == "verdejo-0000"
    assert waiting.draft.called_text == "Verdjo"
    assert [row.contrast.id for row in repository.urgent(me, 9)] == [1]
    repository.remember_name(me, "Gvi", "gavi")
    assert repository.unresolved(me) == []
    assert repository.unresolved_pours(me) == 0


def test_an_intake_can_be_taken_back_and_taken_in_again(repository: Repository, me: int) -> None:
    repository.record_pours(me, intake("kept.csv"), [pour("1")])
    second = repository.record_pours(me, intake(), [pour("1"), pour("2"), pour("3", flight="new")])
    assert second.intake_id is not None
    assert repository.undo_intake(second.intake_id) == 2
    assert [one.draft.fingerprint for one in repository.pours(me)] == ["1"]
    assert [one.name for one in repository.flights(me)] == ["Tuesday"]
    assert [one.undone_at is None for one in repository.intakes(me)] == [False, True]
    assert repository.undo_intake(second.intake_id) == 0
    again = repository.record_pours(me, intake(), [pour("2"), pour("3", flight="new")])
    assert again.added == 2
    with pytest.raises(StorageError, match="no intake"):
        repository.undo_intake(99)


def test_undoing_an_intake_leaves_a_flight_that_later_intakes_joined(
    repository: Repository, me: int
) -> None:
    first = repository.record_pours(me, intake(), [pour("1")])
    repository.record_pours(me, intake(), [pour("2")])
    assert first.intake_id is not None
    repository.undo_intake(first.intake_id)
    assert [one.draft.fingerprint for one in repository.pours(me)] == ["2"]


def test_the_same_pour_may_be_logged_by_two_tasters(repository: Repository, me: int) -> None:
    other = repository.taster("Ada").id
    for taster in (me, other):
        assert repository.record_pours(taster, intake(), [pour("1")]).added == 1
    assert len(repository.confusions(other)) == 1


def test_intakes_may_come_from_several_threads_at_once(repository: Repository, me: int) -> None:
    # Each reads what is known before it writes: without the lock from the start, some would fail.
    failures: list[Exception] = []

    def run(number: int) -> None:
        try:
            for count in range(12):
                repository.record_pours(me, intake(), [pour(f"{number}-{count}"), pour("shared")])
        except Exception as error:  # noqa: BLE001 - reported to the test below
            failures.append(error)

    threads = [threading.Thread(target=run, args=(number,)) for number in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    assert len(repository.pours(me)) == 6 * 12 + 1
    assert len(repository.flights(me)) == 1


drafts = st.lists(
    st.builds(
        lambda number, day: pour(
            f"p{number}", position=number, flight=f"f{number % 3}", tasted_on=day
        ),
        st.integers(0, 8),
        st.sampled_from([None, date(2026, 3, 1), date(2026, 3, 2)]),
    ),
    max_size=9,
    unique_by=lambda draft: draft.fingerprint,
)


@settings(max_examples=60, deadline=None)
@given(drafts, st.data())
def test_however_pours_are_split_over_files_the_same_is_kept(
    rows: list[PourDraft], data: st.DataObject
) -> None:
    def kept(*files: list[PourDraft]) -> tuple[list[PourDraft], list[tuple[str, object, int]]]:
        repository = emptied()
        me = repository.taster().id
        added = sum(repository.record_pours(me, intake(), part).added for part in files)
        assert added == len(rows)
        pours = sorted((one.draft for one in repository.pours(me)), key=lambda one: one.fingerprint)
        flights = [(one.name, one.tasted_on, one.pours) for one in repository.flights(me, 99)]
        return pours, sorted(flights, key=str)

    shuffled = data.draw(st.permutations(rows))
    cut = data.draw(st.integers(0, len(rows)))
    overlap = data.draw(st.integers(0, cut))
    assert kept(shuffled[:cut], shuffled[cut - overlap :]) == kept(rows)
