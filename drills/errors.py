"""The errors that commands and screens report: each message is one sentence a taster can act on."""

from __future__ import annotations

from typing import ClassVar


class DrillsError(Exception):
    """Anything that ends a command; the message goes to stderr, `exit_code` to the shell."""

    exit_code: ClassVar[int] = 1


class UsageError(DrillsError):
    """The command line or a setting asks for what nothing that is kept could make right."""

    exit_code: ClassVar[int] = 2


class NotPossibleError(DrillsError):
    """What was asked for can be meant, but not done as things are: nothing of the kind is there."""


class TerminalError(DrillsError):
    """The terminal cannot show the screens (no terminal, too small, too plain)."""


class IntakeError(DrillsError):
    """A tasting file cannot be read at all; single rejected rows are no error."""


class PouringError(DrillsError):
    """No flight can be made of what there is; says what is short, and by how much."""


class OverlayError(DrillsError):
    """The taster's own table, or a sheet of it, cannot be read or written."""


class StorageError(DrillsError):
    """The database cannot be opened, read or written."""


class DatabaseMisnamed(StorageError):  # noqa: N818 - named as the taster meets it
    """What was given as a database can be none: no path of a file, and no URL of a server."""

    exit_code: ClassVar[int] = UsageError.exit_code


class DatabaseLocked(StorageError):  # noqa: N818 - named as the taster meets it
    """Another program held the database for longer than we wait."""


class DatabaseReadOnly(StorageError):  # noqa: N818 - named as the taster meets it
    """The database may be read but not written."""


class DatabaseStandingBy(DatabaseReadOnly):
    """A server that takes nothing in for now: a standby, or one set to be read only."""


class DatabaseCorrupt(StorageError):  # noqa: N818 - named as the taster meets it
    """The file is damaged, half written, or not a database of this program."""


class DatabaseNewer(StorageError):  # noqa: N818 - named as the taster meets it
    """The file was written by a later version of the program than this one."""


class ConnectionLost(StorageError):  # noqa: N818 - named as the taster meets it
    """The server of the database does not answer, or no more; what was sent may be kept or not."""
