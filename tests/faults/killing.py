"""Kills the program at random moments of its work, and holds what is left to what it had said.

`python -m tests.faults 200` kills two hundred times; the tests kill a few.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
from collections import Counter
from contextlib import closing
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from types import TracebackType

from drills.grading import Grade
from drills.memory import MemoryModel
from drills.service.traces import as_trace
from drills.storage.repository import Repository, open_repository
from drills.storage.rotation import inspect, named_backups
from drills.storage.upgrade import REVISIONS, read_revision
from tests.faults.works import ROWS, SAID, WORKS

ROOT = Path(__file__).parents[2]
OLD = sorted((ROOT / "tests" / "storage" / "old").glob("revision-*.sqlite3"))


@dataclass(frozen=True)
class Ended:
    """How a piece of work ended, the rows from before it, and what it had said until then."""

    work: str
    home: Path
    before: dict[str, int]
    killed: bool
    said: list[str]
    milliseconds: int


class Server:
    """A process with the program loaded, which works and is killed on demand."""

    def __init__(self, preloaded: Path | None = None) -> None:
        preload = {"LD_PRELOAD": str(preloaded)} if preloaded else {}
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.works"],
            cwd=ROOT,
            env={**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", **preload},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self._read() == "ready"

    def __enter__(self) -> Server:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._process.communicate()

    def run(self, work: str, home: Path, seed: int, milliseconds: int = -1) -> Ended:
        """Do a piece of work in a process of its own, killed after so many milliseconds."""
        before = _rows(home / "crosspour.sqlite3")
        assert self._process.stdin is not None
        self._process.stdin.write(f"{work}\t{home}\t{seed}\t{milliseconds}\n")
        self._process.stdin.flush()
        code, took = map(int, self._read().split())
        assert code in (0, -signal.SIGKILL), f"{work} ended with {code}"
        file = home / SAID
        # A line that the kill cut short was not said.
        said = file.read_text(encoding="utf-8").split("\n")[:-1] if file.exists() else []
        return Ended(work, home, before, code != 0, said, took)

    def _read(self) -> str:
        assert self._process.stdout is not None
        return self._process.stdout.readline().rstrip("\n")


def kill_at_random(
    times: int, furnished: Path, folder: Path, seed: int = 1
) -> Counter[tuple[str, bool]]:
    """Kill each work in turn, `times` in all, and check what is left; counts of work and killed.

    AssertionError says what was lost.
    """
    rng = random.Random(seed)
    counted: Counter[tuple[str, bool]] = Counter()
    with Server() as server:
        # How long the whole work takes here, so that the kills fall everywhere into it.
        whole = {}
        for work in WORKS:
            home = new_home(furnished, folder / f"whole-{work}", work, 0)
            whole[work] = server.run(work, home, 0)
            assert not whole[work].killed
            check(whole[work])
        for number in range(times):
            work = list(WORKS)[number % len(WORKS)]
            home = new_home(furnished, folder / f"{number}-{work}", work, number)
            moment = round(rng.uniform(0, whole[work].milliseconds))
            ended = server.run(work, home, number, moment)
            counted[work, ended.killed] += 1
            check(ended)
            shutil.rmtree(home)
    return counted


def new_home(furnished: Path, home: Path, work: str, number: int) -> Path:
    """A home for a piece of work; for a migration with one of the old files."""
    shutil.copytree(furnished, home)
    if work == "migration":
        shutil.copyfile(OLD[number % len(OLD)], home / "crosspour.sqlite3")
    return home


def check(ended: Ended) -> None:
    """Nothing that was said to be kept is lost, nothing is there by half."""
    file = ended.home / "crosspour.sqlite3"
    if ended.work == "migration":
        # Either the old file as it was, or the new one.
        revision = read_revision(file)
        assert revision in REVISIONS
        assert revision == REVISIONS[-1] or "upgraded" not in ended.said
    with open_repository(file) as repository:
        if ended.work in ("drill", "backup"):
            _check_memory(repository)
        if ended.work == "drill":
            _check_answers(repository, ended.said)
        elif ended.work == "import":
            _check_imports(repository, ended.said)
    if ended.work == "migration":
        assert read_revision(file) == REVISIONS[-1]
        kept = _rows(file)
        assert {table: kept[table] for table in ended.before} == ended.before
    if ended.work == "backup":
        _check_backups(file, ended.said)
    with closing(sqlite3.connect(file)) as reader:
        assert reader.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert reader.execute("PRAGMA foreign_key_check").fetchall() == []


def _rows(file: Path) -> dict[str, int]:
    with closing(sqlite3.connect(file)) as reader:
        names = reader.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        return {
            name: reader.execute(f"SELECT count(*) FROM {name}").fetchone()[0]
            for (name,) in names
            if not name.startswith("sqlite_")
        }


def _check_memory(repository: Repository) -> None:
    """Every memory is what the model makes of the answers that stand, from the first one on."""
    model, me = MemoryModel(), repository.taster().id
    for row in repository.memories(me):
        kept = repository.answers_of(me, row.contrast.id)
        trace = model.replay((Grade(one.grade), one.day) for one in kept)
        assert as_trace(row.memory) == trace


def _check_answers(repository: Repository, said: list[str]) -> None:
    drills = repository.drills(repository.taster().id)
    answers = [row for one in drills for row in repository.answers_of_drill(one.id)]
    told = [line for line in said if line.startswith("answers")]
    undone = said.count("undone")
    # One more of each may be kept and not yet said.
    counts = f"{len(told)} answers told, {len(answers)} kept"
    assert len(told) <= len(answers) <= len(told) + 1, counts
    assert undone <= sum(one.undone_at is not None for one in answers) <= undone + 1
    counted = Counter(one.contrast_id for one in answers if one.counts and one.undone_at is None)
    memories = repository.memories(repository.taster().id)
    assert counted == {row.contrast.id: row.memory.answers for row in memories if row.memory}


def _check_imports(repository: Repository, said: list[str]) -> None:
    me = repository.taster().id
    told = {int(line.split()[1]) for line in said if line.startswith("import")}
    back = {int(line.split()[1]) for line in said if line.startswith("undone")}
    intakes = {one.id: one for one in repository.intakes(me)}
    held = Counter(row.intake_id for row in repository.pours(me))
    assert told <= intakes.keys()
    for number, one in intakes.items():
        assert one.pours == ROWS
        assert held[number] == (0 if one.undone_at else ROWS)
        assert one.undone_at is not None or number not in back


def _check_backups(file: Path, said: list[str]) -> None:
    found = {one.file.name: inspect(one) for one in named_backups(file)}
    assert [one.problem for one in found.values() if one.problem] == []
    told = [line.split()[1:] for line in said if line.startswith("backup")]
    # The rotation lets go of older ones; the last seven days stay whatever happens.
    for name, answers in told[-6:]:
        assert found[name].answers == int(answers)
    days = [one.day for one in found.values()]
    assert all(day >= date(2026, 1, 1) for day in days)
