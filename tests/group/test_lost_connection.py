"""A server that goes away in the middle of a drill costs no answer and doubles none."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from drills.errors import ConnectionLost, StorageError
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.storage.posting import REST_SECONDS
from tests.desks import Watch, answer
from tests.group.cutting import Wire
from tests.server import Server

Open = Callable[[str], Desk]


def kept(server: Server, database: str) -> list[tuple[int, str]]:
    """Contrast and words of every answer that the server holds, as plain SQL sees them."""
    return server.run("SELECT contrast_id, given FROM answer ORDER BY id", database)


def outbox(home: Path) -> list[Path]:
    return sorted((home / "outbox").glob("*"))


def given(session: DrillSession) -> list[int]:
    return [done.showing.question.contrast.id for done in session.reveals]


@pytest.fixture
def session(wire: Wire, server: Server, database: str, open_group_desk: Open) -> DrillSession:
    desk = open_group_desk(server.url(database, port=wire.port))
    return DrillSession(desk, 600)


def test_a_drill_goes_on_without_its_server_and_every_answer_arrives_once(
    session: DrillSession, wire: Wire, server: Server, database: str, home: Path, watch: Watch
) -> None:
    answer(session)
    wire.cut()
    for right in (False, True, True):
        answer(session, right=right)
    assert len(kept(server, database)) == 1
    assert session.desk.repository.waiting == 3
    (file,) = outbox(home)
    assert [list(json.loads(line)) for line in file.read_text().splitlines()] == [["answer"]] * 3

    wire.mend()
    watch.go_on(REST_SECONDS + 1)
    answer(session)
    assert session.desk.repository.waiting == 0
    assert outbox(home) == []
    assert [row[0] for row in kept(server, database)] == given(session)
    for contrast in given(session):
        trail = session.desk.repository.answers_of(session.desk.taster.id, contrast)
        memory = session.desk.repository.memory(session.desk.taster.id, contrast)
        assert memory is not None
        assert memory.answers == len(trail) == 1


def test_an_answer_of_which_only_the_acknowledgement_was_lost_is_kept_once(
    session: DrillSession, wire: Wire, server: Server, database: str, watch: Watch
) -> None:
    answer(session)
    wire.cut_after = b"COMMIT"
    answer(session)
    # The server has it, and the program cannot know.
    assert len(kept(server, database)) == 2
    assert session.desk.repository.waiting == 1
    wire.mend()
    watch.go_on(REST_SECONDS + 1)
    answer(session)
    assert [row[0] for row in kept(server, database)] == given(session)
    contrast = given(session)[1]
    memory = session.desk.repository.memory(session.desk.taster.id, contrast)
    assert memory is not None
    assert memory.answers == 1


def test_a_server_that_is_cut_off_and_started_again_misses_nothing(
    session: DrillSession, server: Server, database: str, watch: Watch
) -> None:
    answer(session)
    server.kill()
    try:
        answer(session)
        answer(session)
        assert session.desk.repository.waiting == 2
        summary = session.end()
        assert summary.answered == 3
    finally:
        server.start()
    watch.go_on(REST_SECONDS + 1)
    assert session.desk.repository.memory(session.desk.taster.id, given(session)[1]) is not None
    assert [row[0] for row in kept(server, database)] == given(session)
    assert server.run("SELECT count(ended_at) FROM drill", database) == [(1,)]


def test_what_waits_when_the_program_ends_is_delivered_at_the_next_start(
    session: DrillSession,
    wire: Wire,
    server: Server,
    database: str,
    home: Path,
    open_group_desk: Open,
) -> None:
    answer(session)
    wire.cut()
    answer(session)
    session.desk.close()
    assert len(kept(server, database)) == 1
    assert len(outbox(home)) == 1
    wire.mend()
    again = open_group_desk(server.url(database, port=wire.port))
    assert len(again.repository.answers_of(again.taster.id, given(session)[1])) == 1
    assert outbox(home) == []
    assert [row[0] for row in kept(server, database)] == given(session)


def test_what_waits_is_delivered_at_the_end_where_the_server_has_come_back(
    session: DrillSession, wire: Wire, server: Server, database: str, home: Path
) -> None:
    answer(session)
    wire.cut()
    answer(session)
    wire.mend()
    session.desk.close()
    assert outbox(home) == []
    assert [row[0] for row in kept(server, database)] == given(session)
    assert server.run("SELECT count(*) FROM memory", database) == [(2,)]


def test_a_line_cut_off_by_a_crash_is_left_out_and_the_others_are_delivered(
    session: DrillSession,
    wire: Wire,
    server: Server,
    database: str,
    home: Path,
    open_group_desk: Open,
) -> None:
    answer(session)
    wire.cut()
    answer(session)
    session.desk.close()
    (file,) = outbox(home)
    file.write_bytes(file.read_bytes() + b'{"answer": {"tas')
    wire.mend()
    _ = open_group_desk(server.url(database, port=wire.port)).taster
    assert len(kept(server, database)) == 2


def test_what_the_server_refuses_is_kept_aside_and_named_once(
    session: DrillSession,
    wire: Wire,
    server: Server,
    database: str,
    home: Path,
    open_group_desk: Open,
) -> None:
    answer(session)
    wire.cut()
    answer(session)
    session.desk.close()
    wire.mend()
    server.run("DELETE FROM answer; DELETE FROM drill", database)
    where = server.url(database, port=wire.port)
    with pytest.raises(StorageError, match="were refused"):
        _ = open_group_desk(where).taster
    (file,) = outbox(home)
    assert file.suffix == ".refused"
    assert len(file.read_text().splitlines()) == 1
    assert open_group_desk(where).taster.name == "me"


def test_a_server_that_takes_nothing_in_for_now_gets_the_answers_later(
    session: DrillSession,
    wire: Wire,
    server: Server,
    database: str,
    home: Path,
    open_group_desk: Open,
) -> None:
    def set_to_read_only(how: str) -> None:
        server.run(f"ALTER DATABASE {database} SET default_transaction_read_only = {how}")
        # Connections learn of it as they are made.
        server.run(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            f" WHERE datname = '{database}' AND usename = 'cellarer'"
        )

    where = server.url(database, port=wire.port)
    answer(session)
    set_to_read_only("on")
    answer(session)
    assert session.desk.repository.waiting == 1
    session.desk.close()
    with pytest.raises(StorageError, match="may be read but not written"):
        _ = open_group_desk(where).taster
    assert [file.suffix for file in outbox(home)] == [".jsonl"]
    set_to_read_only("off")
    _ = open_group_desk(where).taster
    assert outbox(home) == []
    assert [row[0] for row in kept(server, database)] == given(session)


def test_an_answer_that_waited_can_be_taken_back_once_the_server_is_there(
    session: DrillSession, wire: Wire, server: Server, database: str, watch: Watch
) -> None:
    answer(session)
    wire.cut()
    answer(session)
    with pytest.raises(ConnectionLost):
        session.undo()
    assert session.answered == 2
    wire.mend()
    watch.go_on(REST_SECONDS + 1)
    assert session.undo() is not None
    assert server.run("SELECT count(*), count(undone_at) FROM answer", database) == [(2, 1)]
    assert server.run("SELECT count(*) FROM memory", database) == [(1,)]


def test_without_its_server_no_drill_begins_and_one_sentence_says_so(
    wire: Wire, server: Server, database: str, open_group_desk: Open
) -> None:
    wire.cut()
    with pytest.raises(ConnectionLost) as caught:
        _ = open_group_desk(server.url(database, port=wire.port)).repository
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("no connection to postgresql://cellarer@127.0.0.1")
