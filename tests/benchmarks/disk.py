"""What an answer costs on disk, and what the program takes of memory, from none to a million.

Baselines: of an answer on disk the same rows in a table without an index or a memory; of memory a
process that imports Textual, SQLModel and fsrs and opens the file; of a backup a plain copy.
"""

from __future__ import annotations

import gc
import os
import shutil
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from datetime import date
from pathlib import Path

from drills.storage.rotation import back_up
from tests.benchmarks.making import make_empty, make_years
from tests.benchmarks.timing import Amount, Line

_SOME_DAY = date(2026, 3, 2)
SIZES = (0, 10_000, 100_000, 400_000, 1_000_000)
_ROWS, _BARE_PEAK, _COPY = "the same rows, no index", "bare Textual, SQLModel, fsrs", "a plain copy"

# Each in a process of its own, which tells its memory at its highest.
_DRILL = """
import sys
from tests.peaks import peak
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
print(peak())
"""
_BARE = """
import sqlite3, sys
from tests.peaks import peak
import fsrs, sqlmodel, textual.app, textual.widgets
sqlite3.connect(sys.argv[1]).execute("SELECT count(*) FROM meta").fetchone()
print(peak())
"""
_PROGRESS = """
import sys
from tests.peaks import peak
import drills.screens.app
from drills.service.desk import Desk
from drills.service.progress import progress
desk = Desk(sys.argv[1])
progress(desk)
desk.close()
print(peak())
"""


def disk(folder: Path) -> list[Line | Amount]:
    """Lines for all sizes; no target, the numbers are to be read."""
    lines: list[Line | Amount] = []
    empty = 0
    for answers in SIZES:
        file, said = folder / f"disk-{answers}.sqlite3", f"{answers:,} answers"
        if answers:
            make_years(file, answers=answers, pours=2_000 if answers >= 100_000 else 200)
        else:
            make_empty(file)
        gc.collect()
        size = file.stat().st_size
        empty = empty or size
        if answers:
            each = (size - empty) / answers
            lines.append(
                Amount("disk", f"an answer, {said}", each, "B", _ROWS, _bare_rows(file) / answers)
            )
        lines.append(Amount("disk", f"file, {said}", size / 1e6, "MB", "no answer", empty / 1e6))
        began = time.perf_counter()
        made = back_up(file, _SOME_DAY)
        took = time.perf_counter() - began
        assert made is not None
        shutil.rmtree(made.file.parent)
        lines.append(Line("disk", f"backup, {said}", [took], _COPY, [_copied(file)]))
        least = _peak(_BARE, file)
        for what, script in (("drill", _DRILL), ("progress", _PROGRESS)):
            peak = _peak(script, file)
            lines.append(Amount("memory", f"peak, {what}, {said}", peak, "MB", _BARE_PEAK, least))
        file.unlink()
    return lines


def _bare_rows(file: Path) -> int:
    """Bytes of a file that holds the answers and nothing else."""
    bare = file.with_suffix(".bare")
    with closing(sqlite3.connect(bare, isolation_level=None)) as connection:
        connection.execute("ATTACH ? AS years", (str(file),))
        connection.execute("CREATE TABLE answer AS SELECT * FROM years.answer")
    size = bare.stat().st_size
    bare.unlink()
    return size


def _copied(file: Path) -> float:
    """Seconds of a copy that is synced."""
    copy = file.with_suffix(".copy")
    began = time.perf_counter()
    shutil.copyfile(file, copy)
    with copy.open("rb") as stream:
        os.fsync(stream.fileno())
    took = time.perf_counter() - began
    copy.unlink()
    return took


def _peak(script: str, file: Path) -> float:
    """Megabytes."""
    ran = subprocess.run(
        [sys.executable, "-c", script, str(file)],
        env={**os.environ, "OMP_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=True,
    )
    return int(ran.stdout) / 1e6
