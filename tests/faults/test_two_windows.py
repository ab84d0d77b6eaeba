"""Two windows on one file: both answer, one imports meanwhile, and nothing is lost or doubled."""

from __future__ import annotations

import sqlite3
import threading
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from drills.grading import Grade, Sureness
from drills.memory import MemoryModel
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.intake import read, take_in
from drills.service.keeping_safe import keep_safe
from drills.service.traces import as_trace
from drills.storage.records import AnswerRecord, MemoryRecord
from drills.storage.repository import open_repository
from tests.desks import answer, answer_all, wrong_answer
from tests.faults.killing import Server, check, new_home
from tests.storage.making import spawn

# One wine of each pair leaves no doubt which card is meant.
PAIR = ("sauvignon-marlborough", "sauvignon-sancerre")
ANSWERING = """
import sys
from drills.grading import Sureness
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from tests.desks import right_answer

desk = Desk(sys.argv[1])
session = DrillSession(desk, 36_000)
print("ready", flush=True)
sys.stdin.readline()
for number in range(int(sys.argv[2])):
    session.answer(right_answer(session.next()), Sureness.SURE, 3.0)
    if number % 5 == 4:
        session.undo()
print("done", flush=True)
"""


def check_memory(file: Path) -> int:
    """Memory follows from the answers that stand; returns how many answers there are."""
    model, number = MemoryModel(), 0
    with open_repository(file) as repository:
        me = repository.taster().id
        for one in repository.drills(me):
            number += len(repository.answers_of_drill(one.id))
        for row in repository.memories(me):
            kept = repository.answers_of(me, row.contrast.id)
            assert as_trace(row.memory) == model.replay((Grade(a.grade), a.day) for a in kept)
    with closing(sqlite3.connect(file)) as reader:
        assert reader.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert reader.execute("PRAGMA foreign_key_check").fetchall() == []
    return number


def test_two_drills_at_once_keep_every_answer(copied: Path) -> None:
    file = copied / "crosspour.sqlite3"
    windows = [spawn(ANSWERING, file, 30) for _ in range(2)]
    for one in windows:
        assert one.stdout is not None
        assert one.stdout.readline() == "ready\n"
    for one in windows:
        assert one.stdin is not None
        one.stdin.write("go\n")
        one.stdin.flush()
    assert [one.communicate(timeout=60)[0] for one in windows] == ["done\n", "done\n"]
    assert check_memory(file) == 60


def test_an_import_during_a_drill_disturbs_neither(copied: Path, tmp_path: Path) -> None:
    file = copied / "crosspour.sqlite3"
    rows = [f"2026-02-{n % 28 + 1:02d},Barolo,Taurasi {n}" for n in range(1500)]
    flights = tmp_path / "flights.csv"
    flights.write_text("\n".join(["date,called,was", *rows]), encoding="utf-8")
    window = spawn(ANSWERING, file, 25)
    assert window.stdout is not None
    assert window.stdout.readline() == "ready\n"
    assert window.stdin is not None
    window.stdin.write("go\n")
    window.stdin.flush()
    desk = Desk(str(file))
    with read(desk, str(flights)) as intake:
        assert take_in(desk, intake).pours == 1500
    desk.close()
    assert window.communicate(timeout=60)[0] == "done\n"
    assert check_memory(file) == 25


def test_a_card_answered_in_both_windows_counts_both_answers(open_desk: Callable[[], Desk]) -> None:
    one, other = (DrillSession(open_desk(), 600, pair=PAIR) for _ in range(2))
    first, second = one.next(), other.next()
    assert first is not None
    assert second is not None
    assert first.question.contrast.id == second.question.contrast.id
    answer_all(one, 3)
    answer_all(other, 3)
    desk = open_desk()
    check_memory(Path(desk.location))
    counted = Counter(
        row.memory.answers for row in desk.repository.memories(desk.taster.id) if row.memory
    )
    assert sum(number * times for number, times in counted.items()) == 6
    # Taking one's own back leaves the other's.
    one.undo()
    other.undo()
    assert check_memory(Path(desk.location)) == 6
    kept = [row.memory for row in desk.repository.memories(desk.taster.id)]
    assert sum(memory.answers for memory in kept if memory) == 4


def test_an_answer_counts_beside_one_given_since_its_card_was_read(
    open_desk: Callable[[], Desk],
) -> None:
    one, other = (DrillSession(open_desk(), 600, pair=PAIR) for _ in range(2))
    showing = one.next()
    assert showing is not None
    one.read_ahead()
    answer(other)
    one.answer(wrong_answer(showing), Sureness.SURE, 6.0)
    (row,) = one.desk.repository.memories(one.desk.taster.id)
    assert row.memory is not None
    assert (row.memory.answers, row.memory.slips) == (2, 1)
    assert check_memory(Path(one.desk.location)) == 2


def test_an_answer_that_another_window_overtook_counts_as_well(
    open_desk: Callable[[], Desk], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other answers between this one's look at the memory and its commit."""
    desk = open_desk()
    one, other = (DrillSession(at, 600, pair=PAIR) for at in (desk, open_desk()))
    look = desk.repository.memory
    showing = one.next()
    assert showing is not None

    def look_and_be_overtaken(taster: int, contrast: int) -> MemoryRecord | None:
        found = look(taster, contrast)
        answer(other)
        return found

    with monkeypatch.context() as patch:
        patch.setattr(desk.repository, "memory", look_and_be_overtaken)
        one.answer(wrong_answer(showing), Sureness.SURE, 6.0)
    (row,) = desk.repository.memories(desk.taster.id)
    assert row.memory is not None
    assert (row.memory.answers, row.memory.slips) == (2, 1)
    assert check_memory(Path(desk.location)) == 2
    answers_of = desk.repository.answers_of

    def look_back_and_be_overtaken(taster: int, contrast: int) -> list[AnswerRecord]:
        found = answers_of(taster, contrast)
        other.undo()
        return found

    monkeypatch.setattr(desk.repository, "answers_of", look_back_and_be_overtaken)
    one.undo()
    assert desk.repository.memories(desk.taster.id) == []


def test_an_undo_does_not_take_back_what_another_window_answered_since(
    open_desk: Callable[[], Desk],
) -> None:
    one, other = (DrillSession(open_desk(), 600, pair=PAIR) for _ in range(2))
    answer(one)
    answer(other, right=False)
    one.undo()
    desk = open_desk()
    (row,) = desk.repository.memories(desk.taster.id)
    assert row.memory is not None
    assert (row.memory.answers, row.memory.slips) == (1, 1)


def test_two_windows_make_one_backup_of_a_day(open_desk: Callable[[], Desk]) -> None:
    desks = [open_desk(), open_desk()]
    answer(DrillSession(desks[0], 600))
    made: list[object] = []
    threads = [threading.Thread(target=lambda d=d: made.append(keep_safe(d))) for d in desks]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sum(one is not None for one in made) == 1


def test_a_window_goes_on_where_another_was_killed(furnished: Path, tmp_path: Path) -> None:
    """What a killed process held of locks and of the log is no hindrance to the next."""
    home = new_home(furnished, tmp_path / "home", "drill", 1)
    with Server() as server:
        ended = server.run("drill", home, 1, 200)
    assert ended.killed
    with open_repository(home / "crosspour.sqlite3") as repository:
        drill = repository.start_drill(repository.taster().id, 600)
        repository.end_drill(drill.id)
    check(ended)
