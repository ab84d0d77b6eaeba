"""What an answer costs on disk, and what the program takes of memory, from none to a million."""

from __future__ import annotations

import gc
import os
import shutil
import subprocess
import sys
import time
from datetime import date
from pathlib import Path

from drills.storage.rotation import back_up
from tests.benchmarks.making import make_empty, make_years

_SOME_DAY = date(2026, 3, 2)
SIZES = (0, 10_000, 100_000, 400_000, 1_000_000)
HEAD = ("answers", "MB on disk", "bytes each", "peak MB, drill", "peak MB, progress", "backup s")

# The memory of a process of its own, at its highest; ru_maxrss is in kilobytes on Linux.
_DRILL = """
import resource, sys
from drills.grading import Sureness
from drills.screens.opening import drill_screen
from drills.service.desk import Desk
desk = Desk(sys.argv[1])
session = drill_screen(desk).session
for _ in range(20):
    showing = session.next()
    if showing is None:
        break
    question = showing.question
    session.answer(0 if question.options else question.truth, Sureness.SURE, 3.0)
desk.close()
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""
_PROGRESS = """
import resource, sys
import drills.screens.app
from drills.service.desk import Desk
from drills.service.progress import progress
desk = Desk(sys.argv[1])
progress(desk)
desk.close()
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def disk(folder: Path) -> str:
    """A table of all sizes; no target, the numbers are to be read."""
    rows, empty = [HEAD], 0
    for answers in SIZES:
        file = folder / f"disk-{answers}.sqlite3"
        if answers:
            make_years(file, answers=answers, pours=2_000 if answers >= 100_000 else 200)
        else:
            make_empty(file)
        gc.collect()
        size = file.stat().st_size
        empty = empty or size
        began = time.perf_counter()
        made = back_up(file, _SOME_DAY)
        took = time.perf_counter() - began
        assert made is not None
        shutil.rmtree(made.file.parent)
        rows.append(
            (
                f"{answers:,}",
                f"{size / 1e6:,.1f}",
                f"{(size - empty) / answers:,.0f}" if answers else "",
                f"{_peak(_DRILL, file):,.0f}",
                f"{_peak(_PROGRESS, file):,.0f}",
                f"{took:,.2f}",
            )
        )
        file.unlink()
    wide = [max(len(row[place]) for row in rows) for place in range(len(HEAD))]
    return "\n".join(
        "  ".join(f"{cell:>{width}}" for cell, width in zip(row, wide, strict=True)) for row in rows
    )


def _peak(script: str, file: Path) -> float:
    """Megabytes."""
    ran = subprocess.run(
        [sys.executable, "-c", script, str(file)],
        env={**os.environ, "OMP_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=True,
    )
    return int(ran.stdout) * 1024 / 1e6
