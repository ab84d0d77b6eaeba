"""What only a server has: row level security, the rights of logins, and what a group counts.

The owner of the database sees everything. A taster with a login of their own sees and writes their
own rows alone, whatever program they come with; PostgreSQL sees to that. Everything here can be run
again at any time, and is run whenever the schema is made or upgraded.
"""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import Connection, Table, text

from drills.errors import StorageError

LEAST_TASTERS = 3
"""Fewest tasters behind a count of the group.

Of two, each could take their own share from the sum and be left with the other's. Of three, what is
left is a sum of two.
"""

SHARED = ("alembic_version", "contrast", "meta", "taster")
"""Tables with rights of their own; every other one is owned row by row."""

# SQLite ends every index with the row's number; a server is told to, so that the latest of one
# taster are found without walking back through everybody's.
_LATEST = ("answer", "drill", "pour")
_NEVER_DELETED = ("answer", "drill", "pour_change")
# Once for a statement: as a plain call it would be asked for every row.
_ME = "(SELECT crosspour_me())"
# A fact about one taster ends with the taster's number: "cautions.7", "not smelt by 7".
_WHOSE = "substring(key FROM '[ .]([0-9]+)$')"


def confusions_query(least: int) -> str:
    """Return SQL that counts, over tasters who share, how often each wine was called which other.

    `least` is how many tasters must have made a confusion for it to be counted at all.
    """
    return f"""
        WITH shared AS (
            SELECT pour.taster_id, pour.called_wine, pour.was_wine
            FROM pour JOIN taster ON taster.id = pour.taster_id
            WHERE taster.shares AND pour.called_wine IS NOT NULL AND pour.was_wine IS NOT NULL
        ), poured AS (
            SELECT was_wine, count(*) AS times FROM shared GROUP BY was_wine
        )
        SELECT shared.called_wine AS called, shared.was_wine AS was,
            count(DISTINCT shared.taster_id) AS tasters, count(*) AS times, poured.times AS poured
        FROM shared JOIN poured ON poured.was_wine = shared.was_wine
        WHERE shared.called_wine <> shared.was_wine
        GROUP BY shared.called_wine, shared.was_wine, poured.times
        HAVING count(DISTINCT shared.taster_id) >= {int(least)}
        ORDER BY times DESC, called, was"""


def furnish(connection: Connection) -> None:
    """Set up everything that only a server has; the rights of known logins are given anew."""
    for table in _LATEST:
        connection.exec_driver_sql(
            f"CREATE INDEX IF NOT EXISTS ix_{table}_latest ON {table} (taster_id, id)"
        )
    connection.exec_driver_sql(_functions(_schema(connection)))
    for table, condition in policies():
        quoted = _quoted(table)
        connection.exec_driver_sql(f"ALTER TABLE {quoted} ENABLE ROW LEVEL SECURITY")
        for name, words in condition.items():
            connection.exec_driver_sql(f"DROP POLICY IF EXISTS {name} ON {quoted}")
            connection.exec_driver_sql(f"CREATE POLICY {name} ON {quoted} {words}")
    logins = text("SELECT login FROM taster WHERE login IN (SELECT rolname FROM pg_roles)")
    for login in connection.scalars(logins).all():
        give_rights(connection, login)


def policies() -> Iterator[tuple[str, dict[str, str]]]:
    """Yield each table with its policies, as words behind CREATE POLICY ... ON.

    Raises:
        LookupError: a table belongs to nobody, so that no rule would guard it.
    """
    from drills.storage.tables import metadata

    for table in metadata.sorted_tables:
        if table.name not in SHARED:
            mine = _mine(table)
            yield table.name, {"own": f"USING ({mine}) WITH CHECK ({mine})"}
    yield (
        "taster",
        {
            "own": f"FOR SELECT USING (id = {_ME})",
            "consent": f"FOR UPDATE USING (id = {_ME}) WITH CHECK (id = {_ME})",
        },
    )
    mine = f"{_WHOSE} = {_ME}::text"
    yield (
        "meta",
        {
            "known": f"FOR SELECT USING ({_WHOSE} IS NULL OR {mine})",
            "own": f"USING ({mine}) WITH CHECK ({mine})",
        },
    )
    # Contrasts of a pair that somebody asked for are everybody's; none is taken from the others.
    yield (
        "contrast",
        {
            "known": "FOR SELECT USING (true)",
            "new": "FOR INSERT WITH CHECK (retired_at IS NULL)",
            "again": "FOR UPDATE USING (retired_at IS NOT NULL) WITH CHECK (retired_at IS NULL)",
        },
    )


def give_rights(connection: Connection, login: str) -> None:
    """Let a role of the server use the tables; which rows, the policies say.

    Raises:
        StorageError: the server has no such role.
    """
    from drills.storage.tables import metadata

    if not connection.scalar(
        text("SELECT true FROM pg_roles WHERE rolname = :login"), {"login": login}
    ):
        raise StorageError(
            f"the server has no login {login}: make it first, for example with"
            f" createuser --pwprompt {login}"
        )
    role = _quoted(login)
    schema = _quoted(_schema(connection))
    said = [f"GRANT USAGE ON SCHEMA {schema} TO {role}"]
    for table in metadata.sorted_tables:
        quoted = _quoted(table.name)
        if table.name == "taster":
            said.append(f"GRANT SELECT, UPDATE (shares) ON {quoted} TO {role}")
        elif table.name == "contrast" or table.name in _NEVER_DELETED:
            said.append(f"GRANT SELECT, INSERT, UPDATE ON {quoted} TO {role}")
        else:
            said.append(f"GRANT SELECT, INSERT, UPDATE, DELETE ON {quoted} TO {role}")
        for sequence in connection.scalars(_SEQUENCES, {"table": f"{schema}.{quoted}"}).all():
            said.append(f"GRANT USAGE ON SEQUENCE {sequence} TO {role}")
    said.append(f"GRANT SELECT ON alembic_version TO {role}")
    said.append(f"GRANT EXECUTE ON FUNCTION {_FUNCTIONS} TO {role}")
    for words in said:
        connection.exec_driver_sql(words)


_SEQUENCES = text(
    "SELECT pg_get_serial_sequence(:table, attname) FROM pg_attribute"
    " WHERE attrelid = CAST(:table AS regclass) AND attnum > 0 AND NOT attisdropped"
    " AND pg_get_serial_sequence(:table, attname) IS NOT NULL"
)


# What a taster's login is told of flights that others planned for them: never seal, sealed key,
# seed or what it covers, from each of which a wine could be worked out. The mark is a hash of the
# random seal and leads back to nothing; of a revealed glass its wine alone, for the reason why it
# was poured names the wine of another glass, and the price is the planner's own business.
_SERVED = """
    SELECT flight.id, flight.number, flight.made_at, planner.name,
        (flight.asked::json -> 'asked' -> 'tasters')::text, glass.id, glass.code,
        encode(sha256(convert_to('glass ' || glass.code || ' of ' || flight.seal, 'UTF8')), 'hex'),
        glass.revealed_at, CASE WHEN glass.revealed_at IS NOT NULL THEN glass.wine END,
        serving.taster, serving.sitting, serving.position
    FROM planned_flight flight
    JOIN taster planner ON planner.id = flight.taster_id
    JOIN planned_pour glass ON glass.planned_flight_id = flight.id
    JOIN planned_serving serving ON serving.planned_pour_id = glass.id
    WHERE flight.taster_id <> crosspour_me() AND EXISTS (
        SELECT FROM planned_pour other
        JOIN planned_serving named ON named.planned_pour_id = other.id
        JOIN taster me ON lower(me.name) = lower(named.taster)
        WHERE other.planned_flight_id = flight.id AND me.id = crosspour_me())"""
_FUNCTIONS = "crosspour_me(), crosspour_confusions(), crosspour_served(), crosspour_last_flight()"


def _functions(schema: str) -> str:
    # They run as the owner, so they look for tables in our own schema and nowhere else. A role that
    # was taken on with SET ROLE does not count: the session began with the taster's own login.
    place = f"LANGUAGE sql STABLE SECURITY DEFINER SET search_path = {_quoted(schema)}, pg_temp"
    return f"""
        CREATE OR REPLACE FUNCTION crosspour_me() RETURNS integer {place}
            AS $$ SELECT id FROM taster WHERE login = session_user $$;
        CREATE OR REPLACE FUNCTION crosspour_confusions()
            RETURNS TABLE (called text, was text, tasters bigint, times bigint, poured bigint)
            {place}
            AS $$ {confusions_query(LEAST_TASTERS)} $$;
        CREATE OR REPLACE FUNCTION crosspour_served()
            RETURNS TABLE (flight integer, number integer, made_at timestamp, planner text,
                tasters text, pour integer, code integer, mark text, revealed_at timestamp,
                wine text, taster text, sitting integer, place integer)
            {place}
            AS $$ {_SERVED} $$;
        CREATE OR REPLACE FUNCTION crosspour_last_flight() RETURNS integer {place}
            AS $$ SELECT max(number) FROM planned_flight $$;
        REVOKE ALL ON FUNCTION {_FUNCTIONS} FROM PUBLIC"""


def _mine(table: Table) -> str:
    """The condition on which a row is the taster's own: by its taster, or by what it hangs on."""
    if "taster_id" in table.c:
        return f"taster_id = {_ME}"
    for key in sorted(table.foreign_keys, key=lambda one: one.parent.name):
        parent = key.column.table
        if parent.name not in SHARED:
            # The rule of the parent holds inside: whose it is, is said in one place.
            return (
                f"EXISTS (SELECT FROM {parent.name}"
                f" WHERE {parent.name}.{key.column.name} = {table.name}.{key.parent.name})"
            )
    raise LookupError(f"no rule says whose the rows of {table.name} are")


def _schema(connection: Connection) -> str:
    return str(connection.scalar(text("SELECT current_schema()")))


def _quoted(name: str) -> str:
    """A name of the server's as SQL takes it, whatever it holds; the driver cannot bind names."""
    # The driver reads a percent sign as the place of a value.
    return '"' + name.replace('"', '""').replace("%", "%%") + '"'
