"""The forecast of many contrasts against the simulator of an independent implementation.

`fsrs-rs-python` simulates in Rust and in single precision with chance of its own, so the two agree
as two samples do: recall within half a per cent of the contrasts, answers within five per cent.
"""

from __future__ import annotations

import fsrs_rs_python
import numpy as np
import pytest

from drills.grading import Grade
from drills.memory import MemoryModel
from drills.planning.arrays import model_of

CONTRASTS, DAYS = 3000, 120


@pytest.mark.parametrize(("target", "missed_at_first"), [(0.9, 0.4), (0.8, 0.7)])
def test_recall_and_answers_over_four_months(target: float, missed_at_first: float) -> None:
    config = fsrs_rs_python.default_simulator_config()
    config.deck_size = config.learn_limit = CONTRASTS
    config.learn_span, config.max_cost_perday = DAYS, 1e12
    config.first_rating_prob = [missed_at_first, 0.0, 1 - missed_at_first, 0.0]
    config.review_rating_prob = [0.0, 1.0, 0.0]
    config.learning_step_count = config.relearning_step_count = 0
    memory = MemoryModel(target)
    oracle = fsrs_rs_python.simulate(list(memory.numbers), target, config, 5)

    model, rng = model_of(memory), np.random.default_rng(2)
    missed = rng.random(CONTRASTS) < missed_at_first
    again, good = (model.first(grade) for grade in (Grade.NOT_RECALLED, Grade.RECALLED))
    stability, difficulty = (np.where(missed, again[n], good[n]) for n in (0, 1))
    last = np.zeros(CONTRASTS)
    remembered, answers = [float(CONTRASTS)], 0
    for day in range(1, DAYS):
        due = last + np.maximum(np.rint(model.holds(stability, target)), 1) <= day
        recall = model.recall(day - last[due], stability[due])
        known = rng.random(len(recall)) < recall
        state = stability[due], difficulty[due]
        again, good = (
            model.after(*state, recall, grade) for grade in (Grade.NOT_RECALLED, Grade.RECALLED)
        )
        stability[due] = np.where(known, good[0], again[0])
        difficulty[due] = np.where(known, good[1], again[1])
        last[due] = day
        answers += int(due.sum())
        remembered.append(float(model.recall(day - last, stability).sum()))
    np.testing.assert_allclose(
        np.array(remembered) / CONTRASTS,
        np.array(oracle.memorized_cnt_per_day) / CONTRASTS,
        atol=0.005,
    )
    assert answers == pytest.approx(sum(oracle.review_cnt_per_day), rel=0.05)
