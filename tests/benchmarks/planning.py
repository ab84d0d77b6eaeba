"""Parts that must be done between two keys: 25,000 cards weighed, a search as one types."""

from __future__ import annotations

import numpy as np

from cards.searching import TableSearch
from cards.tables import load_table
from drills.memory import MemoryModel
from drills.planning.arrays import model_of
from drills.planning.curve import OwnCurve
from drills.planning.order import places
from drills.planning.value import worth
from tests.benchmarks.timing import Line, in_turn, timed

CARDS = 25_000
PLAN_TARGET = 0.05
KEYSTROKE_TARGET = 0.005
_TODAY = 739_000
_TYPED = ("new world red coconut", "high acid low alcohol", "spätburgunder", "st julien", "r s t")


def planning(repeats: int) -> list[Line]:
    """A whole plan against one pass of numpy; a keystroke of search against a plain scan."""
    chance = np.random.default_rng(1)
    model = model_of(MemoryModel())
    seen = chance.random(CARDS) < 0.4
    stability = chance.lognormal(2, 1.5, CARDS)
    difficulty = chance.uniform(1, 10, CARDS)
    last = float(_TODAY) - chance.integers(0, 60, CARDS)
    importance = chance.lognormal(0, 1, CARDS)

    def plan() -> object:
        told = worth(
            model,
            OwnCurve(),
            stability=stability,
            difficulty=difficulty,
            last=last,
            seen=seen,
            importance=importance,
            day=_TODAY,
        )
        return np.argsort(places(told, seen, last_days=False), kind="stable")

    table = load_table()
    search = TableSearch(table)
    starts = [text[:end] for text in _TYPED for end in range(1, len(text) + 1)]
    names = [profile.name.casefold() for profile in table.profiles.values()]
    found = in_turn(
        {
            "plan": timed(plan),
            "pass": timed(lambda: np.argsort(importance * np.exp(-last / stability))),
            "search": timed(lambda: [search.find(start) for start in starts]),
            "scan": timed(lambda: [[n for n in names if start in n] for start in starts]),
        },
        repeats,
    )
    key = 1 / len(starts)
    return [
        Line(
            "plan",
            f"{CARDS:,} cards weighed and ordered",
            found["plan"],
            "one pass and a sort in numpy",
            found["pass"],
            PLAN_TARGET,
            absolute=True,
        ),
        Line(
            "plan",
            "a keystroke of search",
            [seconds * key for seconds in found["search"]],
            "a plain scan of the names",
            [seconds * key for seconds in found["scan"]],
            KEYSTROKE_TARGET,
            absolute=True,
        ),
    ]
