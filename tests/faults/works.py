"""What is under way when the power goes: a drill, an import, an upgrade, a backup.

Each piece of work says on an open file what the program has told the taster is kept. Run as a
script this is a server: it loads the program once, then forks a process for every line it reads,
lets it work, and kills it after the milliseconds that the line gives (never, where negative).
"""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from cards.tables import load_table
from drills.grading import Sureness
from drills.paths import HOME_VARIABLE
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.intake import read, take_in
from drills.storage.repository import open_repository
from drills.storage.rotation import back_up
from tests.desks import right_answer, wrong_answer

ROWS = 400
SAID = "said"


@dataclass(frozen=True)
class Task:
    """A piece of work in a home; `say` takes what the taster has been told is kept."""

    home: Path
    seed: int
    say: Callable[[str], None]

    @property
    def file(self) -> Path:
        """The database."""
        return self.home / "crosspour.sqlite3"


def drill(task: Task) -> None:
    """Answer, now and then take back; every answer is said once it is kept."""
    rng = random.Random(task.seed)
    desk = _desk()
    session = DrillSession(desk, 36_000)
    for number in range(40):
        showing = session.next()
        assert showing is not None
        given = right_answer(showing) if rng.random() < 0.8 else wrong_answer(showing)
        session.answer(given, rng.choice(list(Sureness)), 4.0)
        task.say(f"answers {number + 1}")
        if rng.random() < 0.15:
            session.undo()
            task.say("undone")
    desk.close()


def take(task: Task) -> None:
    """Take two files of many rows in, and take the second back again."""
    desk = _desk()
    for turn in range(2):
        file = task.home / f"flights-{turn}.csv"
        rows = [f"2026-02-{n % 28 + 1:02d},Barolo,Taurasi {n} {turn}" for n in range(ROWS)]
        file.write_text("\n".join(["date,called,was", *rows]), encoding="utf-8")
        with read(desk, str(file)) as intake:
            done = take_in(desk, intake)
        assert done.intake is not None
        task.say(f"import {done.intake}")
    desk.repository.undo_intake(done.intake)
    task.say(f"undone {done.intake}")
    desk.close()


def migrate(task: Task) -> None:
    """Open a file of an earlier version."""
    with open_repository(task.file):
        task.say("upgraded")


def back_up_daily(task: Task) -> None:
    """Back up once a day while answers come in."""
    desk = _desk()
    session = DrillSession(desk, 36_000)
    for day in range(12):
        showing = session.next()
        assert showing is not None
        session.answer(right_answer(showing), Sureness.SURE, 4.0)
        made = back_up(task.file, date(2026, 1, 1) + timedelta(day))
        assert made is not None
        task.say(f"backup {made.file.name} {made.answers}")
    desk.close()


WORKS: dict[str, Callable[[Task], None]] = {
    "drill": drill,
    "import": take,
    "migration": migrate,
    "backup": back_up_daily,
}


def _desk() -> Desk:
    desk = Desk()
    # Read by the server, once for all.
    desk.table = _TABLE
    return desk


def serve() -> None:
    """Read lines of work, home, seed and milliseconds; answer each with how it ended."""
    print("ready", flush=True)
    for line in sys.stdin:
        work, home, seed, milliseconds = line.rstrip("\n").split("\t")
        began = time.monotonic()
        child = os.fork()
        if child == 0:
            _work(work, Path(home), int(seed))
        if int(milliseconds) >= 0:
            time.sleep(int(milliseconds) / 1000)
            os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        took = round((time.monotonic() - began) * 1000)
        print(os.waitstatus_to_exitcode(status), took, flush=True)


def _work(work: str, home: Path, seed: int) -> None:
    code = 1
    try:
        os.environ[HOME_VARIABLE] = str(home)
        # Read by what `power.py` preloads.
        os.environ["POWER_ROOT"] = str(home)
        os.environ["POWER_LOG"] = str(home.with_suffix(".log"))
        said = os.open(home / SAID, os.O_CREAT | os.O_APPEND | os.O_WRONLY)

        def say(words: str) -> None:
            os.write(said, f"{words}\n".encode())

        WORKS[work](Task(home, seed, say))
        code = 0
    finally:
        # Nothing of the server's is to be tidied up here.
        os._exit(code)


if __name__ == "__main__":
    _TABLE = load_table()
    serve()
