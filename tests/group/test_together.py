"""Many tasters answer at the same moment; a group has one schema however it was made."""

from __future__ import annotations

import threading
from collections import Counter
from typing import Any

from sqlalchemy import create_engine

from drills.storage.engine import locate
from drills.storage.repository import open_repository
from drills.storage.upgrade import MIGRATIONS, REVISIONS, _migrate, build
from tests.server import Server
from tests.storage.making import answer, contrast, memory

TASTERS, EACH = 24, 12


def test_no_answer_of_many_tasters_at_once_is_lost_or_doubled(
    url: str, server: Server, database: str
) -> None:
    with open_repository(url) as owner:
        owner.keep_contrasts([contrast(n) for n in range(1, EACH + 1)], "f")
        names = [f"Taster {number}" for number in range(TASTERS)]
        ids = [owner.add_taster(name).id for name in names]
    ready = threading.Barrier(2 * TASTERS)
    sent: Counter[tuple[int, int]] = Counter()
    failures: list[BaseException] = []

    def drill(taster: int) -> None:
        try:
            with open_repository(url, wait_seconds=60) as mine:
                number = mine.start_drill(taster, 600).id
                ready.wait(60)
                for which in range(1, EACH + 1):
                    kept = mine.memory(taster, which)
                    count = 1 if kept is None else kept.answers + 1
                    mine.record_answer(
                        answer(taster, which, number), memory(taster, which, answers=count)
                    )
                    sent[taster, which] += 1
        except BaseException as error:  # noqa: BLE001 - reported to the test below
            failures.append(error)
            ready.abort()

    # Each taster has two windows open, which is where answers could get into each other's way.
    threads = [threading.Thread(target=drill, args=(one,)) for one in ids * 2]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    rows = server.run("SELECT taster_id, contrast_id, count(*) FROM answer GROUP BY 1, 2", database)
    assert {(taster, which): times for taster, which, times in rows} == dict(sent)
    assert set(sent.values()) == {2}
    ((receipts, total),) = server.run(
        "SELECT count(DISTINCT receipt), count(*) FROM answer", database
    )
    assert receipts == total == 2 * TASTERS * EACH
    assert server.run("SELECT count(*) FROM memory", database) == [(TASTERS * EACH,)]


CATALOGUE = {
    "columns": "SELECT table_name, column_name, data_type, is_nullable, column_default"
    " FROM information_schema.columns WHERE table_schema = 'public' ORDER BY 1, 2",
    "indexes": "SELECT indexdef FROM pg_indexes WHERE schemaname = 'public' ORDER BY 1",
    "constraints": "SELECT conrelid::regclass::text, conname, pg_get_constraintdef(oid)"
    " FROM pg_constraint WHERE connamespace = 'public'::regnamespace ORDER BY 1, 2",
    "policies": "SELECT tablename, policyname, cmd, qual, with_check FROM pg_policies"
    " ORDER BY 1, 2",
    "functions": "SELECT proname, prosrc, prosecdef, proacl::text FROM pg_proc"
    " WHERE pronamespace = 'public'::regnamespace ORDER BY 1",
}


def catalogue(server: Server, database: str) -> dict[str, list[Any]]:
    return {part: server.run(query, database) for part, query in CATALOGUE.items()}


def test_a_group_that_was_upgraded_from_the_first_release_has_the_schema_of_a_new_one(
    server: Server, database: str
) -> None:
    url = locate(server.url(database)).url
    found = []
    for make in (build, lambda connection: _migrate(connection, MIGRATIONS, REVISIONS[-1])):
        engine = create_engine(url)
        with engine.begin() as connection:
            make(connection)
        engine.dispose()
        found.append(catalogue(server, database))
        server.empty(database)
    new, upgraded = found
    for part in CATALOGUE:
        assert upgraded[part] == new[part]
        assert len(new[part]) >= 2
