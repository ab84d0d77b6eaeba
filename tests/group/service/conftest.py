"""The desk of the service's own tests, at a server in place of a file."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from drills.service.desk import Desk
from tests.desks import Watch
from tests.server import Server


@pytest.fixture(scope="session")
def furnished_database(running_server: Server | None, furnished: Path) -> str | None:
    """A database as the program leaves it after its first start, to be copied."""
    if running_server is None:
        return None
    name = running_server.new_database()
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("CROSSPOUR_HOME", str(furnished))
        desk = Desk(running_server.url(name), clock=Watch().clock)
        _ = desk.taster
        desk.close()
    return name


@pytest.fixture
def home(
    home: Path, server: Server, furnished_database: str, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Path]:
    """The home of a test, its database on the server."""
    (home / "crosspour.sqlite3").unlink()
    name = server.copy_database(furnished_database)
    monkeypatch.setenv("CROSSPOUR_DATABASE", server.url(name))
    yield home
    server.drop_database(name)
