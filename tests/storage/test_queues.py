"""What waits is found by index, and is what plain reasoning says it is."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import event

from drills.storage.records import ContrastRecord, Counts, MemoryRecord
from drills.storage.repository import Repository, open_repository
from tests.storage.making import DAY, START, Wound, answer, contrast, emptied, intake, memory, pour

_PAIR_2 = {"wine_a": "chablis", "wine_b": "muscadet"}


def numbers(rows: list[Any]) -> list[int]:
    return [row.contrast.id for row in rows]


def confuse(repository: Repository, me: int, pair: int, fingerprint: str) -> None:
    wines = {"called_wine": f"verdejo-{pair:04d}", "was_wine": f"albarino-{pair:04d}"}
    repository.record_pours(me, intake(), [pour(fingerprint, **wines)])


def test_unseen_contrasts_come_in_the_order_of_introduction(repository: Repository) -> None:
    me = repository.taster().id
    repository.keep_contrasts([contrast(n, rank=-n) for n in range(1, 10)], "f")
    repository.keep_contrasts([contrast(n, rank=-n) for n in range(1, 9)], "g")
    repository.keep_memories([memory(me, 7)])
    assert numbers(repository.unseen(me, 4)) == [8, 6, 5, 4]
    assert all(row.memory is None for row in repository.unseen(me, 4))


def test_due_contrasts_come_longest_overdue_first(repository: Repository, me: int) -> None:
    repository.keep_contrasts([contrast(n) for n in range(1, 6)], "f")
    for number, due in {1: 4, 2: 2, 3: 3, 4: 2, 5: 5}.items():
        repository.keep_memories([memory(me, number, due_day=DAY + due)])
    assert numbers(repository.due(me, DAY + 4, 9)) == [2, 4, 3, 1]
    assert numbers(repository.due(me, DAY + 4, 2)) == [2, 4]
    assert repository.due(me, DAY + 1, 9) == []
    assert repository.next_due_day(me) == DAY + 2
    assert repository.due_forecast(me, DAY + 2, 3) == (2, 1, 1)
    assert repository.due_forecast(me, DAY + 4, 0) == ()


def test_what_waits_can_be_kept_to_pairs_of_some_wines(repository: Repository, me: int) -> None:
    pairs = {1: ("albarino", "chablis"), 2: ("chablis", "muscadet"), 3: ("barolo", "chablis")}
    repository.keep_contrasts(
        [contrast(n, wine_a=one, wine_b=other) for n, (one, other) in pairs.items()], "f"
    )
    whites = frozenset({"albarino", "chablis", "muscadet"})
    assert numbers(repository.unseen(me, 9, whites)) == [1, 2]
    repository.keep_memories([memory(me, n, due_day=DAY) for n in pairs])
    assert numbers(repository.due(me, DAY, 9, whites)) == [1, 2]
    assert numbers(repository.due(me, DAY, 9)) == [1, 2, 3]
    for number, (one, other) in pairs.items():
        wines = {"called_wine": one, "was_wine": other}
        repository.record_pours(me, intake(), [pour(str(number), **wines)])
    assert sorted(numbers(repository.urgent(me, 9, whites))) == [1, 2]
    assert repository.urgent(me, 9, frozenset({"albarino"})) == []


def test_a_confusion_is_urgent_until_answered_and_again_when_repeated(
    repository: Repository, me: int, wound: Wound
) -> None:
    repository.keep_contrasts([contrast(n) for n in range(4, 12)], "f")
    drill = repository.start_drill(me, 600)

    def answered(number: int) -> None:
        now = wound.tick()
        repository.record_answer(
            answer(me, number, drill.id, answered_at=now), memory(me, number, last_at=now)
        )

    assert repository.urgent(me, 9) == []
    answered(5)
    confuse(repository, me, 1, "first")
    assert numbers(repository.urgent(me, 9)) == [4, 5, 6, 7]
    confuse(repository, me, 2, "second")
    assert numbers(repository.urgent(me, 6)) == [8, 9, 10, 11, 4, 5]
    for number in (4, 5, 6, 7, 8):
        answered(number)
    assert numbers(repository.urgent(me, 9)) == [9, 10, 11]
    confuse(repository, me, 1, "third")
    assert numbers(repository.urgent(me, 5)) == [4, 5, 6, 7, 9]
    assert repository.counts(me, DAY) == Counts(urgent=7, due=0, unseen=3)


def test_of_one_file_the_pair_confused_most_often_comes_first(
    repository: Repository, me: int
) -> None:
    repository.keep_contrasts([contrast(1, rank=1), contrast(2, rank=2, **_PAIR_2)], "f")
    once = pour("once", called_wine="verdejo-0000", was_wine="albarino-0000")
    twice = [
        pour(f"twice {n}", called_wine=_PAIR_2["wine_b"], was_wine=_PAIR_2["wine_a"])
        for n in (1, 2)
    ]
    repository.record_pours(me, intake(), [once, *twice])
    assert numbers(repository.urgent(me, 9)) == [2, 1]


def test_only_an_answer_from_before_the_confusion_leaves_it_urgent(
    repository: Repository, me: int, wound: Wound
) -> None:
    repository.keep_contrasts([contrast(1), contrast(2), contrast(3)], "f")
    confuse(repository, me, 0, "one")
    moment = wound.at
    for number, later in {1: -1, 2: 0, 3: 1}.items():
        answered = moment + timedelta(microseconds=later)
        repository.keep_memories([memory(me, number, last_at=answered)])
    assert numbers(repository.urgent(me, 9)) == [1]


def test_what_one_taster_confuses_or_learns_is_no_other_tasters(repository: Repository) -> None:
    me, other = repository.taster().id, repository.taster("Ada").id
    repository.keep_contrasts([contrast(n) for n in range(1, 4)], "f")
    repository.keep_memories([memory(me, 1)])
    confuse(repository, me, 0, "mine")
    assert repository.counts(other, DAY + 9) == Counts(urgent=0, due=0, unseen=3)
    assert repository.next_due_day(other) is None
    assert repository.memories(other) == []


contrasts = st.dictionaries(
    st.integers(1, 20),
    st.builds(
        lambda rank, pair, retired: (rank, pair, retired),
        st.integers(0, 9),
        st.integers(0, 3),
        st.booleans(),
    ),
    max_size=20,
)
seen = st.dictionaries(
    st.integers(1, 20), st.tuples(st.integers(0, 6), st.integers(0, 8)), max_size=20
)
confused = st.lists(st.tuples(st.integers(0, 3), st.integers(0, 8)), max_size=6)


@settings(max_examples=150, deadline=None)
@given(contrasts, seen, confused, st.integers(0, 6), st.integers(0, 12))
def test_the_queues_are_what_a_plain_reading_of_all_rows_gives(
    cellar: dict[int, tuple[int, int, bool]],
    learnt: dict[int, tuple[int, int]],
    mixed: list[tuple[int, int]],
    today: int,
    limit: int,
) -> None:
    wound = Wound()
    rows = {
        n: contrast(n, rank=rank, wine_a=f"a{pair}", wine_b=f"b{pair}")
        for n, (rank, pair, _) in cellar.items()
    }
    repository = emptied(wound.clock)
    me = repository.taster().id
    repository.keep_contrasts(rows.values(), "all")
    memories = {
        n: memory(me, n, due_day=DAY + due, last_at=START + timedelta(days=at), last_day=DAY - 9)
        for n, (due, at) in learnt.items()
        if n in rows
    }
    newest: dict[int, datetime] = {}
    # Half a day off, so that no confusion falls together with an answer.
    for number, (pair, at) in enumerate(sorted(mixed, key=lambda one: one[1])):
        wound.at = START + timedelta(days=at + 0.5, seconds=number)
        newest[pair] = wound.at + timedelta(seconds=1)
        wines = {"called_wine": f"b{pair}", "was_wine": f"a{pair}"}
        repository.record_pours(me, intake(), [pour(str(number), **wines)])
    # Last, for a pour is never logged as older than the newest answer.
    repository.keep_memories(list(memories.values()))
    used = {n: row for n, row in rows.items() if not cellar[n][2]}
    repository.keep_contrasts(used.values(), "used")

    def order(n: int) -> tuple[int, int]:
        return (used[n].rank, n)

    def newest_of(n: int) -> datetime | None:
        return newest.get(int(used[n].wine_a[1:]))

    def is_urgent(n: int) -> bool:
        at = newest_of(n)
        return at is not None and (n not in memories or at > memories[n].last_at)

    urgent = sorted(
        filter(is_urgent, used), key=lambda n: (START - (newest_of(n) or START), *order(n))
    )
    due = sorted(
        (n for n in used if n in memories and memories[n].due_day <= DAY + today),
        key=lambda n: (memories[n].due_day, *order(n)),
    )
    unseen = sorted((n for n in used if n not in memories), key=order)
    assert numbers(repository.urgent(me, limit)) == urgent[:limit]
    assert numbers(repository.due(me, DAY + today, limit)) == due[:limit]
    assert numbers(repository.unseen(me, limit)) == unseen[:limit]
    assert repository.counts(me, DAY + today) == Counts(len(urgent), len(due), len(unseen))
    waiting = [memories[n].due_day for n in used if n in memories]
    assert repository.next_due_day(me) == min(waiting, default=None)
    expected = tuple(waiting.count(DAY + day) for day in range(today, today + 5))
    assert repository.due_forecast(me, DAY + today, 5) == expected
    for row in repository.urgent(me, 99) + repository.memories(me):
        assert row.contrast == used[row.contrast.id]
        assert row.memory == memories.get(row.contrast.id)


@pytest.fixture
def large(file: Path) -> Iterator[Repository]:
    """Enough rows that the planner of the database has to choose, and its statistics."""
    with open_repository(file) as repository:
        me = repository.taster().id
        repository.keep_contrasts([contrast(n) for n in range(1, 2001)], "f")
        drill = repository.start_drill(me, 600)
        sample = answer(me, 1, drill.id)
        with repository.writing() as connection:
            from drills.storage.columns import ANSWER

            values = [
                {
                    **{name: getattr(sample, name) for name in sample.__slots__},
                    "id": None,
                    "contrast_id": n % 1500 + 1,
                    "day": DAY - n % 300,
                }
                for n in range(6000)
            ]
            connection.execute(ANSWER.insert(), values)
        repository.keep_memories([memory(me, n, due_day=DAY + n % 60) for n in range(1, 1501)])
        for number in range(40):
            confuse(repository, me, number, str(number))
        yield repository


@contextmanager
def statements(repository: Repository) -> Iterator[list[tuple[str, Any]]]:
    seen: list[tuple[str, Any]] = []

    def note(_c: Any, _cursor: Any, statement: str, parameters: Any, *_rest: Any) -> None:
        seen.append((statement, parameters))

    event.listen(repository._engine, "before_cursor_execute", note)
    try:
        yield seen
    finally:
        event.remove(repository._engine, "before_cursor_execute", note)


@pytest.mark.parametrize("analysed", [False, True])
def test_no_question_asked_during_a_drill_reads_all_answers(
    large: Repository, file: Path, analysed: bool
) -> None:
    me = large.taster().id
    if analysed:
        with large.writing() as connection:
            connection.exec_driver_sql("ANALYZE")
    with statements(large) as asked:
        assert len(large.urgent(me, 20)) == 20
        assert len(large.due(me, DAY, 20)) == 20
        assert len(large.unseen(me, 20)) == 20
        queues = len([text for text, _ in asked if text.startswith("SELECT")])
        large.counts(me, DAY)
        large.next_due_day(me)
        large.due_forecast(me, DAY, 30)
        large.answers_of(me, 5)
        large.answers_of_drill(1)
        large.answers_between(me, DAY, DAY)
        large.recent_seconds(me, "which glass")
        large.last_side_counts(me)
        large.card_times(me, 400)
        large.slips_of_day(me, DAY)
    assert queues == 3
    plans: list[tuple[str, list[str]]] = []
    with closing(sqlite3.connect(file)) as reader:
        for text, parameters in asked:
            if text.startswith("SELECT"):
                rows = reader.execute(f"EXPLAIN QUERY PLAN {text}", parameters).fetchall()
                plans.append((text, [row[3] for row in rows]))
    assert len(plans) == 15
    for text, steps in plans:
        assert not [step for step in steps if step.startswith("SCAN answer")], (text, steps)
    for text, steps in plans[:3]:
        assert not [step for step in steps if "answer" in step], (text, steps)
    assert any("ix_memory_taster_id_due_day" in step for step in plans[1][1])
    assert any("ix_contrast_rank" in step for step in plans[2][1])


def test_records_are_plain_values_that_cannot_change(large: Repository) -> None:
    row = large.due(large.taster().id, DAY, 1)[0]
    assert isinstance(row.contrast, ContrastRecord)
    assert isinstance(row.memory, MemoryRecord)
    with pytest.raises(AttributeError):
        row.contrast.rank = 3  # type: ignore[misc]
    assert replace(row.contrast, rank=3).rank == 3
    assert not hasattr(row.memory, "__dict__")
