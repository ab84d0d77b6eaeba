"""Print what each part of the planner does: `python -m tests.simulations.leaving_out [TASTERS]`."""

from __future__ import annotations

import sys
from typing import Any
from unittest.mock import patch

import numpy as np

from drills.planning import order, value
from drills.planning.curve import OwnCurve
from tests.simulations.policies import DueOrder, Planner
from tests.simulations.tasters import MODELS
from tests.simulations.world import Known, World, run

SEED = 31


class WithoutCurve(Planner):
    """Takes the memory model's curve on trust."""

    def start(self, tasters: int, world: World) -> None:
        """Believe in the usual curve, whatever is answered."""
        super().start(tasters, world)
        self.belief.curve = OwnCurve  # type: ignore[method-assign]


class WithoutImportance(Planner):
    """Takes all pairs for equally important."""

    def worth(self, known: Known, day: int, minutes: float) -> Any:
        """The same with every importance one."""
        with patch.object(known, "importance", np.ones_like(known.importance)):
            return super().worth(known, day, minutes)


def main(tasters: int) -> None:
    """Run and print everything."""
    print("| recall on day 60 | " + " | ".join(model.name for model in MODELS) + " |")
    print("|---|" + "---|" * len(MODELS))
    lines: dict[str, Any] = {
        "due order": DueOrder,
        "planner": Planner,
        "without importance": WithoutImportance,
        "without holding what fades": lambda: Planner(hold=0.0),
        "without the own curve": WithoutCurve,
        "one hold for every curve": Planner,
        "one in ten unseen, whatever the backlog": Planner,
        "without the last days": Planner,
    }
    for name, make in lines.items():
        share = order.UNSEEN_EVERY if name.startswith("one in ten") else order.UNSEEN_LEAST
        last = (-1.0, -1.0) if name == "without the last days" else value.LAST_DAYS
        holds = (0.8, 0.8) if name.startswith("one hold") else value.HOLDS
        with (
            patch.object(order, "UNSEEN_LEAST", share),
            patch.object(value, "LAST_DAYS", last),
            patch.object(value, "HOLDS", holds),
        ):
            found = [
                run(model, make(), tasters=tasters, seed=SEED).recall.mean() for model in MODELS
            ]
        print(f"| {name} | " + " | ".join(f"{one:.3f}" for one in found) + " |", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 24)
