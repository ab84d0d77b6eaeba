"""What a study group's server does otherwise than a file."""

from __future__ import annotations

import threading

import pytest

from drills.errors import (
    ConnectionLost,
    DatabaseLocked,
    DatabaseReadOnly,
    DatabaseStandingBy,
    StorageError,
)
from drills.storage.engine import WRITES
from drills.storage.records import CandidateRow, ObservationRow
from drills.storage.repository import Repository, open_repository
from drills.storage.server import server_error
from tests.storage.making import DAY, Wound, answer, contrast, intake, memory, pour

KINDS = ("server",)


def test_a_server_keeps_what_a_file_keeps(repository: Repository, wound: Wound) -> None:
    me = repository.taster().id
    first = 2**63 - 100
    repository.keep_contrasts([contrast(n, id=first + n) for n in range(1, 50)], "f")
    drill = repository.start_drill(me, 600)
    repository.record_pours(me, intake(), [pour("1"), pour("2", tasted_on=None)])
    assert repository.record_pours(me, intake(), [pour("1")]).added == 0
    assert [row.contrast.id - first for row in repository.urgent(me, 9)] == [1, 2, 3]
    at = wound.tick()
    left = memory(me, first + 2, last_at=at)
    number = repository.record_answer(answer(me, first + 2, drill.id, answered_at=at), left)
    assert [row.contrast.id - first for row in repository.urgent(me, 9)] == [1, 3]
    assert repository.due(me, DAY + 3, 9)[0].memory == left
    assert len(repository.unseen(me, 99)) == 48
    assert repository.due_forecast(me, DAY, 5) == (0, 0, 0, 1, 0)
    assert repository.last_side_counts(me).left == 1
    assert repository.undo_answer(number, None)
    assert repository.memory(me, first + 2) is None


def test_members_of_a_group_may_write_at_the_same_moment(
    repository: Repository, where: str
) -> None:
    failures: list[Exception] = []

    def run(name: str) -> None:
        try:
            with open_repository(where, wait_seconds=20) as mine:
                me = mine.taster(name).id
                mine.keep_contrasts([contrast(n) for n in range(1, 300)], "f")
                drill = mine.start_drill(me, 60).id
                for count in range(1, 9):
                    mine.record_answer(answer(me, 7, drill), memory(me, 7, answers=count))
        except Exception as error:  # noqa: BLE001 - reported to the test below
            failures.append(error)

    threads = [threading.Thread(target=run, args=(name,)) for name in ("Ada", "Ada", "Ben", "Cy")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    assert [taster.name for taster in repository.tasters()] == ["Ada", "Ben", "Cy"]
    ada = repository.taster("Ada").id
    assert len(repository.answers_of(ada, 7)) == 16


def test_a_server_says_why_it_cannot_write(repository: Repository, where: str) -> None:
    with open_repository(where, readonly=True) as reader, pytest.raises(DatabaseReadOnly):
        reader.taster("Ada")
    with repository.writing(), open_repository(where, readonly=True) as other:
        assert other.tasters() == []
        writer = other._engine.execution_options(**{WRITES: True})
        other.readonly, other._writer = False, writer
        with pytest.raises(DatabaseLocked):
            other.taster("Ada")


def test_full_notes_are_kept_resolved_and_counted_on_a_server(repository: Repository) -> None:
    me = repository.taster().id
    rows = (ObservationRow("acid", "high"), ObservationRow("alcohol", "13.5", "13,5"))
    considered = (CandidateRow("Verdjo"),)
    noted = {"observations": rows, "candidates": considered, "label_alcohol": 12.5}
    waits = pour("1", called_text="Verdjo", called_wine=None, **noted)
    draft = repository.save_draft(me, "{}")
    flight = repository.record_flight(me, "Club", None, [waits, pour("2", **noted)], draft_id=draft)
    more = [pour(f"m{number}", **noted) for number in range(1200)]
    assert repository.record_pours(me, intake(), more).added == 1200
    kept = repository.pours(me, flight, full=True)
    assert [one.draft.observations for one in kept] == [rows, rows]
    assert repository.drafts(me) == []
    assert repository.remember_name(me, "Verdjo", "verdejo-0000") == 1
    after = repository.pours(me, flight, full=True)
    assert after[0].draft.called_wine == "verdejo-0000"
    assert after[0].draft.candidates == (CandidateRow("Verdjo", "verdejo-0000"),)
    assert after[0].logged_at > kept[0].logged_at
    assert [one.field for one in repository.changes(after[0].id)] == ["called_wine"]
    assert [(row.attribute, row.times) for row in repository.reading_counts(me, 9999)] == [
        ("acid", 1202)
    ]
    assert [(row.called, row.times) for row in repository.alcohol_counts(me, 9999)] == [
        (13.5, 1202)
    ]


@pytest.mark.parametrize(
    ("state", "kind"),
    [
        ("40P01", DatabaseLocked),
        ("53100", DatabaseLocked),
        ("53300", ConnectionLost),
        ("25006", DatabaseReadOnly),
        ("42501", DatabaseReadOnly),
        ("23503", StorageError),
    ],
)
def test_a_servers_errors_become_ours_by_their_state(state: str, kind: type[StorageError]) -> None:
    """States: PostgreSQL 15 manual, appendix A."""

    class DriverError(Exception):
        sqlstate = state

    found = server_error("postgresql://ada@wine.example/group", DriverError("the reason\nand more"))
    assert type(found) is (DatabaseStandingBy if state == "25006" else kind)
    assert isinstance(found, kind)
    assert "\n" not in str(found)
