"""A server that hangs and closes nothing: the drill goes on as where it goes away."""

from __future__ import annotations

from pathlib import Path
from threading import Event, get_ident
from typing import Any

import pytest
from sqlalchemy import Engine

from drills.errors import ConnectionLost, DatabaseLocked
from drills.service.drilling import DrillSession
from drills.storage import patience, repository
from drills.storage.engine import APPLICATION_ID, Location, make_engine
from drills.storage.posting import REST_SECONDS, Posted
from tests.desks import Watch, answer
from tests.group.cutting import Wire
from tests.group.test_lost_connection import Open
from tests.server import Server

# What takes seconds in use takes half of one here, but not where an answer is to arrive: on a busy
# machine that may take longer.
HURRIED, PATIENT = 0.5, 30.0


@pytest.fixture(autouse=True)
def hurried(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(patience, "DRILL_SECONDS", HURRIED)


@pytest.fixture
def session(wire: Wire, server: Server, database: str, open_group_desk: Open) -> DrillSession:
    desk = open_group_desk(server.url(database, port=wire.port))
    return DrillSession(desk, 600)


def posted(session: DrillSession) -> Posted:
    at_server = session.desk.repository
    assert isinstance(at_server, Posted)
    return at_server


def come_back(session: DrillSession, watch: Watch) -> None:
    """Let the program find out that the server answers again."""
    patience.DRILL_SECONDS = PATIENT
    watch.go_on(REST_SECONDS + 1)
    answer(session)
    looking = posted(session)._looking
    assert looking is not None, "nobody looked for the server"
    looking.join()
    answer(session)


def kept(server: Server, database: str) -> list[int]:
    return [row[0] for row in server.run("SELECT contrast_id FROM answer ORDER BY id", database)]


def given(session: DrillSession) -> list[int]:
    return [done.showing.question.contrast.id for done in session.reveals]


def test_a_drill_goes_on_where_nothing_comes_through_and_every_answer_arrives_once(
    session: DrillSession, wire: Wire, server: Server, database: str, watch: Watch
) -> None:
    answer(session)
    wire.hang()
    for right in (False, True, True):
        answer(session, right=right)
    assert session.desk.repository.waiting == 3
    wire.mend()
    come_back(session, watch)
    assert session.desk.repository.waiting == 0
    assert kept(server, database) == given(session)


def test_a_drill_goes_on_where_the_server_itself_stands_still(
    session: DrillSession, server: Server, database: str, watch: Watch
) -> None:
    answer(session)
    with server.standing_still():
        answer(session)
        answer(session)
        assert session.desk.repository.waiting == 2
    come_back(session, watch)
    assert session.desk.repository.waiting == 0
    assert kept(server, database) == given(session)


def test_an_answer_that_arrives_after_it_was_given_up_is_kept_once(
    session: DrillSession, wire: Wire, server: Server, database: str, watch: Watch
) -> None:
    answer(session)
    wire.hang_at = b"COMMIT"
    answer(session)
    assert session.desk.repository.waiting == 1
    # What was held goes on to the server, and the answer is delivered again beside it.
    wire.mend()
    come_back(session, watch)
    assert session.desk.repository.waiting == 0
    assert kept(server, database) == given(session)


def test_what_a_lost_connection_left_locked_does_not_keep_its_taster_out(
    session: DrillSession, wire: Wire, server: Server, database: str, watch: Watch
) -> None:
    answer(session)
    wire.hang_at = b"COMMIT"
    answer(session)
    wire.lose()
    wire.mend()
    come_back(session, watch)
    assert session.desk.repository.waiting == 0
    assert kept(server, database) == given(session)


def test_while_a_silent_server_is_looked_for_the_drill_does_not_wait(
    session: DrillSession,
    wire: Wire,
    server: Server,
    database: str,
    watch: Watch,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    go, usual = Event(), patience.Patience.connect

    def slowly(self: patience.Patience, *given: Any, **named: Any) -> patience.PatientConnection:
        if get_ident() == self.scout:
            go.wait()
        return usual(self, *given, **named)

    monkeypatch.setattr(patience.Patience, "connect", slowly)
    answer(session)
    wire.hang()
    answer(session)
    watch.go_on(REST_SECONDS + 1)
    answer(session)
    looking = posted(session)._looking
    assert looking is not None
    assert looking.is_alive()
    answer(session)
    assert session.desk.repository.waiting == 3
    with pytest.raises(ConnectionLost):
        session.undo()
    go.set()
    looking.join()
    # It failed: the next try waits its turn again.
    answer(session)
    assert posted(session)._looking is looking
    wire.mend()
    come_back(session, watch)
    assert kept(server, database) == given(session)


def test_an_answer_waits_where_another_changes_what_all_share(
    server: Server,
    database: str,
    watch: Watch,
    home: Path,
    open_group_desk: Open,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    import psycopg

    def soon_locked_out(location: Location, *, readonly: bool, wait_seconds: float) -> Engine:
        return make_engine(location, readonly=readonly, wait_seconds=wait_seconds / 20)

    monkeypatch.setattr(repository, "make_engine", soon_locked_out)
    patience.DRILL_SECONDS = PATIENT
    session = DrillSession(open_group_desk(server.url(database)), 600)
    answer(session)
    where = f"host=127.0.0.1 port={server.port} dbname={database} user=cellarer"
    with psycopg.connect(where) as other:
        other.execute("SELECT pg_advisory_xact_lock(%s)", (APPLICATION_ID,))
        answer(session)
        watch.go_on(REST_SECONDS + 1)
        answer(session)
    assert session.desk.repository.waiting == 2
    assert not list((home / "outbox").glob("*.refused"))
    watch.go_on(REST_SECONDS + 1)
    answer(session)
    assert session.desk.repository.waiting == 0
    assert kept(server, database) == given(session)


def test_outside_a_drill_silence_is_borne_longer_and_a_lock_is_said(
    server: Server, database: str, open_group_desk: Open
) -> None:
    import psycopg

    desk = open_group_desk(server.url(database))
    me = desk.taster.id
    with desk.repository.reading() as connection:
        # Longer than a drill would bear.
        assert connection.exec_driver_sql("SELECT true FROM pg_sleep(0.8)").scalar()
    where = f"host=127.0.0.1 port={server.port} dbname={database} user=cellarer"
    with psycopg.connect(where) as other:
        other.execute("SELECT pg_advisory_xact_lock(%s)", (APPLICATION_ID,))
        with pytest.raises(DatabaseLocked):
            desk.repository.start_drill(me, 60)


def test_without_an_answer_no_program_begins_and_one_sentence_says_so(
    wire: Wire, server: Server, database: str, open_group_desk: Open
) -> None:
    wire.hang()
    with pytest.raises(ConnectionLost, match=r"no connection to .*timeout expired") as caught:
        _ = open_group_desk(server.url(database, port=wire.port)).repository
    assert "\n" not in str(caught.value)
