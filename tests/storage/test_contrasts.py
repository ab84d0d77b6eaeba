"""Contrasts follow the table of wines, and memory stays where the answer stands."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.errors import StorageError
from drills.storage.records import ContrastRecord
from drills.storage.repository import Repository
from tests.desks import answers_of_pair
from tests.storage.making import Wound, answer, contrast, emptied, memory


def in_use(repository: Repository, numbers: range = range(1, 13)) -> dict[int, ContrastRecord]:
    found = (repository.contrast(number) for number in numbers)
    return {row.id: row for row in found if row is not None and row.retired_at is None}


def learnt(repository: Repository, me: int, number: int) -> None:
    drill = repository.start_drill(me, 60)
    repository.record_answer(
        answer(me, number, drill.id, answered_at=drill.began_at), memory(me, number)
    )


def test_contrasts_come_back_as_they_were_given(repository: Repository) -> None:
    rows = [contrast(n, rank=100 - n, sides=n % 3 + 1) for n in range(1, 9)]
    repository.keep_contrasts(iter(rows), "first")
    assert repository.kept_fingerprint() == "first"
    assert [repository.contrast(row.id) for row in rows] == rows
    assert repository.contrast(99) is None


def test_the_contrasts_of_a_pair_come_by_rank_whichever_wine_is_named_first(
    repository: Repository,
) -> None:
    rows = [contrast(n, rank=100 - n) for n in range(4, 8)]
    repository.keep_contrasts([*rows, contrast(8)], "f")
    pair = ("verdejo-0001", "albarino-0001")
    assert repository.contrasts_of_pair(*pair) == list(reversed(rows))
    assert repository.contrasts_of_pair(*reversed(pair)) == list(reversed(rows))
    assert repository.contrasts_of_pair("verdejo-0001", "gavi") == []


def test_a_contrast_that_goes_is_retired_and_keeps_its_memory(
    repository: Repository, me: int
) -> None:
    repository.keep_contrasts([contrast(1), contrast(2)], "f1")
    learnt(repository, me, 1)
    repository.keep_contrasts([contrast(2)], "f2")
    gone = repository.contrast(1)
    assert gone is not None
    assert gone.retired_at is not None
    assert repository.contrasts_of_pair("albarino-0000", "verdejo-0000") == [contrast(2)]
    assert repository.memories(me) == []
    repository.keep_contrasts([contrast(1), contrast(2)], "f3")
    assert repository.contrast(1) == contrast(1)
    assert [row.memory for row in repository.memories(me)] == [memory(me, 1)]


def test_retiring_again_keeps_the_first_date(repository: Repository, wound: Wound) -> None:
    repository.keep_contrasts([contrast(1)], "f1")
    repository.keep_contrasts([], "f2")
    first = repository.contrast(1)
    wound.pass_days(3)
    repository.keep_contrasts([], "f3")
    assert repository.contrast(1) == first


def test_where_the_answer_turned_memory_is_gone_for_all_and_the_answers_stay(
    repository: Repository, me: int
) -> None:
    other = repository.taster("Ada").id
    repository.keep_contrasts([contrast(1), contrast(2)], "f1")
    for taster in (me, other):
        learnt(repository, taster, 1)
        learnt(repository, taster, 2)
    repository.keep_contrasts([contrast(1, bearing="acid:b petrol:b"), contrast(2)], "f2")
    turned = repository.contrast(1)
    assert turned is not None
    assert turned.turned_at is not None
    for taster in (me, other):
        assert repository.memory(taster, 1) is None
        assert repository.memory(taster, 2) is not None
        assert repository.answers_of(taster, 1) == []
        assert len(answers_of_pair(repository, taster, "albarino-0000", "verdejo-0000")) == 2
    learnt(repository, me, 1)
    assert len(repository.answers_of(me, 1)) == 1


@pytest.mark.parametrize(
    "change", [{"rank": 9}, {"strength": 20.25}, {"sides": 1}, {"cues": "petrol+acid"}]
)
def test_other_changes_leave_memory_alone(
    repository: Repository, me: int, change: dict[str, Any]
) -> None:
    repository.keep_contrasts([contrast(1)], "f1")
    learnt(repository, me, 1)
    repository.keep_contrasts([contrast(1, **change)], "f2")
    assert repository.contrast(1) == contrast(1, **change)
    assert repository.memory(me, 1) == memory(me, 1)


@pytest.mark.parametrize(
    "rows",
    [
        [contrast(3), contrast(3)],
        [contrast(3), contrast(1, wine_a="a", wine_b="b")],
        [contrast(3), contrast(4, sides=9)],
    ],
)
def test_a_set_with_an_error_changes_nothing(
    repository: Repository, rows: list[ContrastRecord]
) -> None:
    repository.keep_contrasts([contrast(1)], "f1")
    for attempt in (lambda: repository.keep_contrasts(rows, "f2"), None):
        with pytest.raises(StorageError):
            attempt() if attempt else repository.add_contrasts(rows)
    assert repository.kept_fingerprint() == "f1"
    assert in_use(repository) == {1: contrast(1)}


def test_added_contrasts_come_behind_the_others_in_their_own_order(repository: Repository) -> None:
    repository.keep_contrasts([contrast(1, rank=7), contrast(2, rank=3)], "f")
    repository.add_contrasts([contrast(8, rank=1), contrast(9, rank=0)])
    assert repository.kept_fingerprint() == "f"
    found = in_use(repository)
    assert sorted(found, key=lambda number: found[number].rank) == [2, 1, 9, 8]
    assert replace(found[8], rank=1) == contrast(8, rank=1)


wanted_sets = st.lists(
    st.dictionaries(
        st.integers(1, 12), st.tuples(st.integers(0, 30), st.sampled_from("ab")), max_size=12
    ),
    min_size=1,
    max_size=6,
)


@settings(max_examples=60, deadline=None)
@given(wanted_sets, st.sets(st.integers(1, 12)))
def test_after_any_row_of_changes_the_last_set_is_in_use_and_nothing_was_deleted(
    sets: list[dict[int, tuple[int, str]]], learn: set[int]
) -> None:
    wound = Wound()
    repository = emptied(wound.clock)
    me = repository.taster().id
    ever: set[int] = set()
    remembered: set[int] = set()
    bearings: dict[int, str] = {}
    for number, wanted in enumerate(sets):
        rows = [contrast(n, rank=rank, bearing=way) for n, (rank, way) in wanted.items()]
        repository.keep_contrasts(rows, str(number))
        remembered -= {n for n, (_, way) in wanted.items() if bearings.get(n, way) != way}
        bearings |= {n: way for n, (_, way) in wanted.items()}
        ever |= wanted.keys()
        found = in_use(repository)
        assert {n: (row.rank, row.bearing) for n, row in found.items()} == wanted
        assert all(repository.contrast(n) is not None for n in ever)
        assert {n for n in ever if repository.memory(me, n)} == remembered
        for n in learn & wanted.keys():
            learnt(repository, me, n)
            remembered.add(n)
