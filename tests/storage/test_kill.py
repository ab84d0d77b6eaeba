"""A process that dies in the middle of writing loses nothing that it was told is kept."""

from __future__ import annotations

import random
import signal
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from drills.storage.repository import open_repository
from tests.storage.making import spawn

ANSWERING = """
import itertools, sys
from drills.storage.repository import open_repository
from tests.storage.making import answer, contrast, intake, memory, pour

repository = open_repository(sys.argv[1])
me = repository.taster().id
repository.add_contrasts([contrast(n) for n in range(1, 20)])
drill = repository.start_drill(me, 600).id
print("ready", flush=True)
for number in itertools.count(1):
    which = number % 19 + 1
    known = repository.memory(me, which)
    count = known.answers + 1 if known else 1
    made = repository.record_answer(answer(me, which, drill), memory(me, which, answers=count))
    rows = [pour(f"{drill}-{number}-{n}", position=n) for n in range(5)]
    repository.record_pours(me, intake(f"{drill}-{number}"), rows)
    print(made, flush=True)
"""


@pytest.mark.parametrize("seed", range(3))
def test_every_acknowledged_answer_survives_kill_and_no_half_of_one_is_left(
    file: Path, seed: int
) -> None:
    chance = random.Random(seed)
    acknowledged: list[int] = []
    for _ in range(2):
        with spawn(ANSWERING, file) as process:
            assert process.stdout is not None
            assert process.stdout.readline() == "ready\n"
            # After so many answers, not after so long: a busy machine may answer none in a while.
            lines = [process.stdout.readline() for _ in range(chance.randint(2, 40))]
            process.send_signal(signal.SIGKILL)
            lines += process.stdout.read().splitlines(keepends=True)
        assert process.returncode == -signal.SIGKILL
        # The last line may have been cut by the kill.
        acknowledged += [int(line) for line in lines if line[-1] == "\n"]
    assert len(acknowledged) >= 4
    with open_repository(file) as repository:
        me = repository.taster().id
        kept = {
            row.id for one in repository.drills(me) for row in repository.answers_of_drill(one.id)
        }
        assert kept >= set(acknowledged)
        for row in repository.memories(me):
            assert row.memory is not None
            assert row.memory.answers == len(repository.answers_of(me, row.contrast.id))
        intakes = repository.intakes(me, limit=10_000)
        pours = repository.pours(me)
        assert all(one.pours == 5 for one in intakes)
        assert len(pours) == 5 * len(intakes)
    with closing(sqlite3.connect(file)) as reader:
        assert reader.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert reader.execute("PRAGMA foreign_key_check").fetchall() == []
