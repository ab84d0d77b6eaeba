"""Print what the planner is worth: `python -m tests.simulations [TASTERS]`, 40 unless told.

Every line is over the same simulated tasters; differences are paired, with 95% intervals of the
mean (Student's t).
"""

from __future__ import annotations

import sys
from typing import Any

import numpy as np
from scipy import stats

from tests.simulations.grading import as_the_program, right_or_wrong, track
from tests.simulations.policies import Doubling, DueOrder, Oracle, Planner, RandomOrder
from tests.simulations.tasters import MODELS
from tests.simulations.world import run

SEED = 11
BASELINES: dict[str, Any] = {
    "due order": DueOrder,
    "due, introduced by importance": lambda: DueOrder(by_importance=True),
    "due, one in four unseen": lambda: DueOrder(every=4),
    "random order": RandomOrder,
    "fixed doubling": Doubling,
}
PLANNERS: dict[str, tuple[Any, float]] = {
    "planner, 10 min": (Planner, 10.0),
    "planner, no exam date": (lambda: Planner(exam=False), 10.0),
    "planner, 8 min": (Planner, 8.0),
}
HOLDS = (0.7, 0.8, 0.9, 2.0)


def interval(values: Any) -> tuple[float, float]:
    """Mean and half the width of its 95% interval."""
    half = stats.t.ppf(0.975, len(values) - 1) * np.std(values, ddof=1) / np.sqrt(len(values))
    return float(np.mean(values)), float(half)


def main(tasters: int) -> None:
    """Run and print everything."""
    for model in MODELS:
        due = run(model, DueOrder(), tasters=tasters, seed=SEED)
        print(f"\n{model.name}\n")
        print("| | recall, day 60 | not recalled, against due order | confusions | introduced |")
        print("|---|---|---|---|---|")
        lines = {name: (make, 10.0) for name, make in BASELINES.items()} | PLANNERS
        found = {
            name: run(model, make(), minutes=minutes, tasters=tasters, seed=SEED)
            for name, (make, minutes) in lines.items()
        }
        oracles = [run(model, Oracle(hold), tasters=tasters, seed=SEED) for hold in HOLDS]
        found["oracle, 10 min"] = max(oracles, key=lambda one: float(one.recall.mean()))
        for name, outcome in found.items():
            change, half = interval(outcome.recall - due.recall)
            lost = 1 - due.recall.mean()
            print(
                f"| {name} | {outcome.recall.mean():.3f} "
                f"| {-change / lost:+.0%} ± {half / lost:.0%} "
                f"| {outcome.confusions.mean():.1f} | {outcome.introduced.mean():.0f} |"
            )
        planned = found["planner, 10 min"].recall
        best = max(BASELINES, key=lambda name: float(found[name].recall.mean()))
        more, half = interval(planned - found[best].recall)
        fewer, same = interval(found["planner, 8 min"].recall - due.recall)
        top = float(found["oracle, 10 min"].recall.mean() - due.recall.mean())
        share = float(planned.mean() - due.recall.mean()) / top
        print(f"\nAgainst the best baseline ({best}): {more:+.3f} ± {half:.3f} recall.")
        print(f"At 8 minutes against due order at 10: {fewer:+.3f} ± {same:.3f} recall.")
        print(f"Of what the oracle gains over due order: {share:.0%}.", flush=True)


def print_grading() -> None:
    """Print how well the program's grading tracks true recall, against right or wrong."""
    rules = {"program": as_the_program, "right or wrong": right_or_wrong}
    print("\n| | admits not knowing | log loss: program, right or wrong | calibration gap |")
    print("|---|---|---|---|")
    for model in MODELS:
        for candour in (0.8, 0.2):
            by, plain = track(model, rules, candour=candour).values()
            print(
                f"| {model.name} | {candour:.0%} | {by.log_loss:.3f}, {plain.log_loss:.3f} "
                f"| {by.calibration:.3f}, {plain.calibration:.3f} |"
            )


if __name__ == "__main__":
    print_grading()
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
