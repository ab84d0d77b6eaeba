"""What the database counts is what a walk through every row would count."""

from __future__ import annotations

import random
import shutil
import sqlite3
from collections import Counter
from contextlib import closing
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from drills.storage.counted import CallChange, ContrastScore, FormCount, PairRating
from drills.storage.repository import Repository, open_repository
from drills.storage.upgrade import REVISIONS, read_revision
from tests.storage.making import DAY, START, Wound, answer, contrast, dump, intake, memory, pour

SECOND = Path(__file__).parent / "old" / "revision-0002.sqlite3"
FORMS = ["which glass", "which cue", "which level", "name it"]


def answered(repository: Repository, me: int, number: int) -> list[dict[str, object]]:
    """So many answers with everything drawn, some undone; what each holds."""
    rng = random.Random(7)
    repository.keep_contrasts([contrast(n) for n in range(1, 9)], "f")
    drill = repository.start_drill(me, 600)
    kept = []
    for _ in range(number):
        given = {
            "form": rng.choice(FORMS),
            "truth": rng.choice("ab"),
            "correct": rng.random() < 0.6,
            "sureness": rng.choice((1, 2, 3)),
            "day": DAY + rng.randrange(5),
        }
        contrast_id = rng.randint(1, 8)
        answer_id = repository.record_answer(
            answer(me, contrast_id, drill.id, **given), memory(me, contrast_id)
        )
        if rng.random() < 0.1:
            repository.undo_answer(answer_id, memory(me, contrast_id))
        else:
            kept.append(given | {"contrast": contrast_id})
    return kept


def test_answers_are_counted_as_a_walk_would_count_them(repository: Repository, me: int) -> None:
    kept = answered(repository, me, 300)
    ratings, forms = repository.answer_counts(me)
    of_form = Counter((one["form"], one["correct"], one["sureness"]) for one in kept)
    assert Counter({(f.form, f.correct, f.sureness): f.times for f in forms}) == of_form
    assert all(isinstance(one, FormCount) for one in forms)
    of_pair = Counter(
        (int(str(one["contrast"])) // 4, one["truth"], one["correct"], one["sureness"])
        for one in kept
        if one["form"] == "which glass"
    )
    found = Counter(
        {
            (int(one.wine_a.rpartition("-")[2]), one.truth, bool(one.correct), one.sureness): (
                one.times
            )
            for one in ratings
        }
    )
    assert found == of_pair
    assert all(isinstance(one, PairRating) and one.wine_a < one.wine_b for one in ratings)


def test_another_tasters_answers_are_not_counted(repository: Repository, me: int) -> None:
    answered(repository, me, 20)
    other = repository.taster("somebody else")
    assert repository.answer_counts(other.id) == ([], [])
    assert repository.timed_answers(other.id, 0) == []
    assert repository.call_changes(other.id) == CallChange(0, 0, 0, 0)


def test_counting_reads_the_index_and_sorts_nothing(file: Path, me: int) -> None:
    assert me
    with closing(sqlite3.connect(file)) as reader:
        plan = reader.execute(
            "EXPLAIN QUERY PLAN SELECT contrast_id, truth, correct, sureness, count(*) FROM answer"
            " WHERE taster_id = 1 AND form = 'which glass' AND undone_at IS NULL"
            " GROUP BY contrast_id, truth, correct, sureness"
        ).fetchall()
    said = " ".join(row[3] for row in plan)
    assert "ix_answer_counted" in said
    assert "TEMP B-TREE" not in said


def test_first_answers_tell_what_was_known_at_first_sight(repository: Repository, me: int) -> None:
    repository.keep_contrasts([contrast(n) for n in range(1, 4)], "f")
    drill = repository.start_drill(me, 600)
    for number, grade in ((1, 3), (1, 1), (2, 1), (2, 3)):
        repository.record_answer(answer(me, number, drill.id, grade=grade), memory(me, number))
    late = answer(me, 3, drill.id, grade=2, day=DAY + 9)
    repository.record_answer(late, memory(me, 3))
    assert repository.first_answers(me, DAY) == (3, 2)
    # What was met before the first day is no first sight after it.
    assert repository.first_answers(me, DAY + 9) == (1, 1)


def test_times_come_drill_by_drill(repository: Repository, me: int) -> None:
    repository.keep_contrasts([contrast(1)], "f")
    drill = repository.start_drill(me, 600)
    for seconds in (20, 5, 90):
        at = START + timedelta(seconds=seconds)
        repository.record_answer(answer(me, 1, drill.id, answered_at=at), memory(me, 1))
    found = repository.timed_answers(me, DAY)
    assert [(one.answered_at - START).total_seconds() for one in found] == [5, 20, 90]
    assert {one.drill_id for one in found} == {drill.id}
    assert repository.timed_answers(me, DAY + 1) == []


def test_first_and_final_calls_are_counted_where_both_are_known(
    repository: Repository, me: int
) -> None:
    was, other = "albarino-0000", "verdejo-0000"
    cases = [(was, was), (was, other), (was, other), (other, was), (other, other), (None, was)]
    repository.record_pours(
        me,
        intake(),
        [
            pour(f"p{n}", first_wine=first, called_wine=called)
            for n, (first, called) in enumerate(cases)
        ],
    )
    assert repository.call_changes(me) == CallChange(1, 2, 1, 1)


def test_the_pours_of_a_pair_come_in_the_order_of_tasting(repository: Repository, me: int) -> None:
    was, other = "albarino-0000", "verdejo-0000"
    repository.record_pours(
        me,
        intake(),
        [
            pour("late", flight="b", tasted_on=date(2026, 3, 2)),
            pour("undated", flight="c", tasted_on=None, called_wine=was),
            pour("early", flight="a", tasted_on=date(2026, 1, 1), was_wine=other),
            pour("third", flight="d", called_wine="something-else"),
            pour("uncalled", flight="e", called_wine=None),
        ],
    )
    found = repository.pair_pours(me, other, was)
    assert [(one.flight, one.was, one.called) for one in found] == [
        ("c", was, was),
        ("a", other, other),
        ("b", was, other),
    ]


def test_scores_of_a_pairs_contrasts_leave_out_checks_and_turned_answers(
    repository: Repository, me: int, wound: Wound
) -> None:
    made = [contrast(n) for n in (1, 2, 3)]
    repository.keep_contrasts(made, "f")
    drill = repository.start_drill(me, 600)
    now = wound.at
    for number, correct, counts in ((1, True, True), (1, False, True), (2, False, False)):
        one = answer(me, number, drill.id, correct=correct, counts=counts, answered_at=now)
        repository.record_answer(one, memory(me, number) if counts else None)
    found = repository.contrast_scores(me, "verdejo-0000", "albarino-0000")
    assert found == [ContrastScore(1, 2, 1), ContrastScore(2, 0, 0), ContrastScore(3, 0, 0)]
    repository.keep_contrasts([replace(made[0], bearing="turned"), *made[1:]], "g")
    (turned, *_) = repository.contrast_scores(me, "verdejo-0000", "albarino-0000")
    assert turned == ContrastScore(1, 0, 0)


def test_a_file_of_the_second_revision_keeps_all_it_held(tmp_path: Path) -> None:
    file = tmp_path / "crosspour.sqlite3"
    shutil.copy(SECOND, file)
    with open_repository(file) as repository:
        assert repository.upgrade_copy is not None
        assert dump(repository.upgrade_copy) == dump(SECOND)
        ratings, _ = repository.answer_counts(repository.taster().id)
        # Four answers were given, one of them undone.
        assert sum(one.times for one in ratings) == 3
        assert len(repository.memories(repository.taster().id)) == 3
    assert read_revision(file) == REVISIONS[-1]
