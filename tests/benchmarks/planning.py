"""Parts that must be done between two keys: 25,000 cards weighed, a search as one types."""

from __future__ import annotations

import itertools

import numpy as np

from cards.questions import Form
from cards.searching import TableSearch
from cards.tables import load_table
from drills.memory import MemoryModel
from drills.planning.arrays import model_of
from drills.planning.curve import OwnCurve
from drills.planning.pace import LATEST, pace_of
from drills.planning.ranking import Ranking
from drills.service.choosing import FORMS
from tests.benchmarks.timing import Line, in_turn, timed

CARDS, GROUP = 25_000, 8
PLAN_TARGET, ANSWER_TARGET = 0.05, 0.005
KEYSTROKE_TARGET = 0.005
_TODAY = 739_000
_TIMES = [(list(Form)[number % 4], 5.0 + number % 20) for number in range(LATEST)]
_TYPED = ("new world red coconut", "high acid low alcohol", "spätburgunder", "st julien", "r s t")


def planning(repeats: int) -> list[Line]:
    """A plan anew and after one answer, against one pass of numpy; a keystroke of search."""
    chance = np.random.default_rng(1)
    stability = chance.lognormal(2, 1.5, CARDS)
    last = _TODAY - chance.integers(0, 60, CARDS)
    seen = chance.random(CARDS) < 0.4
    pairs = [number // GROUP for number in range(CARDS)]
    importance = [float(one) for one in chance.lognormal(0, 1, CARDS // GROUP)]
    columns = [
        [value if met else None for value, met in zip(column.tolist(), seen, strict=True)]
        for column in (stability, chance.uniform(1, 10, CARDS), last)
    ]
    model = model_of(MemoryModel())

    def anew() -> Ranking:
        return Ranking(
            model,
            OwnCurve(),
            pairs=pairs,
            stability=columns[0],
            difficulty=columns[1],
            last=columns[2],
            importance=importance,
            day=_TODAY,
        )

    kept = anew()
    answered = itertools.cycle(chance.integers(0, CARDS, 500).tolist())

    def after_an_answer() -> object:
        place = next(answered)
        kept.paced(pace_of(_TIMES).over(FORMS), 12.0)
        kept.remember(place, (3.0, 5.0, _TODAY))
        kept.weigh(pairs[place], importance[pairs[place]] * 1.2)
        return kept.ahead(60, left_out=(place,))

    every = np.array(importance)[pairs]
    table = load_table()
    search = TableSearch(table)
    starts = [text[:end] for text in _TYPED for end in range(1, len(text) + 1)]
    names = [profile.name.casefold() for profile in table.profiles.values()]
    found = in_turn(
        {
            "plan": timed(lambda: anew().ahead(60)),
            "answer": timed(after_an_answer),
            "pass": timed(lambda: np.argsort(every * np.exp((last - _TODAY) / stability))),
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
            "the next cards after an answer",
            found["answer"],
            "one pass and a sort in numpy",
            found["pass"],
            ANSWER_TARGET,
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
