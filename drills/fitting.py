"""A taster's own numbers of the memory model, from that taster's answers.

The only importer of `fsrs_rs_python` (the extra `fit`), a Rust optimiser of the same formulas. Its
numbers are believed only where they foretell later answers better than the usual ones.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from drills.errors import NotPossibleError
from drills.memory import MemoryModel
from drills.phrases import how_to_add

Answer = tuple[int, int, int]
"""Contrast, grade, study day."""

# The last share of the answers is held out, in the order of time.
HELD_OUT = 0.2
# Fewer answers on later days say too little for 21 numbers (our assumption).
LEAST_ANSWERS = 300
_BINS = 20
# Times through the log. The optimiser's own five leave half of the gain on logs of some thousand
# answers (measured on synthetic tasters).
_EPOCHS = 20
STEPS = (
    "gathering the answers",
    "learning from the earlier ones",
    "foretelling the later ones by the usual numbers",
    "foretelling them by yours",
)


@dataclass(frozen=True, slots=True)
class Judged:
    """How well numbers foretell: log loss, and RMSE over bins of predicted recall."""

    log_loss: float
    rmse: float


@dataclass(frozen=True, slots=True)
class Fit:
    """Own numbers, and how they and the usual ones foretell `held_out` later answers.

    `error` is the standard error of the difference in log loss, answer by answer.
    """

    numbers: tuple[float, ...]
    usual: Judged
    own: Judged
    learnt_from: int
    held_out: int
    error: float

    @property
    def better(self) -> bool:
        """Whether the own numbers are to be kept: less log loss, by more than its error.

        The RMSE is shown but does not decide: binned, it is mostly chance for a thousand answers.
        """
        return self.usual.log_loss - self.own.log_loss > self.error


def available() -> bool:
    """Whether the extra `fit` is installed."""
    from importlib.util import find_spec

    return find_spec("fsrs_rs_python") is not None


def fit(answers: Sequence[Answer], told: Callable[[str], None] = lambda _: None) -> Fit:
    """Fit on the earlier answers of a log in the order of time, judge on the later ones.

    `told` hears the words of each of STEPS when it begins: the optimiser itself is one step, for it
    says nothing while it works.

    Raises:
        NotPossibleError: the extra is not installed, or there are too few answers.
    """
    if not available():
        raise NotPossibleError(f"this needs an extra: {how_to_add('fit')}")
    told(STEPS[0])
    split = round(len(answers) * (1 - HELD_OUT))
    items = list(_items(answers[:split]))
    if len(items) < LEAST_ANSWERS:
        raise NotPossibleError(
            f"too few answers to learn from: {len(items)} on later days, "
            f"{LEAST_ANSWERS} are the least"
        )
    from fsrs_rs_python import FSRS, TrainingConfig

    told(STEPS[1])
    optimiser = FSRS(list(MemoryModel().numbers))
    training = TrainingConfig(num_epochs=_EPOCHS)
    numbers = tuple(
        float(one) for one in optimiser.compute_parameters(items, training_config=training)
    )
    told(STEPS[2])
    before, came = foretold(MemoryModel().numbers, answers, split)
    told(STEPS[3])
    after, _ = foretold(numbers, answers, split)
    usual, own = judged(before, came), judged(after, came)
    gains = losses(before, came) - losses(after, came)
    error = float(gains.std() / max(len(gains), 1) ** 0.5)
    return Fit(numbers, usual, own, len(items), len(came), error)


def work() -> None:
    """Fit in a process of its own: answers as JSON on standard input, what happens on the output.

    One line of JSON for each step, and a last one for what was found or why nothing was.
    """
    import json
    import sys
    from dataclasses import asdict

    def say(key: str, value: object) -> None:
        print(json.dumps({key: value}), flush=True)

    try:
        found = fit([(*one,) for one in json.load(sys.stdin)], lambda step: say("step", step))
    except NotPossibleError as refused:
        say("refused", str(refused))
    else:
        say("found", asdict(found))


def foretold(numbers: Sequence[float], answers: Sequence[Answer], start: int) -> tuple[Any, Any]:
    """Recall that numbers foretell for the answers from `start` on, and whether it was there.

    Each is foretold from all before it. First answers and those on the day of the one before are
    left out.
    """
    import numpy as np

    from drills.planning.arrays import ArrayModel
    from drills.planning.curve import replayed

    model = ArrayModel(numbers)
    told, came = [np.zeros(0)], [np.zeros(0)]
    for one in replayed(model, answers):
        if one.days is not None:
            wanted = (one.places >= start) & (one.days >= 1)
            recall = np.clip(model.recall(one.days, one.stability), 1e-6, 1 - 1e-6)
            told.append(recall[wanted])
            came.append(one.known[wanted].astype(float))
    return np.concatenate(told), np.concatenate(came)


def losses(told: Any, came: Any) -> Any:
    """The log loss of every answer, nats."""
    import numpy as np

    return -(came * np.log(told) + (1 - came) * np.log1p(-told))


def judged(told: Any, came: Any) -> Judged:
    """Mean log loss, and RMSE between foretold and found recall over bins of the foretold."""
    import numpy as np

    bins = np.minimum((told * _BINS).astype(int), _BINS - 1)
    number = np.bincount(bins, minlength=_BINS)
    gap = np.bincount(bins, told - came, minlength=_BINS) / np.maximum(number, 1)
    rmse = np.sqrt((number * gap**2).sum() / max(len(told), 1))
    return Judged(float(losses(told, came).sum() / max(len(told), 1)), float(rmse))


def _items(answers: Sequence[Answer]) -> Iterator[Any]:
    """Every answer on a later day with all that came before it, as the optimiser takes them."""
    from fsrs_rs_python import FSRSItem, FSRSReview

    ordered = sorted(answers, key=lambda one: one[0])
    for _, group in groupby(ordered, key=lambda one: one[0]):
        reviews: list[Any] = []
        last = None
        for _, grade, day in group:
            gap = 0 if last is None else max(day - last, 0)
            reviews.append(FSRSReview(grade, gap))
            last = day
            if gap:
                yield FSRSItem(list(reviews))
