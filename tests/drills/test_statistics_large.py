"""A long life of drilling and tasting is summed up within a second, and nothing heavy is loaded."""

from __future__ import annotations

import random
import subprocess
import sys
from datetime import date, timedelta
from itertools import combinations, product
from pathlib import Path

import numpy as np

import drills.statistics
from drills.confusions import CallCount, weak_pairs
from drills.grading import Sureness
from drills.statistics.agreement import kappa, table_of
from drills.statistics.calibration import brier, calibration, stated
from drills.statistics.change import change_of_mind
from drills.statistics.corners import Glass, Theory, confusion_rate, verdict
from drills.statistics.readings import average_prior, noise_matrix
from drills.statistics.standing import standings
from drills.statistics.structure import alcohol_calls, spread_of_moments
from drills.statistics.tallies import AnswerCount, tally

ANSWERS, POURS, WINES = 1_000_000, 50_000, 92
TODAY = date(2026, 3, 1)


def answers() -> list[AnswerCount]:
    """A million answers on all pairs, grouped as a query would group them."""
    rng = np.random.default_rng(1)
    pairs = list(combinations([f"wine-{i:02}" for i in range(WINES)], 2))
    cells = list(product(pairs, "ab", "ab", (1, 2, 3)))
    weights = np.array([(3 if truth == given else 1) * s for _, truth, given, s in cells], float)
    drawn = rng.multinomial(ANSWERS, weights / weights.sum())
    return [
        AnswerCount(*pair, truth, given, s, int(times))
        for (pair, truth, given, s), times in zip(cells, drawn, strict=True)
    ]


def by_sureness(counted: list[AnswerCount]) -> dict[Sureness, tuple[int, int]]:
    """For each sureness the number of answers and how many were right."""
    found = {}
    for word in Sureness:
        times = [(one.times, one.truth == one.given) for one in counted if one.sureness == word]
        found[word] = (sum(n for n, _ in times), sum(n for n, right in times if right))
    return found


def calls() -> list[CallCount]:
    rng = random.Random(2)
    found = []
    for _ in range(POURS):
        was = f"wine-{rng.randrange(WINES):02}"
        called = was if rng.random() < 0.6 else f"wine-{rng.randrange(WINES):02}"
        found.append(CallCount(was, called, TODAY - timedelta(rng.randrange(1500)), 1))
    return found


def test_a_million_answers_and_fifty_thousand_pours() -> None:
    counted, log = answers(), calls()
    structure = {(a, b): 10_000 for a in range(5) for b in range(5)}
    ratings = tally(counted)
    indices = {pair: one.r_index() for pair, one in ratings.items()}
    sureness = stated(by_sureness(counted))
    score = brier(sureness)
    calibration(sureness)
    weak = weak_pairs(log, TODAY, lambda *_: 5.0)
    where = standings(log)
    verdicts = [
        verdict(
            pair,
            Theory(0.85, indices[pair], one.answers),
            Glass(confusion_rate(3, 20, 0.1), where.get(pair)),
        )
        for pair, one in ratings.items()
    ]
    for _ in range(10):  # ten words of structure
        kappa(table_of(structure, 5), "quadratic")
        spread_of_moments(250_000, 0.0, 1_000_000.0)
        noise_matrix([[1000.0] * 5] * 5, average_prior())
    alcohol_calls(POURS, 300.0, 20_000.0, 30_000)
    change_of_mind(20_000, 5000, 6000, 19_000)
    assert score.n == ANSWERS
    assert len(verdicts) == len(ratings) == WINES * (WINES - 1) // 2
    assert sum(pair.times for pair in weak) == sum(call.was != call.called for call in log)


def test_the_package_loads_neither_numpy_nor_scipy() -> None:
    # The modules are found, so that one added later is checked as well.
    folder = Path(drills.statistics.__file__).parent
    names = sorted(f"drills.statistics.{file.stem}" for file in folder.glob("[a-z]*.py"))
    assert "drills.statistics.standing" in names
    code = f"import {', '.join(names)}, sys; print(*sys.modules)"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = {name.split(".")[0] for name in ran.stdout.split()}
    assert loaded.isdisjoint({"numpy", "scipy", "sqlalchemy", "textual", "fsrs"})
