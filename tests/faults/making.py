"""A database with answers and a backup, quickly made, to be damaged."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

from drills.storage.repository import open_repository
from drills.storage.rotation import back_up
from tests.storage.making import answer, contrast, intake, memory, pour

DAY = date(2026, 3, 2)
ANSWERS = 300


def answered(file: Path) -> None:
    """Make a database of a drill and a flight, with the backup of the day before."""
    with open_repository(file) as repository:
        me = repository.taster().id
        repository.keep_contrasts([contrast(n) for n in range(1, ANSWERS + 1)], "f")
        drill = repository.start_drill(me, 600)
        for number in range(1, ANSWERS):
            repository.record_answer(answer(me, number, drill.id), memory(me, number))
        repository.record_pours(me, intake(), [pour("p1"), pour("p2", flight="Friday")])
        back_up(file, DAY - timedelta(1))
        repository.record_answer(answer(me, ANSWERS, drill.id), memory(me, ANSWERS))
