"""Fit the memory model to a taster, keep what is better, and take it back."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable
from dataclasses import asdict
from typing import TYPE_CHECKING

from drills.fitting import Fit, fit
from drills.grading import Grade
from drills.service.desk import OWN_NUMBERS
from drills.service.drilling import as_record

if TYPE_CHECKING:
    from drills.service.desk import Desk

# Seconds between two words on how it goes.
_EVERY = 1.0


def fit_taster(desk: Desk, told: Callable[[float], None] | None = None) -> Fit:
    """Fit in a process of its own, calling `told` with the seconds gone; keep it where better.

    Raises:
        UsageError: too few answers, or the extra is not installed.
    """
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures import TimeoutError as Waiting

    answers = desk.repository.graded(desk.taster.id)
    # Started afresh: a copy of this process would share its database connection.
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as pool:
        running, gone = pool.submit(fit, answers), 0.0
        while True:
            try:
                found = running.result(timeout=_EVERY)
                break
            except Waiting:
                gone += _EVERY
                if told is not None:
                    told(gone)
    if found.better:
        keep(desk, found)
    return found


def kept(desk: Desk) -> Fit | None:
    """The fit that is in use, or None."""
    from drills.fitting import Judged

    text = desk.repository.meta(f"{OWN_NUMBERS}{desk.taster.id}")
    if text is None:
        return None
    told = json.loads(text)
    return Fit(
        tuple(told["numbers"]),
        Judged(**told["usual"]),
        Judged(**told["own"]),
        told["learnt_from"],
        told["held_out"],
        told["error"],
    )


def keep(desk: Desk, found: Fit | None) -> None:
    """Use own numbers from now on, or with None the usual ones; every memory is worked out anew.

    Answers are never touched, so this can be taken back at any time.
    """
    text = None if found is None else json.dumps(asdict(found))
    desk.repository.keep_meta(f"{OWN_NUMBERS}{desk.taster.id}", text)
    desk.__dict__.pop("memory", None)
    histories: defaultdict[int, list[tuple[Grade, int]]] = defaultdict(list)
    for contrast, grade, day in desk.repository.graded(desk.taster.id):
        histories[contrast].append((Grade(grade), day))
    records = []
    for row in desk.repository.memories(desk.taster.id):
        trace = desk.memory.replay(histories[row.contrast.id])
        if trace is not None and row.memory is not None:
            records.append(as_record(trace, desk.taster.id, row.contrast.id, row.memory.last_at))
    desk.repository.keep_memories(records)
