"""Fit the memory model to a taster, keep what is better, and take it back."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from drills.errors import NotPossibleError, StorageError
from drills.fitting import STEPS, Fit, Judged
from drills.grading import Grade
from drills.service.desk import OWN_NUMBERS
from drills.service.traces import as_record

if TYPE_CHECKING:
    from drills.service.desk import Desk


@dataclass(frozen=True, slots=True)
class Step:
    """Where a fit is: the nth of so many steps, and what is done in it."""

    nth: int
    of: int
    words: str


def fit_taster(desk: Desk, told: Callable[[Step], None] = lambda _: None) -> Fit:
    """Fit in a process of its own, calling `told` at each step; keep the numbers where better.

    Raises:
        NotPossibleError: too few answers, or the extra is not installed.
        StorageError: the process ended before it was through.
    """
    import os
    import subprocess
    import sys

    answers = desk.repository.graded(desk.taster.id)
    # A program of its own, not a copy of this one, which holds a database and perhaps a terminal.
    # It finds the packages where this one does, and nothing in the folder it is started from.
    with subprocess.Popen(
        [sys.executable, "-P", "-c", "from drills.fitting import work; work()"],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        encoding="utf-8",
    ) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        # A process that has ended before it read everything is told from what it did not say.
        with suppress(BrokenPipeError):
            json.dump(answers, process.stdin)
            process.stdin.close()
        for line in process.stdout:
            said = json.loads(line)
            if "step" in said:
                told(Step(STEPS.index(said["step"]) + 1, len(STEPS), said["step"]))
            elif "refused" in said:
                raise NotPossibleError(said["refused"])
            else:
                found = _fit_of(said["found"])
                if found.better:
                    keep(desk, found)
                return found
    raise StorageError("the fit ended before it was through; nothing was changed")


def comparison(found: Fit) -> list[str]:
    """A fit in lines: what it learnt from, and how both foretell the later answers."""
    gained = found.usual.log_loss - found.own.log_loss
    return [
        f"{found.held_out:,} later answers, foretold from {found.learnt_from:,} earlier ones:",
        f"  usual numbers  log loss {found.usual.log_loss:.4f}, RMSE {found.usual.rmse:.4f}",
        f"  your numbers   log loss {found.own.log_loss:.4f}, RMSE {found.own.rmse:.4f}",
        f"  gained {gained:.4f}, standard error {found.error:.4f}",
    ]


def kept(desk: Desk) -> Fit | None:
    """The fit that is in use, or None."""
    text = desk.repository.meta(f"{OWN_NUMBERS}{desk.taster.id}")
    return None if text is None else _fit_of(json.loads(text))


def _fit_of(told: dict[str, Any]) -> Fit:
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
