"""A desk at a study group's server, and a wire to it that can be cut."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from cards.cellar import Cellar
from cards.tables import Table
from drills.service.desk import Desk
from tests.desks import Watch
from tests.group.cutting import Wire
from tests.server import Server


@pytest.fixture
def wire(server: Server) -> Iterator[Wire]:
    """The wire by which the program reaches the server."""
    wire = Wire(server.port)
    yield wire
    wire.close()


@pytest.fixture
def url(server: Server, database: str) -> str:
    """An empty database, straight."""
    return server.url(database)


@pytest.fixture
def open_group_desk(
    home: Path, watch: Watch, table: Table, cellar: Cellar
) -> Iterator[Callable[[str], Desk]]:
    """Open a desk at a database URL; every one has the home of this test."""
    opened: list[Desk] = []

    def open_one(url: str, taster: str | None = None) -> Desk:
        desk = Desk(url, watch.clock, taster)
        desk.table, desk.cellar = table, cellar
        opened.append(desk)
        return desk

    assert home.is_dir()
    yield open_one
    for desk in opened:
        desk.close()


@pytest.fixture(params=["file", "server"])
def kind(request: pytest.FixtureRequest) -> str:
    """The kind of database: several tasters may share either."""
    return str(request.param)


@pytest.fixture
def where(kind: str, tmp_path: Path, request: pytest.FixtureRequest) -> str:
    """The place of an empty database."""
    if kind == "file":
        return str(tmp_path / "group.sqlite3")
    return str(request.getfixturevalue("url"))


@pytest.fixture
def server_logins(kind: str, request: pytest.FixtureRequest) -> Callable[[str], str | None]:
    """Gives a login for a name, made where the server has none yet; None in a file."""
    if kind == "file":
        return lambda _: None
    server: Server = request.getfixturevalue("server")

    def login(name: str) -> str:
        role = name.lower()
        if not server.run(f"SELECT 1 FROM pg_roles WHERE rolname = '{role}'"):
            server.run(f"CREATE ROLE {role} LOGIN")
        return role

    return login
