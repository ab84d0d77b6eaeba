"""Who answers and tastes: one taster on their own, several in one file, or a group on a server."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from sqlalchemy import Connection, func, select, text

from drills.errors import StorageError, UsageError
from drills.storage.columns import POUR, TASTER
from drills.storage.records import GroupConfusion, TasterRecord
from drills.storage.store import Store

DEFAULT_TASTER = "me"
LONGEST_NAME = 80

_COLUMNS = (TASTER.c.id, TASTER.c.name, TASTER.c.made_at, TASTER.c.login, TASTER.c.shares)


class Tasters(Store):
    """The part of the repository that knows tasters."""

    @cached_property
    def is_member(self) -> bool:
        """Whether this is the login of one taster, who may see no other's rows."""
        if not self.on_server:
            return False
        with self.reading() as connection:
            return bool(connection.scalar(text("SELECT row_security_active('taster')")))

    def who(self, name: str | None = None) -> TasterRecord:
        """Return the taster who is meant: by login, by name, or the only one.

        In a database that nobody has used yet the first taster is made.

        Raises:
            StorageError: the login is another taster's or nobody's, there is no such taster, or
                there are several and no name says which.
        """
        if self.is_member:
            return self._of_login(name)
        if name is not None:
            if (found := self._find(name)) is None:
                raise StorageError(
                    f"there is no taster “{name}” here; to add one: crosspour tasters add NAME"
                )
            return found
        known = self.tasters()
        usual = next((one for one in known if one.name == DEFAULT_TASTER), None)
        if usual is not None or not known:
            return usual or self.taster()
        if len(known) > 1:
            names = ", ".join(one.name for one in known[:6])
            raise StorageError(
                f"several tasters are kept here ({names}): say who you are with --taster NAME"
            )
        return known[0]

    def taster(self, name: str = DEFAULT_TASTER) -> TasterRecord:
        """Return the taster of a name, made now if there is none.

        Raises:
            DatabaseReadOnly: there is none and the database was opened for reading.
        """
        if (found := self._find(name)) is not None:
            return found
        with self.writing() as connection:
            # Asked again: another process may have been quicker.
            found = _named(connection, name)
            if found is None:
                connection.execute(TASTER.insert().values(name=name, made_at=self._clock.now()))
                found = _named(connection, name)
        assert found is not None
        return found

    def add_taster(self, name: str, login: str | None = None) -> TasterRecord:
        """Add a taster; on a server perhaps with a login of their own, which gets its rights.

        Raises:
            UsageError: the name is empty, too long or not plain, or a file is to have logins.
            StorageError: there is one of this name or login, the server has no such login, or
                whoever asks does not own the database.
        """
        name = checked_name(name)
        if login is not None and not self.on_server:
            raise UsageError("only a server has logins; in a file a taster is a name")
        with self.writing() as connection:
            if _named(connection, name) is not None:
                raise StorageError(f"there is a taster “{name}” already")
            if login is not None and connection.scalar(
                select(TASTER.c.name).where(TASTER.c.login == login)
            ):
                raise StorageError(f"the login {login} is another taster's already")
            connection.execute(
                TASTER.insert().values(name=name, made_at=self._clock.now(), login=login)
            )
            if login is not None:
                from drills.storage.rights import give_rights

                give_rights(connection, login)
            found = _named(connection, name)
        assert found is not None
        return found

    def furnish(self) -> None:
        """Give a server what this version gives it: rights, functions and rules of its rows."""
        if self.on_server:
            from drills.storage.rights import furnish

            with self.writing() as connection:
                furnish(connection)

    def tasters(self) -> list[TasterRecord]:
        """Return all tasters by name; a login of one taster's sees that one alone."""
        with self.reading() as connection:
            return [
                TasterRecord(*row)
                for row in connection.execute(select(*_COLUMNS).order_by(TASTER.c.name))
            ]

    def share(self, taster_id: int, shares: bool) -> None:
        """Keep whether a taster's confusions may be counted with others'."""
        with self.writing(taster_id) as connection:
            connection.execute(
                TASTER.update().where(TASTER.c.id == taster_id).values(shares=shares)
            )

    def group_confusions(self) -> list[GroupConfusion]:
        """Return what those who share call by another name, the most frequent first.

        Only what at least `rights.LEAST_TASTERS` of them have confused is counted.
        """
        from drills.storage.rights import LEAST_TASTERS, confusions_query

        counted = "SELECT called, was, tasters, times, poured FROM crosspour_confusions()"
        query = counted if self.on_server else confusions_query(LEAST_TASTERS)
        with self.reading() as connection:
            return [GroupConfusion(*row) for row in connection.execute(text(query))]

    def sharing(self) -> int | None:
        """Return how many tasters share, or None where this login may not know."""
        if self.is_member:
            return None
        with self.reading() as connection:
            query = select(func.count()).where(TASTER.c.shares.is_(True))
            return int(connection.scalar(query) or 0)

    def confused_pairs(self) -> set[tuple[str, str]]:
        """Return every pair that any taster mixed up in the glass."""
        query = select(POUR.c.pair_a, POUR.c.pair_b).where(POUR.c.pair_a.is_not(None)).distinct()
        with self.reading() as connection:
            return {(row[0], row[1]) for row in connection.execute(query)}

    def _find(self, name: str) -> TasterRecord | None:
        with self.reading() as connection:
            return _named(connection, name)

    def _of_login(self, name: str | None) -> TasterRecord:
        # The policies of the server leave one row to be seen.
        mine = next(iter(self.tasters()), None)
        if mine is None:
            raise StorageError(
                f"your login is no taster's at {self.location.name}; whoever runs it for the group"
                " adds you with: crosspour tasters add NAME --login LOGIN"
            )
        if name not in (None, mine.name):
            raise StorageError(f"your login is {mine.name}'s and sees no other taster")
        return mine


def checked_name(name: str) -> str:
    """Return a taster's name without the blanks around it.

    Raises:
        UsageError: it is empty, too long, or holds what no line can show.
    """
    plain = name.strip()
    if not plain or len(plain) > LONGEST_NAME or not plain.isprintable():
        raise UsageError(f"a taster's name is one line of 1 to {LONGEST_NAME} characters")
    return plain


def _named(connection: Connection, name: str) -> TasterRecord | None:
    query: Any = select(*_COLUMNS).where(TASTER.c.name == name)
    row = connection.execute(query).one_or_none()
    return None if row is None else TasterRecord(*row)
