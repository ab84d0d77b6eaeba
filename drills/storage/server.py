"""What only a study group's server knows: its URL, its turns, and what its driver complains of.

Loaded only where a URL names a server: a file needs none of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, exc

from drills.errors import (
    ConnectionLost,
    DatabaseLocked,
    DatabaseReadOnly,
    DatabaseStandingBy,
    StorageError,
)
from drills.phrases import how_to_add
from drills.storage.engine import APPLICATION_ID, WRITES

if TYPE_CHECKING:
    from drills.storage.patience import Patience, PatientConnection

DRIVER = "postgresql+psycopg"

# A taster should not sit before a dead cable: so soon it is noticed where nobody waits for an
# answer. Where somebody does, `patience` counts the seconds.
_CABLE: dict[str, Any] = {
    "keepalives_idle": 5,
    "keepalives_interval": 2,
    "keepalives_count": 2,
    "tcp_user_timeout": 5000,
    "application_name": "crosspour",
}
# SQL states that say that the server went away or takes nobody in (PostgreSQL manual, appendix A).
_GONE = ("08", "57P01", "57P02", "57P03", "53300")
# It stood in the way of another, or disk or memory of the server are full.
_NOT_NOW = ("40", "53")


def server_url(url: URL) -> URL:
    """Return a URL as we open it: with our driver, its password nowhere but in its place."""
    if url.drivername in ("postgres", "postgresql"):
        url = url.set(drivername=DRIVER)
    # In the query a password would be shown with the rest of it.
    hidden = url.query.get("password")
    if hidden is not None:
        url = url.difference_update_query(["password"])
        url = url.set(password=hidden if isinstance(hidden, str) else hidden[-1])
    return url


def shown(url: URL) -> str:
    """Return how messages call a server: no password, nothing of the query."""
    backend = url.get_backend_name()
    plain = URL.create(backend, url.username, None, url.host, url.port, url.database)
    return plain.render_as_string()


def server_engine(url: URL, wait_seconds: float) -> Engine:
    """Return an engine for a server.

    Raises:
        StorageError: the driver of the URL is not installed.
    """
    try:
        from drills.storage.patience import CONNECT_SECONDS, PATIENCE, Patience

        usual = _CABLE | {"connect_timeout": CONNECT_SECONDS}
        asked = {name: value for name, value in usual.items() if name not in url.query}
        patience = Patience()
        # One connection a taster, and a second for a moment where two things are asked at once: a
        # server has few to give.
        engine = create_engine(
            url,
            pool_pre_ping=True,
            pool_size=1,
            max_overflow=1,
            connect_args=asked,
            execution_options={PATIENCE: patience},
        )
    except (exc.NoSuchModuleError, ImportError) as error:
        raise StorageError(
            f"no driver for {url.drivername} is installed; for PostgreSQL {how_to_add('group')}"
        ) from error
    _bear_silence(engine, patience)
    _take_turns(engine, wait_seconds, patience)
    return engine


def _bear_silence(engine: Engine, patience: Patience) -> None:
    """Make connections that do not wait for ever; who changes what all share may take long."""

    @event.listens_for(engine, "do_connect")
    def connect(_dialect: Any, _entry: Any, given: Any, named: Any) -> PatientConnection:
        return patience.connect(*given, **named)

    @event.listens_for(engine, "checkin")
    def back(connection: Any, _entry: Any) -> None:
        if connection is not None:
            connection.at_rest()

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        alone = connection.get_execution_options().get(WRITES) is True
        driver: Any = connection.connection.driver_connection
        driver.bears = None if alone else patience.seconds


def _take_turns(engine: Engine, wait_seconds: float, patience: Patience) -> None:
    """Let whoever changes what all share write alone, and each taster write for one at a time.

    The members of a group start with the same work, and one taster may have two windows; but two
    tasters never wait for each other's commit.
    """
    wait = f"{max(1, int(wait_seconds * 1000))}ms"
    limited = "SELECT set_config('lock_timeout', %s, true)"
    alone = f"{limited}, pg_advisory_xact_lock({APPLICATION_ID})"
    # Where a taster is cut off in the middle, the server would hold their lock for hours: it ends
    # by itself what the program has given up. The first lock is shared with other tasters, the
    # second belongs to this one. One statement, as each is a journey to the server.
    for_one = (
        f"{limited}, set_config('statement_timeout', %s, true),"
        " set_config('idle_in_transaction_session_timeout', %s, true),"
        f" pg_advisory_xact_lock_shared({APPLICATION_ID}),"
        f" pg_advisory_xact_lock({APPLICATION_ID}, %s)"
    )

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        turn = connection.get_execution_options().get(WRITES)
        if turn is True:
            connection.exec_driver_sql(alone, (wait,))
        elif turn is not None:
            borne = f"{int(patience.seconds * 1000)}ms"
            connection.exec_driver_sql(for_one, (wait, borne, borne, turn))


def server_error(name: str, cause: BaseException) -> StorageError:
    """Choose our error for a server driver's error."""
    state = getattr(cause, "sqlstate", None)
    # The driver's first line ends with the reason; it never repeats a password.
    first = (str(cause).strip() or type(cause).__name__).splitlines()[0]
    if state == "55P03":
        return DatabaseLocked(f"another program is writing to {name}; try again in a moment")
    if state == "25006":
        return DatabaseStandingBy(f"{name} may be read but not written")
    if state is not None and state.startswith(_GONE):
        return ConnectionLost(f"no connection to {name}: {first}")
    if state is not None and state.startswith(_NOT_NOW):
        return DatabaseLocked(f"{name} cannot do it now: {first}; try again in a moment")
    # The server itself ended what took longer than is borne.
    if state in ("57014", "25P03"):
        return ConnectionLost(f"{name} did not answer in time: {first}")
    # No right to the table, or not even to the schema that it is in.
    if state in ("42501", "3F000"):
        return DatabaseReadOnly(
            f"your login may not do this at {name}; ask whoever runs it for the group ({first})"
        )
    # A connection that was not made in time has a kind of its own, below the usual one.
    kinds = {kind.__name__ for kind in type(cause).__mro__}
    if state is None and "OperationalError" in kinds:
        return ConnectionLost(f"no connection to {name}: {first.rpartition('failed: ')[2]}")
    return StorageError(f"the database {name} answered: {first}")
