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
