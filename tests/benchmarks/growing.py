"""What more costs: the cards of 100 to 1,000 wines, the numbers of up to 1,000,000 answers.

What is left of the growth with answers, as profiles say: counting them along an index of the
database for weak pairs and progress (0.7 s of a million). The planner reads no more answers than
tell the taster's own curve.
"""

from __future__ import annotations

import multiprocessing
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path

from cards.cellar import Cellar
from cards.contrasts import DESCRIPTORS, SCALES
from cards.tables import load_table
from drills.service.desk import Desk
from tests.benchmarks.making import POURS, make_years
from tests.benchmarks.timing import Line, in_turn, timed
from tests.benchmarks.wines import grown_table

WINES = (100, 300, 1000)
ANSWERS = (0, 10_000, 100_000, 1_000_000)
_EVERY_PAIR_TARGET = 20.0
_SETS_A_PAIR = 55 + 165


def tables(repeats: int) -> list[Line]:
    """The cards that a table teaches, and those of every pair of it, against plain numpy.

    The bound: the weights of every cue of every pair looked up in one array, and those of the two
    hundred sets of the first eleven added up, toward either wine; no choice is made, no card
    written. Each measurement has a process of its own, whose largest memory is told; times are the
    processor's, with one thread.
    """
    lines = []
    for wines in WINES:
        rounds = max(1, min(repeats, 3000 // wines, 1 if wines == WINES[-1] else repeats))
        pairs = wines * (wines - 1) // 2
        built, bound, every = [], [], []
        memory = 0.0
        for _ in range(rounds):
            bound.append(_apart(_bound, wines)[0])
            built.append(_apart(_taught, wines)[0])
            seconds, most = _apart(_every, wines)
            every.append(seconds)
            memory = max(memory, most)
        lines += [
            Line("growth", f"cards taught, {wines} wines", built, "plain numpy, every pair", bound),
            Line(
                "growth",
                f"cards of all {pairs:,} pairs, {memory:,.0f} MB",
                every,
                "plain numpy, every pair",
                bound,
                _EVERY_PAIR_TARGET,
                absolute=True,
            ),
        ]
    return lines


def answers(folder: Path, repeats: int) -> list[Line]:
    """What the screens and the planner count, by so many answers, against a database without."""
    from drills.service.planned import Planned
    from drills.service.progress import progress
    from drills.service.today import today
    from drills.service.weak import overview

    files = {number: folder / f"answers-{number}.sqlite3" for number in ANSWERS}
    for number, file in files.items():
        if not file.exists():
            make_years(file, answers=number, pours=POURS if number else 8)
    counts: dict[str, Callable[[Desk], object]] = {
        "home": today,
        "weak pairs": overview,
        "progress": progress,
        "planner": Planned,
    }
    lines = []
    for what, count in counts.items():
        desks = {number: Desk(str(file)) for number, file in files.items()}
        found = in_turn(
            {str(number): timed(lambda d=desk, c=count: c(d)) for number, desk in desks.items()},  # type: ignore[misc]
            min(repeats, 5),
        )
        lines += [
            Line("growth", f"{what}, {number:,} answers", found[str(number)], "none", found["0"])
            for number in ANSWERS[1:]
        ]
        for desk in desks.values():
            desk.close()
    return lines


def _apart(work: Callable[[int], float], wines: int) -> tuple[float, float]:
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(_measured, (work, wines))


def _measured(work: Callable[[int], float], wines: int) -> tuple[float, float]:
    seconds = work(wines)
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    # Kilobytes, but for macOS, which tells bytes.
    return seconds, most / (1024 * 1024 if sys.platform == "darwin" else 1024)


def _taught(wines: int) -> float:
    table = grown_table(load_table(), wines)
    began = time.process_time()
    Cellar(table).all_contrasts()
    return time.process_time() - began


def _every(wines: int) -> float:
    """Each pair's contrasts made and counted, not kept: nobody is taught every pair."""
    import numpy as np

    from cards.choosing import Chooser

    cellar = Cellar(grown_table(load_table(), wines))
    began = time.process_time()
    chooser = Chooser([cellar.picture(key) for key in sorted(cellar.table.profiles)])
    number = sum(map(len, chooser.groups(np.argwhere(np.triu(np.ones((wines, wines)), 1)))))
    seconds = time.process_time() - began
    assert number > wines
    return seconds


def _bound(wines: int) -> float:
    from itertools import combinations

    import numpy as np

    cellar = Cellar(grown_table(load_table(), wines))
    pictures = [cellar.picture(key) for key in sorted(cellar.table.profiles)]
    cues = sorted({*pictures[0].scales, *(key for one in pictures for key in one.noted)})
    rng = np.random.default_rng(1)
    kinds = rng.integers(0, 6, (wines, len(cues)))
    weights = rng.normal(size=(36, 2))
    slots = SCALES + DESCRIPTORS
    sets = [np.array(list(combinations(range(slots), size))) for size in (2, 3)]
    assert sum(map(len, sets)) == _SETS_A_PAIR
    pairs = np.argwhere(np.triu(np.ones((wines, wines)), 1))
    began = time.process_time()
    for start in range(0, len(pairs), 1024):
        a, b = pairs[start : start + 1024].T
        codes = kinds[a] * 6 + kinds[b]
        for side in (0, 1):
            toward = weights[:, side][codes][:, :slots].T.copy()
            for members in sets:
                toward[members].sum(1)
    return time.process_time() - began
