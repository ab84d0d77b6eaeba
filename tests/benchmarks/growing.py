"""What more costs: the cards of 100 to 1,000 wines, the numbers of up to 1,000,000 answers.

What is left of the growth with answers, as profiles say: counting them along an index of the
database for weak pairs and progress (0.7 s of a million). The planner reads no more answers than
tell the taster's own curve.
"""

from __future__ import annotations

import multiprocessing
import sqlite3
import tempfile
import time
from collections.abc import Callable, Collection, Iterable, Iterator
from itertools import chain, islice
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from cards.cellar import Cellar
from cards.contrasts import DESCRIPTORS, SCALES, Contrast
from cards.evidence import Picture
from cards.tables import load_table
from drills.service.desk import Desk
from drills.storage.repository import open_repository
from tests.benchmarks.making import POURS, make_years
from tests.benchmarks.timing import Line, in_turn, timed
from tests.benchmarks.wines import grown_table
from tests.peaks import peak

if TYPE_CHECKING:
    from cards.arrays import Ints

Found = TypeVar("Found")

WINES = (100, 300, 1000)
ANSWERS = (0, 10_000, 100_000, 1_000_000)
COUNTED = ("home", "weak", "progress", "planner")
_EVERY_PAIR_TARGET = 20.0
_SETS_A_PAIR = 55 + 165
_NUMPY = "plain numpy, every pair"
_WRITTEN = "plain numpy, and ready rows written"
_ROWS_TOGETHER = 20_000
_INSERT = (
    "INSERT INTO contrast (id, wine_a, wine_b, cues, sides, bearing, rank, strength) "
    "VALUES (?, ?, ?, ?, ?, ?, ?, ?)"
)


def tables(repeats: int) -> list[Line]:
    """The cards that a table teaches, and those of every pair of it, against two bounds.

    "Plain numpy": the weights of every cue of every pair looked up in one array, and those of the
    two hundred sets of the first eleven added up, toward either wine; no choice is made, no card.
    "... and ready rows written": as many rows as there are cards, made beforehand, written into a
    SQLite file of the program's schema, which is the least for whoever keeps them; the program
    writes by the same statement, so that is measured once and counted on both sides. Each
    measurement has a process of its own, whose largest memory is told; times are the processor's,
    with one thread.
    """
    lines = []
    for wines in WINES:
        rounds = max(1, min(repeats, 3000 // wines))
        pairs = wines * (wines - 1) // 2
        bound, taught, chosen, made, kept, least = [], [], [], [], [], []
        memory, cards = 0.0, 0
        for turn in range(rounds):
            bound.append(_apart(_bound, wines)[0])
            taught.append(_apart(_taught, wines)[0])
            chosen.append(_apart(_chosen, wines)[0])
            (seconds, cards), most = _apart(_made, wines)
            made.append(seconds)
            memory = max(memory, most)
            if not turn:
                # Once: a table of 1,000 wines has 700 MB of rows.
                (making, writing), _ = _apart(_written, wines)
                kept.append(making + writing)
                least.append(bound[0] + writing)
        lines += [
            Line("growth", f"cards taught, {wines} wines", taught, _NUMPY, bound),
            Line("growth", f"all {pairs:,} pairs chosen, as arrays", chosen, _NUMPY, bound),
            Line(
                "growth",
                f"all {pairs:,} pairs, {cards:,} cards made, {memory:,.0f} MB",
                made,
                _NUMPY,
                bound,
                _EVERY_PAIR_TARGET,
                absolute=True,
            ),
            Line("growth", f"all {pairs:,} pairs, made and written", kept, _WRITTEN, least),
        ]
    return lines


def answers(folder: Path, repeats: int, parts: Collection[str]) -> list[Line]:
    """What screens and planner count, by so many answers, against a database without any.

    `parts` are some of COUNTED.
    """
    from drills.service.planned import Planned
    from drills.service.progress import progress
    from drills.service.today import today
    from drills.service.weak import overview

    files = {number: folder / f"answers-{number}.sqlite3" for number in ANSWERS}
    for number, file in files.items():
        if not file.exists():
            make_years(file, answers=number, pours=POURS if number else 8)
    counts: dict[str, tuple[str, Callable[[Desk], object]]] = {
        "home": ("home", today),
        "weak": ("weak pairs", overview),
        "progress": ("progress", progress),
        "planner": ("planner", Planned),
    }
    assert counts.keys() == set(COUNTED)
    lines = []
    for part in parts:
        what, count = counts[part]
        desks = {number: Desk(str(file)) for number, file in files.items()}
        found = in_turn(
            {str(number): timed(lambda d=desk, c=count: c(d)) for number, desk in desks.items()},  # type: ignore[misc]
            min(repeats, 5),
        )
        lines += [
            Line(part, f"{what}, {number:,} answers", found[str(number)], "no answer", found["0"])
            for number in ANSWERS[1:]
        ]
        for desk in desks.values():
            desk.close()
    return lines


def _apart(work: Callable[[int], Found], wines: int) -> tuple[Found, float]:
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(_measured, (work, wines))


def _measured(work: Callable[[int], Found], wines: int) -> tuple[Found, float]:
    found = work(wines)
    return found, peak() / 1e6


def _taught(wines: int) -> float:
    table = grown_table(load_table(), wines)
    began = time.process_time()
    Cellar(table).all_contrasts()
    return time.process_time() - began


def _pictures(wines: int) -> list[Picture]:
    cellar = Cellar(grown_table(load_table(), wines))
    return [cellar.picture(key) for key in sorted(cellar.table.profiles)]


def _every_pair(wines: int) -> Ints:
    import numpy as np

    return np.argwhere(np.triu(np.ones((wines, wines)), 1))


def _chosen(wines: int) -> float:
    """What each pair is taught by, as arrays: no id and no card is made."""
    from cards.choosing import Chooser

    pictures, pairs = _pictures(wines), _every_pair(wines)
    began = time.process_time()
    number = sum(int(part.number.sum()) for part in Chooser(pictures).choose(pairs))
    seconds = time.process_time() - began
    assert number > wines
    return seconds


def _made(wines: int) -> tuple[float, int]:
    """Each pair's contrasts made and counted, not kept: nobody is taught every pair."""
    from cards.choosing import Chooser

    pictures, pairs = _pictures(wines), _every_pair(wines)
    began = time.process_time()
    number = sum(map(len, Chooser(pictures).groups(pairs)))
    seconds = time.process_time() - began
    assert number > wines
    return seconds, number


def _written(wines: int) -> tuple[float, float]:
    """Each pair's contrasts made into rows, and written: the seconds of either."""
    from cards.choosing import Chooser

    pictures, pairs = _pictures(wines), _every_pair(wines)
    with tempfile.TemporaryDirectory(prefix="crosspour-benchmarks-") as folder:
        file = Path(folder) / "every.sqlite3"
        # Makes the file with its schema.
        open_repository(str(file)).close()
        connection = sqlite3.connect(file, isolation_level=None)
        connection.execute("BEGIN IMMEDIATE")
        began = time.process_time()
        rows = _rows(Chooser(pictures).groups(pairs))
        making, writing, number = 0.0, 0.0, 0
        while part := list(islice(rows, _ROWS_TOGETHER)):
            made = time.process_time()
            connection.executemany(_INSERT, part)
            written = time.process_time()
            making += made - began
            writing += written - made
            number += len(part)
            began = time.process_time()
        connection.execute("COMMIT")
        writing += time.process_time() - began
        (kept,) = connection.execute("SELECT count(*) FROM contrast").fetchone()
        connection.close()
    assert kept == number > wines
    return making, writing


def _rows(groups: Iterable[list[Contrast]]) -> Iterator[tuple[object, ...]]:
    for rank, one in enumerate(chain.from_iterable(groups)):
        cues = "+".join(one.cues)
        yield one.id, one.wine_a, one.wine_b, cues, one.sides, one.bearing, rank, one.strength


def _bound(wines: int) -> float:
    from itertools import combinations

    import numpy as np

    pictures, pairs = _pictures(wines), _every_pair(wines)
    cues = sorted({*pictures[0].scales, *(key for one in pictures for key in one.noted)})
    rng = np.random.default_rng(1)
    kinds = rng.integers(0, 6, (wines, len(cues)))
    weights = rng.normal(size=(36, 2))
    slots = SCALES + DESCRIPTORS
    sets = [np.array(list(combinations(range(slots), size))) for size in (2, 3)]
    assert sum(map(len, sets)) == _SETS_A_PAIR
    began = time.process_time()
    for start in range(0, len(pairs), 1024):
        a, b = pairs[start : start + 1024].T
        codes = kinds[a] * 6 + kinds[b]
        for side in (0, 1):
            toward = weights[:, side][codes][:, :slots].T.copy()
            for members in sets:
                toward[members].sum(1)
    return time.process_time() - began
