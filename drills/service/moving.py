"""Moving everything into another database, and a server's backup put back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from drills import paths

if TYPE_CHECKING:
    from drills.service.desk import Desk
    from drills.storage.restore import Restored


def move(desk: Desk, to: str) -> dict[str, int]:
    """Copy everything into a new file or an empty server; return how many rows each table got.

    The desk's own database is only read.

    Raises:
        StorageError: the target is not empty or cannot be written; it is as it was.
    """
    from drills.storage.moving import move as move_rows

    # Whoever works here has what waited for a server delivered first.
    _ = desk.taster
    return move_rows(desk.repository, paths.database_location(to))


def restore_on_server(desk: Desk, file: Path) -> Restored:
    """Put a backup in the place of what a server holds, which is kept in the data folder first.

    Raises:
        StorageError: and its kinds: no such file, damaged, newer, or not the owner's login.
    """
    from drills.storage.moving import restore_server

    done = restore_server(desk.repository, file, paths.data_folder())
    desk.__dict__.pop("taster", None)
    return done
