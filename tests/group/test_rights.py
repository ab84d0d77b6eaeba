"""What a taster's login can and cannot do, tried with plain SQL."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import psycopg
import pytest
from psycopg import sql

from drills.errors import DatabaseReadOnly, StorageError
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.storage.repository import Repository, open_repository
from drills.storage.rights import LEAST_TASTERS, SHARED, policies
from drills.storage.tables import metadata
from tests.desks import answer, mix_up
from tests.group.filling import count, fill
from tests.server import Server
from tests.storage.making import contrast, intake, pour

ODD = 'o\'hara "x" %s'
LOGINS = {"Ada": "ada", "Ben": "ben", "O'Hara": ODD}
OWNED = [table.name for table in metadata.sorted_tables if table.name not in SHARED]


pytestmark = pytest.mark.usefixtures("logins")


@pytest.fixture
def logins(server: Server) -> None:
    """Logins for three tasters and a stranger."""
    known = {row[0] for row in server.run("SELECT rolname FROM pg_roles")}
    for login in (*LOGINS.values(), "stranger"):
        if login not in known:
            quoted = '"' + login.replace('"', '""') + '"'
            server.run(f"CREATE ROLE {quoted} LOGIN")


@pytest.fixture
def group(url: str) -> Iterator[Repository]:
    """A group of three, opened by whoever runs it, with one row of each kind for each."""
    with open_repository(url) as owner:
        ids = {
            owner.add_taster(name, login).id: n for n, (name, login) in enumerate(LOGINS.items(), 1)
        }
        with owner.writing() as connection:
            fill(connection, ids)
        for number in ids:
            owner.keep_meta(f"cautions.{number}", "seen")
            owner.keep_meta(f"memory numbers of {number}", "[1]")
        owner.keep_meta("contrasts", "f")
        yield owner


@pytest.fixture
def ada(server: Server, database: str, group: Repository) -> Iterator[psycopg.Connection]:
    """Plain SQL with Ada's login."""
    assert group.tasters()
    where = f"host=127.0.0.1 port={server.port} dbname={database} user=ada"
    with psycopg.connect(where, autocommit=True) as connection:
        yield connection


@pytest.mark.parametrize("table", OWNED)
def test_a_login_sees_changes_and_deletes_its_own_rows_alone(
    table: str, ada: psycopg.Connection, group: Repository
) -> None:
    name = sql.Identifier(table)
    key = next(iter(metadata.tables[table].primary_key.columns)).name
    assert ada.execute(sql.SQL("SELECT count(*) FROM {}").format(name)).fetchone() == (1,)
    touched = ada.execute(
        sql.SQL("UPDATE {} SET {} = {}").format(name, sql.Identifier(key), sql.Identifier(key))
    )
    assert touched.rowcount == 1
    before = _total(group, table)
    try:
        gone = ada.execute(sql.SQL("DELETE FROM {}").format(name)).rowcount
    except psycopg.errors.InsufficientPrivilege:
        gone = 0
    except psycopg.errors.ForeignKeyViolation:
        gone = 0
    assert before - _total(group, table) == gone <= 1


@pytest.mark.parametrize(
    "table", [name for name in OWNED if "taster_id" in metadata.tables[name].c]
)
def test_a_login_cannot_put_rows_under_another_name(table: str, ada: psycopg.Connection) -> None:
    name = sql.Identifier(table)
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        ada.execute(sql.SQL("UPDATE {} SET taster_id = 2").format(name))
    columns = [
        column.name
        for column in metadata.tables[table].columns
        if column.name not in ("id", "taster_id")
    ]
    listed = sql.SQL(", ").join(map(sql.Identifier, columns))
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        ada.execute(
            sql.SQL("INSERT INTO {} (taster_id, {}) SELECT 2, {} FROM {}").format(
                name, listed, listed, name
            )
        )


def test_a_login_cannot_write_below_what_is_anothers(
    ada: psycopg.Connection, group: Repository
) -> None:
    with group.reading() as connection:
        other = connection.exec_driver_sql("SELECT id FROM pour WHERE taster_id = 2").scalar()
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        ada.execute("INSERT INTO observation VALUES (%s, 99, 'acid', 'high', '')", (other,))


@pytest.mark.parametrize(
    "words",
    [
        "UPDATE taster SET login = 'ada' WHERE id = 2",
        "UPDATE taster SET name = 'Ben' WHERE id = 1",
        "INSERT INTO taster (name, made_at) VALUES ('Eve', now())",
        "SET ROLE ben",
        "SET SESSION AUTHORIZATION ben",
        "ALTER TABLE answer DISABLE ROW LEVEL SECURITY",
        "DROP POLICY own ON answer",
        "CREATE TABLE public.mine (id integer)",
        "UPDATE alembic_version SET version_num = '0001'",
        "DELETE FROM contrast",
        "UPDATE contrast SET retired_at = now()",
        "UPDATE meta SET value = 'g' WHERE key = 'contrasts'",
        "INSERT INTO meta VALUES ('contrasts2', 'g')",
        "INSERT INTO meta VALUES ('cautions.77', 'g')",
        "TRUNCATE answer",
    ],
)
def test_a_login_cannot_reach_past_its_rights(
    words: str, ada: psycopg.Connection, group: Repository
) -> None:
    before = _everything(group)
    try:
        touched = ada.execute(words).rowcount  # type: ignore[call-overload]
    except psycopg.errors.InsufficientPrivilege:
        touched = 0
    assert touched == 0
    assert _everything(group) == before


def test_facts_about_another_taster_are_not_read(ada: psycopg.Connection) -> None:
    found = {row[0] for row in ada.execute("SELECT key FROM meta").fetchall()}
    assert found == {"program", "contrasts", "cautions.1", "memory numbers of 1"}


def test_a_login_that_is_no_tasters_sees_nothing(url: str, group: Repository) -> None:
    assert len(group.tasters()) == 3
    with pytest.raises(DatabaseReadOnly, match="your login may not"):
        open_repository(url.replace("cellarer@", "stranger@"))


def test_every_table_is_guarded(server: Server, database: str, group: Repository) -> None:
    assert {name for name, _ in policies()} == {*metadata.tables}
    open_ones = server.run(
        "SELECT relname FROM pg_class JOIN pg_namespace ON pg_namespace.oid = relnamespace"
        " WHERE nspname = 'public' AND relkind IN ('r', 'p') AND NOT relrowsecurity",
        database,
    )
    assert group.tasters()
    # Holds the number of the schema and nothing else.
    assert open_ones == [("alembic_version",)]


def test_a_member_drills_as_usual_and_is_whom_the_login_says(
    url: str, open_group_desk: Callable[..., Desk]
) -> None:
    owner = open_group_desk(url)
    owner.repository.add_taster("Ada", "ada")
    owner.repository.add_taster("O'Hara", ODD)
    whole = [row.contrast_id for row in owner.repository.plan_rows(0)]
    for login, name in (("ada", "Ada"), ("o%27hara%20%22x%22%20%25s", "O'Hara")):
        desk = open_group_desk(url.replace("cellarer@", f"{login}@"))
        assert desk.taster.name == name
        session = DrillSession(desk, 600)
        reveals = [answer(session), answer(session, right=False), answer(session)]
        assert session.undo() is not None
        assert session.end().answered == 2
        assert len(reveals) == 3
        mix_up(desk, "verdejo-rueda", "albarino-rias-baixas")
        assert len(desk.repository.pours(desk.taster.id)) == 1
        assert [one.name for one in desk.repository.tasters()] == [name]
        with pytest.raises(StorageError, match="sees no other taster"):
            _ = open_group_desk(url.replace("cellarer@", f"{login}@"), "Ben").taster
    assert {row.contrast_id for row in owner.repository.plan_rows(0)} >= set(whole)


def _total(group: Repository, table: str) -> int:
    with group.reading() as connection:
        return count(connection, metadata.tables[table])


def _everything(group: Repository) -> list[object]:
    with group.reading() as connection:
        return [
            sorted(map(repr, connection.execute(table.select()).all()))
            for table in metadata.sorted_tables
        ]


# ---- what the group sees


def test_only_what_enough_tasters_who_share_confuse_is_counted_and_no_name_with_it(
    where: str, kind: str, server_logins: Callable[[str], str | None]
) -> None:
    with open_repository(where) as owner:
        owner.keep_contrasts([contrast(1)], "f")
        names = ["Ada", "Ben", "Cy", "Di"]
        ids = [owner.add_taster(name, server_logins(name)).id for name in names]
        for n, taster in enumerate(ids):
            owner.record_pours(
                taster, intake(), [pour(f"{n}-{k}", position=k) for k in range(n + 1)]
            )
        right = pour("right", called_wine="albarino-0000", called_text="Albariño")
        owner.record_pours(ids[0], intake("more"), [right])
        assert owner.group_confusions() == []
        for taster in ids[: LEAST_TASTERS - 1]:
            owner.share(taster, True)
        assert owner.group_confusions() == []
        owner.share(ids[2], True)
        (found,) = owner.group_confusions()
        assert (found.called, found.was) == ("verdejo-0000", "albarino-0000")
        # Di's four pours are Di's: only three share.
        assert (found.tasters, found.times, found.poured) == (3, 1 + 2 + 3, 1 + 2 + 3 + 1)
        if kind == "server":
            with open_repository(where.replace("cellarer@", "di@")) as member:
                assert member.group_confusions() == [found]
                assert len(member.pours(ids[3])) == 4
                assert member.pours(ids[0]) == []
        owner.share(ids[0], False)
        assert owner.group_confusions() == []
