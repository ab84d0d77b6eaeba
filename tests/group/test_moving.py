"""Everything moves between a file and a server, row by row, or nothing does."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from drills.errors import DatabaseCorrupt, DatabaseReadOnly, StorageError
from drills.storage import moving
from drills.storage.moving import copy_to_file, move, restore_server
from drills.storage.repository import Repository, open_repository
from drills.storage.tables import metadata
from tests.group.filling import fill, rows_of
from tests.server import Server
from tests.storage.making import answer, contrast, intake, memory, pour


def everything(repository: Repository) -> dict[str, list[tuple[Any, ...]]]:
    with repository.reading() as connection:
        # By what is in them: what sorts first differs between kinds of database.
        return {
            table.name: sorted(rows_of(connection, table), key=repr)
            for table in metadata.sorted_tables
        }


def filled(where: str) -> Repository:
    repository = open_repository(where)
    ids = {repository.add_taster(name).id: number for number, name in enumerate(("Ada", "Ben"), 2)}
    with repository.writing() as connection:
        fill(connection, ids)
    repository.keep_meta("contrasts", "f")
    repository.share(1, True)
    return repository


@pytest.fixture
def home(tmp_path: Path) -> Iterator[Repository]:
    """A file with several rows in every table."""
    with filled(str(tmp_path / "home.sqlite3")) as repository:
        yield repository


def test_a_file_moves_to_a_server_and_back_with_every_row_as_it_was(
    home: Repository, url: str, tmp_path: Path
) -> None:
    before = everything(home)
    assert all(before.values())
    there = move(home, url)
    assert there == {table: len(rows) for table, rows in before.items()}
    with open_repository(url) as server:
        assert everything(server) == before
        back = tmp_path / "back.sqlite3"
        assert move(server, str(back)) == there
    with open_repository(back) as again:
        assert everything(again) == before
    assert everything(home) == before


def test_after_a_move_new_rows_get_new_numbers(home: Repository, url: str) -> None:
    move(home, url)
    with open_repository(url) as server:
        highest = {
            name: max(row[0] for row in rows)
            for name, rows in everything(server).items()
            if name in ("taster", "drill", "answer", "pour", "flight", "intake")
        }
        me = server.add_taster("Cy").id
        server.add_contrasts([contrast(9)])
        drill = server.start_drill(me, 60).id
        number = server.record_answer(answer(me, 9, drill), memory(me, 9))
        server.record_pours(me, intake(), [pour("new", flight="New")])
        (new,) = server.pours(me)
        assert me == highest["taster"] + 1
        assert drill == highest["drill"] + 1
        assert number == highest["answer"] + 1
        assert (new.id, new.flight_id) == (highest["pour"] + 1, highest["flight"] + 1)


def test_a_target_that_is_not_empty_is_refused_and_left(
    home: Repository, url: str, tmp_path: Path
) -> None:
    with open_repository(url) as server:
        server.taster("Somebody")
        before = everything(server)
    with pytest.raises(StorageError, match="is not empty: it has rows in taster"):
        move(home, url)
    with open_repository(url) as server:
        assert everything(server) == before
    other = tmp_path / "other.sqlite3"
    other.write_bytes(b"my shopping list")
    with pytest.raises(StorageError, match="exists already"):
        move(home, str(other))
    assert other.read_bytes() == b"my shopping list"
    with pytest.raises(StorageError, match="where everything is already"):
        move(home, home.location.name)


def test_a_server_with_empty_tables_may_be_moved_into(home: Repository, url: str) -> None:
    open_repository(url).close()
    move(home, url)
    with open_repository(url) as server:
        assert everything(server) == everything(home)


@pytest.mark.parametrize("kind", ["file", "server"])
def test_a_row_that_comes_out_otherwise_stops_the_move_and_leaves_nothing(
    home: Repository, where: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    usual = moving._in_order

    def one_word_changed(connection: Any, table: Any) -> Iterator[Any]:
        for row in usual(connection, table):
            theirs = connection.engine is not home._engine
            yield (*row[:-1], "changed") if theirs and table.name == "candidate" else row

    monkeypatch.setattr(moving, "_in_order", one_word_changed)
    with pytest.raises(StorageError, match="a row of candidate came out otherwise"):
        move(home, where)
    monkeypatch.undo()
    move(home, where)
    with open_repository(where) as target:
        assert everything(target) == everything(home)


def test_what_a_server_cannot_hold_is_told_and_nothing_is_moved(home: Repository, url: str) -> None:
    home.keep_meta("cautions.1", "a\0b")
    with pytest.raises(StorageError):
        move(home, url)
    home.keep_meta("cautions.1", None)
    move(home, url)


def test_a_servers_backup_is_a_file_that_opens_and_holds_the_same(url: str, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite3"
    with filled(url) as server:
        server.backup(copy)
        with open_repository(copy) as opened:
            assert everything(opened) == everything(server)
        with pytest.raises(StorageError, match="exists already"):
            server.backup(copy)


def test_a_restored_server_holds_the_backup_and_what_was_there_is_kept_in_a_file(
    url: str, tmp_path: Path
) -> None:
    copy = tmp_path / "copy.sqlite3"
    with filled(url) as server:
        server.backup(copy)
        at_backup = everything(server)
        server.add_taster("Cy")
        server.keep_meta("contrasts", "g")
        later = everything(server)
        assert later != at_backup
        done = restore_server(server, copy, tmp_path / "beside")
        assert everything(server) == at_backup
        assert done.kept is not None
        with open_repository(done.kept) as kept:
            assert everything(kept) == later
        assert (done.answers, done.pours) == (len(at_backup["answer"]), len(at_backup["pour"]))
        assert server.add_taster("Di").id == 3
        again = restore_server(server, done.kept, tmp_path / "beside")
        assert everything(server) == later
        assert again.kept != done.kept


def test_an_old_backup_is_upgraded_on_its_way_into_a_server(url: str, tmp_path: Path) -> None:
    old = Path(__file__).parents[1] / "storage" / "old" / "revision-0003.sqlite3"
    content = old.read_bytes()
    with open_repository(url) as server:
        done = restore_server(server, old, tmp_path / "beside")
        assert len(everything(server)["answer"]) == done.answers
    assert old.read_bytes() == content


def test_a_file_that_is_no_backup_changes_nothing_on_the_server(url: str, tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.sqlite3"
    wrong.write_bytes(b"my shopping list")
    with filled(url) as server:
        before = everything(server)
        with pytest.raises(DatabaseCorrupt):
            restore_server(server, wrong, tmp_path / "beside")
        with pytest.raises(StorageError, match="there is no file"):
            restore_server(server, tmp_path / "absent.sqlite3", tmp_path / "beside")
        assert everything(server) == before


def test_a_member_takes_their_own_rows_along_and_cannot_restore(
    url: str, server: Server, tmp_path: Path
) -> None:
    if not server.run("SELECT 1 FROM pg_roles WHERE rolname = 'ada'"):
        server.run("CREATE ROLE ada LOGIN")
    with open_repository(url) as owner:
        ada, ben = owner.add_taster("Ada", "ada").id, owner.add_taster("Ben").id
        with owner.writing() as connection:
            fill(connection, {ada: 2, ben: 3})
    file = tmp_path / "ada.sqlite3"
    with open_repository(url.replace("cellarer@", "ada@")) as member:
        copy_to_file(member, file)
        with pytest.raises(DatabaseReadOnly, match="only whoever runs the group"):
            restore_server(member, file, tmp_path / "beside")
    with open_repository(file) as mine:
        assert [one.name for one in mine.tasters()] == ["Ada"]
        rows = everything(mine)
        assert len(rows["answer"]) == len(rows["pour"]) == 2
        assert len(rows["contrast"]) == 5
