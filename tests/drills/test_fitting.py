"""A taster's own numbers: found where there are any, kept only where better, and taken back."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from drills.errors import NotPossibleError, StorageError
from drills.fitting import STEPS, Answer, Fit, Judged, fit, foretold, judged
from drills.grading import Grade
from drills.memory import MemoryModel
from drills.planning.arrays import ArrayModel
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.fitting import Step, comparison, fit_taster, keep, kept
from tests.desks import Watch, answer_all

USUAL = MemoryModel().numbers
FORGETS_FAST = {0: 0.5, 1: 0.5, 2: 0.4, 3: 0.5, 8: 0.8, 20: 1.8}


def numbers(changes: dict[int, float]) -> tuple[float, ...]:
    return tuple(value * changes.get(place, 1.0) for place, value in enumerate(USUAL))


def log_of(true: tuple[float, ...], seed: int, contrasts: int = 500) -> list[Answer]:
    """Ten answers to each contrast of a taster whose memory has these numbers, as they came."""
    rng, model = np.random.default_rng(seed), ArrayModel(true)
    log: list[tuple[int, int, int]] = []
    for contrast in range(contrasts):
        day = int(rng.integers(0, 200))
        grade = Grade(int(rng.choice([1, 2, 3], p=[0.6, 0.1, 0.3])))
        stability, difficulty = model.first(grade)
        log.append((day, contrast, int(grade)))
        for _ in range(9):
            gap = int(np.clip(round(float(stability) * rng.lognormal(0.3, 0.8)), 1, 200))
            day += gap
            recall = model.recall(gap, stability)
            known = rng.random() < recall
            right = Grade.RECALLED if rng.random() < 0.75 else Grade.WITH_EFFORT
            grade = right if known else Grade.NOT_RECALLED
            stability, difficulty = model.after(stability, difficulty, recall, grade)
            log.append((day, contrast, int(grade)))
    return [(contrast, grade, day) for day, contrast, grade in sorted(log)]


def test_numbers_far_from_the_usual_are_found_and_kept() -> None:
    true, lost = numbers(FORGETS_FAST), np.zeros(3)
    for seed in (1, 2, 3):
        answers = log_of(true, seed)
        found = fit(answers)
        assert found.better
        told, came = foretold(true, answers, round(len(answers) * 0.8))
        assert len(came) == found.held_out > 800
        lost += found.usual.log_loss, found.own.log_loss, judged(told, came).log_loss
    # More than half of what the usual numbers lose against the true ones is won back.
    usual, own, best = lost
    assert own - best < 0.5 * (usual - best)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_taster_of_the_usual_numbers_loses_next_to_nothing(seed: int) -> None:
    found = fit(log_of(USUAL, seed))
    assert found.own.log_loss < found.usual.log_loss + 0.005


def test_judging_is_log_loss_and_binned_rmse_of_later_answers_only() -> None:
    memory = MemoryModel()
    answers = [(1, 3, 10), (2, 1, 10), (1, 3, 12), (2, 3, 13), (1, 1, 30)]
    first = memory.after(None, Grade.RECALLED, 10)
    later = memory.after(first, Grade.RECALLED, 12)
    other = memory.after(None, Grade.NOT_RECALLED, 10)
    recalls = [memory.recall(other, 13), memory.recall(later, 30)]
    told, came = foretold(USUAL, answers, 3)
    found = judged(told, came)
    assert sorted(came) == [0, 1]
    loss = -(np.log(recalls[0]) + np.log1p(-recalls[1])) / 2
    assert found.log_loss == pytest.approx(loss, rel=1e-9)
    gaps = np.array([recalls[0] - 1, recalls[1]])
    assert int(recalls[0] * 20) != int(recalls[1] * 20)
    assert found.rmse == pytest.approx(np.sqrt((gaps**2).mean()), rel=1e-9)


def test_too_few_answers_are_refused() -> None:
    with pytest.raises(NotPossibleError, match="too few"):
        fit(log_of(USUAL, 1, contrasts=20))


FIT = Fit(numbers(FORGETS_FAST), Judged(0.4, 0.05), Judged(0.3, 0.02), 900, 200, 0.02)


@pytest.mark.parametrize(
    ("own", "better"), [((0.3, 0.02), True), ((0.41, 0.02), False), ((0.39, 0.02), False)]
)
def test_own_numbers_must_foretell_better(own: tuple[float, float], better: bool) -> None:
    assert replace(FIT, own=Judged(*own)).better is better


def test_own_numbers_are_used_and_can_be_taken_back_exactly(desk: Desk, watch: Watch) -> None:
    for _ in range(3):
        answer_all(DrillSession(desk, 600), 15, right=lambda one: one.question.contrast.id % 3 > 0)
        watch.next_morning(2)
    before = desk.repository.memories(desk.taster.id)
    keep(desk, FIT)
    assert kept(desk) == FIT
    assert desk.memory.numbers == pytest.approx(FIT.numbers)
    after = desk.repository.memories(desk.taster.id)
    assert [row.contrast.id for row in after] == [row.contrast.id for row in before]
    shorter = [
        new.memory.stability < old.memory.stability
        for new, old in zip(after, before, strict=True)
        if new.memory is not None and old.memory is not None
    ]
    assert sum(shorter) > 0.9 * len(shorter)
    keep(desk, None)
    assert kept(desk) is None
    assert desk.repository.memories(desk.taster.id) == before


def test_the_fit_runs_beside_the_program_and_is_kept_where_better(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = log_of(numbers(FORGETS_FAST), 2)
    monkeypatch.setattr(desk.repository, "graded", lambda _: log)
    found = fit_taster(desk, lambda _: None)
    assert found.better
    assert kept(desk) == found
    assert desk.memory.numbers == pytest.approx(found.numbers)


def test_with_a_fresh_log_the_command_says_what_is_missing(desk: Desk) -> None:
    with pytest.raises(NotPossibleError, match="too few"):
        fit_taster(desk)
    assert kept(desk) is None


def test_every_step_is_told_in_its_order(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    log = log_of(USUAL, 1)
    monkeypatch.setattr(desk.repository, "graded", lambda _: log)
    told: list[Step] = []
    found = fit_taster(desk, told.append)
    assert [one.words for one in told] == list(STEPS)
    assert [(one.nth, one.of) for one in told] == [(n, len(STEPS)) for n in range(1, 5)]
    # What the taster reads says what was found.
    lines = comparison(found)
    assert f"{found.held_out:,} later answers" in lines[0]
    assert f"{found.own.log_loss:.4f}" in lines[2]


def test_a_fit_that_ends_before_it_is_through_says_so_and_changes_nothing(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    # What cannot be read in the other process ends it.
    monkeypatch.setattr(desk.repository, "graded", lambda _: [("no", "answer")] * 500)
    with pytest.raises(StorageError, match="nothing was changed"):
        fit_taster(desk)
    assert kept(desk) is None
