"""Answers and the memory they leave stand or fall together."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.errors import StorageError
from drills.storage.records import AnswerRecord, MemoryRecord, SideCounts
from drills.storage.repository import Repository
from tests.storage.making import DAY, Wound, answer, contrast, emptied, memory


@pytest.fixture
def drill(repository: Repository, me: int) -> int:
    repository.keep_contrasts([contrast(n) for n in range(1, 10)], "f")
    return repository.start_drill(me, 600).id


def test_an_answer_comes_back_as_it_was_given(repository: Repository, me: int, drill: int) -> None:
    given_in = answer(me, 1, drill, swapped=True, truth="b", given="été", sureness=1, seconds=2.25)
    number = repository.record_answer(given_in, memory(me, 1))
    (kept,) = repository.answers_of(me, 1)
    assert kept == replace(given_in, id=number, receipt=kept.receipt)
    # Only what travels to a server needs one.
    assert (kept.receipt is not None) == repository.on_server
    assert repository.answers_of_drill(drill) == [kept]
    assert repository.memory(me, 1) == memory(me, 1)


def test_an_answer_that_is_tried_again_is_kept_once_with_its_memory(
    repository: Repository, me: int, drill: int
) -> None:
    one = answer(me, 1, drill, receipt=77)
    number = repository.record_answer(one, memory(me, 1))
    assert repository.record_answer(one, memory(me, 1), again=True) == number
    assert len(repository.answers_of_drill(drill)) == 1
    assert repository.memory(me, 1) == memory(me, 1)
    other = answer(me, 2, drill, receipt=78)
    assert repository.record_answer(other, memory(me, 2), again=True) != number
    assert repository.memory(me, 2) == memory(me, 2)


def test_an_answer_kept_late_leaves_no_memory_where_its_contrast_has_turned_since(
    repository: Repository, me: int, drill: int, wound: Wound
) -> None:
    given_in = answer(me, 1, drill, answered_at=wound.tick(), receipt=77)
    turned = [replace(contrast(n), bearing="turned") for n in range(1, 10)]
    repository.keep_contrasts(turned, "g")
    repository.record_answer(given_in, memory(me, 1), again=True)
    assert repository.memory(me, 1) is None
    assert [one.receipt for one in repository.answers_of_drill(drill)] == [77]


def test_a_check_that_does_not_count_leaves_memory_as_it_is(
    repository: Repository, me: int, drill: int
) -> None:
    repository.record_answer(answer(me, 1, drill), memory(me, 1))
    check = repository.record_answer(answer(me, 1, drill, counts=False), None)
    assert repository.memory(me, 1) == memory(me, 1)
    assert len(repository.answers_of(me, 1)) == 1
    assert repository.undo_answer(check, None)
    assert repository.memory(me, 1) == memory(me, 1)
    assert len(repository.answers_of_drill(drill)) == 2


@pytest.mark.parametrize(
    ("changes", "left"),
    [
        ({"counts": False}, memory(1, 1)),
        ({}, None),
        ({}, memory(1, 2)),
        ({}, memory(2, 1)),
    ],
)
def test_a_memory_that_is_not_the_answers_own_is_refused(
    repository: Repository,
    me: int,
    drill: int,
    changes: dict[str, Any],
    left: MemoryRecord | None,
) -> None:
    with pytest.raises(ValueError, match="memory"):
        repository.record_answer(answer(me, 1, drill, **changes), left)
    assert repository.answers_of_drill(drill) == []


@pytest.mark.parametrize(
    "wrong", [{"due_day": DAY - 1}, {"slips": 2}, {"slips": -1}, {"stability": 0.0}]
)
def test_an_answer_whose_memory_is_refused_is_not_kept_either(
    repository: Repository, me: int, drill: int, wrong: dict[str, Any]
) -> None:
    with pytest.raises(StorageError):
        repository.record_answer(answer(me, 1, drill), memory(me, 1, **wrong))
    assert repository.answers_of_drill(drill) == []
    assert repository.memory(me, 1) is None


def test_undoing_the_first_answer_makes_the_contrast_unseen_again(
    repository: Repository, me: int, drill: int
) -> None:
    number = repository.record_answer(answer(me, 1, drill), memory(me, 1))
    assert 1 not in [row.contrast.id for row in repository.unseen(me, 99)]
    assert repository.undo_answer(number, None)
    assert 1 in [row.contrast.id for row in repository.unseen(me, 99)]
    (kept,) = repository.answers_of_drill(drill)
    assert kept.undone_at is not None
    assert not repository.undo_answer(number, memory(me, 1))
    assert repository.memory(me, 1) is None
    assert repository.answers_of_drill(drill) == [kept]


def test_an_answer_that_does_not_exist_cannot_be_undone(repository: Repository) -> None:
    with pytest.raises(StorageError, match="no answer 7"):
        repository.undo_answer(7, None)


def test_undoing_an_answer_from_before_the_contrast_turned_leaves_the_new_memory(
    repository: Repository, me: int, drill: int, wound: Wound
) -> None:
    old = repository.record_answer(answer(me, 1, drill), memory(me, 1))
    repository.keep_contrasts([contrast(1, bearing="acid:b")], "g")
    newer = memory(me, 1, stability=8.0)
    repository.record_answer(answer(me, 1, drill, answered_at=wound.tick()), newer)
    assert repository.undo_answer(old, None)
    assert repository.memory(me, 1) == newer


def test_a_drill_has_a_beginning_an_end_and_answers(
    repository: Repository, me: int, wound: Wound
) -> None:
    first = repository.start_drill(me, 600, "train")
    repository.end_drill(first.id)
    ended_at = wound.at
    repository.end_drill(first.id)
    second = repository.start_drill(me, 300)
    assert repository.drills(me) == [second, replace(first, ended_at=ended_at)]
    assert (second.planned_seconds, second.ended_at, first.note) == (300, None, "train")
    with pytest.raises(StorageError, match="no drill"):
        repository.end_drill(99)


def test_recent_times_are_of_one_form_newest_first_without_the_undone(
    repository: Repository, me: int, drill: int
) -> None:
    for number in range(6):
        form = "which cue" if number == 2 else "which glass"
        kept = answer(me, 1, drill, seconds=float(number), form=form, counts=False)
        last = repository.record_answer(kept, None)
    repository.undo_answer(last, None)
    assert repository.recent_seconds(me, "which glass") == [4.0, 3.0, 1.0, 0.0]
    assert repository.recent_seconds(me, "which glass", limit=2) == [4.0, 3.0]
    assert repository.recent_seconds(me, "name it") == []


def test_times_of_cards_are_the_latest_of_all_forms_drill_by_drill(
    repository: Repository, me: int, drill: int
) -> None:
    other = repository.start_drill(me, 600).id
    for number in range(6):
        form = "which cue" if number == 2 else "which glass"
        of = other if number % 2 else drill
        kept = answer(me, 1, of, seconds=float(number), form=form, counts=False)
        last = repository.record_answer(
            replace(kept, answered_at=kept.answered_at + timedelta(seconds=number)), None
        )
    repository.undo_answer(last, None)
    found = repository.card_times(me, 4)
    assert [(one.drill_id, one.seconds) for one in found] == [
        (drill, 2.0),
        (drill, 4.0),
        (other, 1.0),
        (other, 3.0),
    ]
    assert [one.form for one in found] == ["which cue"] + ["which glass"] * 3
    assert found[0].began_at == repository.drills(me)[1].began_at


def test_slips_of_a_day_are_counted_ones_that_stand_with_whether_they_came_back(
    repository: Repository, me: int, drill: int
) -> None:
    def give(number: int, **changes: Any) -> int:
        kept = answer(me, number, drill, **{"correct": False, "grade": 1, **changes})
        return repository.record_answer(kept, memory(me, number) if kept.counts else None)

    give(1)
    give(2, truth="b")
    give(3, correct=True, grade=3)
    give(4, grade=2)
    give(5, day=DAY - 1)
    undone = give(6)
    repository.undo_answer(undone, None)
    give(1, counts=False)
    found = repository.slips_of_day(me, DAY)
    assert [(one.contrast_id, one.truth, one.checked) for one in found] == [
        (1, "a", True),
        (2, "b", False),
    ]
    assert (found[0].wine_a, found[0].wine_b) == (contrast(1).wine_a, contrast(1).wine_b)


def test_a_drill_can_be_planned_longer(repository: Repository, me: int, drill: int) -> None:
    repository.plan_longer(drill, 720)
    assert [one.planned_seconds for one in repository.drills(me)] == [720]


def test_a_share_of_the_contrasts_comes_with_all_their_answers_and_always_the_same(
    repository: Repository, me: int, drill: int
) -> None:
    for number in range(1, 10):
        for day in (DAY, DAY + 1):
            repository.record_answer(answer(me, number, drill, day=day), memory(me, number))
    whole = repository.graded(me)
    assert [row[0] for row in whole] == [number for number in range(1, 10) for _ in range(2)]
    assert repository.graded(me, one_in=3) == [row for row in whole if row[0] % 3 == 0]
    assert repository.answers_before(me, DAY) == 0
    assert repository.answers_before(me, DAY + 1) == 9
    assert repository.answers_before(me, DAY + 9) == 18


def test_answers_of_a_span_of_days(repository: Repository, me: int, drill: int) -> None:
    for number in range(5):
        repository.record_answer(answer(me, 1, drill, day=DAY + number, counts=False), None)
    found = repository.answers_between(me, DAY + 1, DAY + 3)
    assert [row.day - DAY for row in found] == [1, 2, 3]


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.sampled_from("ab"), st.booleans(), st.booleans()), max_size=12),
    st.integers(1, 12),
)
def test_the_sides_of_the_truth_are_counted_over_the_latest_answers(
    given_in: list[tuple[str, bool, bool]], limit: int
) -> None:
    repository = emptied()
    me = repository.taster().id
    repository.keep_contrasts([contrast(1)], "f")
    drill = repository.start_drill(me, 60).id
    for truth, swapped, undone in given_in:
        kept = answer(me, 1, drill, truth=truth, swapped=swapped, counts=False)
        number = repository.record_answer(kept, None)
        if undone:
            repository.undo_answer(number, None)
    lately = [(truth, swapped) for truth, swapped, undone in given_in if not undone][-limit:]
    # Unswapped, wine a stands on the left.
    left = sum((truth == "a") != swapped for truth, swapped in lately)
    a = sum(truth == "a" for truth, _ in lately)
    expected = SideCounts(a=a, b=len(lately) - a, left=left, right=len(lately) - left)
    assert repository.last_side_counts(me, limit) == expected


steps = st.lists(
    st.one_of(
        st.tuples(st.just("answer"), st.integers(1, 3), st.booleans()),
        st.tuples(st.just("undo"), st.integers(0, 15), st.none()),
        st.tuples(st.just("turn"), st.integers(1, 3), st.none()),
    ),
    max_size=16,
)


@settings(max_examples=80, deadline=None)
@given(steps)
def test_memory_always_is_what_replaying_the_answers_gives(
    taken: list[tuple[str, int, bool | None]],
) -> None:
    wound = Wound()

    def replay(me: int, number: int, answers: list[AnswerRecord]) -> MemoryRecord | None:
        if not answers:
            return None
        count = len(answers)
        return memory(me, number, answers=count, last_at=answers[-1].answered_at)

    repository = emptied(wound.clock)
    me = repository.taster().id
    bearings = dict.fromkeys(range(1, 4), 0)
    standing: dict[int, list[AnswerRecord]] = {1: [], 2: [], 3: []}

    def keep() -> None:
        rows = [contrast(n, bearing=str(way)) for n, way in bearings.items()]
        repository.keep_contrasts(rows, "f")

    keep()
    drill = repository.start_drill(me, 60).id
    given_in: list[AnswerRecord] = []
    for kind, number, counts in taken:
        if kind == "answer":
            made = answer(me, number, drill, answered_at=wound.tick(), counts=bool(counts))
            after = [*standing[number], made] if counts else standing[number]
            left = replay(me, number, after) if counts else None
            made = replace(made, id=repository.record_answer(made, left))
            given_in.append(made)
            if counts:
                standing[number].append(made)
        elif kind == "turn":
            bearings[number] += 1
            standing[number] = []
            keep()
        elif number < len(given_in):
            undone = given_in[number]
            remaining = [row for row in standing[undone.contrast_id] if row != undone]
            standing[undone.contrast_id] = remaining
            assert undone.id is not None
            restored = replay(me, undone.contrast_id, remaining)
            repository.undo_answer(undone.id, restored)
        for n, expected in standing.items():
            assert repository.answers_of(me, n) == expected
            assert repository.memory(me, n) == replay(me, n, expected)


def test_answers_may_come_from_several_threads_at_once(
    repository: Repository, me: int, drill: int
) -> None:
    failures: list[Exception] = []

    def run(number: int) -> None:
        try:
            for count in range(1, 16):
                kept = memory(me, number, answers=count)
                repository.record_answer(answer(me, number, drill), kept)
                repository.due(me, DAY + 9, 5)
        except Exception as error:  # noqa: BLE001 - reported to the test below
            failures.append(error)

    threads = [threading.Thread(target=run, args=(number,)) for number in range(1, 7)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    assert len(repository.answers_of_drill(drill)) == 90
    assert [repository.memory(me, n) for n in range(1, 7)] == [
        memory(me, n, answers=15) for n in range(1, 7)
    ]
