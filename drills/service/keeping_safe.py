"""The database kept safe: backups that make themselves, and putting one back."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drills.errors import StorageError
from drills.paths import expanded
from drills.service.guests import check_no_guest
from drills.storage.engine import locate
from drills.storage.restore import Restored, restore_database
from drills.storage.rotation import Backup, back_up, inspect, named_backups, newest_good

if TYPE_CHECKING:
    from drills.service.desk import Desk


def keep_safe(desk: Desk) -> Backup | None:
    """Back the database up where this study day has no backup yet and there is something new.

    None where nothing was to be done, or the settings say `backups = false`. Opens the file by
    itself, so it may run beside a drill.

    Raises:
        DatabaseCorrupt: the database is damaged; every earlier backup stays.
        StorageError: the backup cannot be written; every earlier backup stays.
    """
    database = locate(desk.location).file
    if database is None or not desk.settings.backups or not database.exists():
        return None
    return back_up(database, _today(desk), only_if_new=True)


def back_up_now(desk: Desk) -> Backup:
    """Add a backup to those that come and go by themselves, whatever is new.

    Raises:
        StorageError: it cannot be written, or another process is backing up at this moment.
    """
    database = _file(desk)
    made = back_up(database, _today(desk))
    if made is None:
        raise StorageError(f"another window is backing {database} up at this moment")
    return made


def backups(desk: Desk) -> list[Backup]:
    """All backups of the database, newest first, each opened and checked."""
    return [inspect(one) for one in named_backups(_file(desk))]


def newest(desk: Desk) -> Backup | None:
    """The newest backup that is sound, or None."""
    return newest_good(_file(desk))


def restore(desk: Desk, file: str | Path | None = None) -> Restored:
    """Put a backup in the place of the database: `file`, else the newest that is sound.

    The file from before keeps another name. The desk opens the new one when it is next asked.

    Raises:
        StorageError: and its kinds: no such backup, damaged, database in use by another process;
            the database is as it was.
    """
    check_no_guest()
    if locate(desk.location).file is None and file is not None:
        from drills.service.moving import restore_on_server

        return restore_on_server(desk, expanded(file).absolute())
    database = _file(desk)
    if file is None:
        found = newest_good(database)
        if found is None:
            raise StorageError(f"there is no sound backup of {database}; name a file to restore")
        source = found.file
    else:
        source = expanded(file).absolute()
    desk.close()
    return restore_database(source, database)


def backup_json(one: Backup) -> dict[str, Any]:
    """`{file, day, made_at, bytes, answers, pours, problem}`."""
    return {
        "file": str(one.file),
        "day": one.day.isoformat(),
        "made_at": one.made_at.isoformat(),
        "bytes": one.size,
        "answers": one.answers,
        "pours": one.pours,
        "problem": one.problem or None,
    }


def restored_json(done: Restored) -> dict[str, Any]:
    """`{from, answers, pours, kept}`; `kept` is the file from before."""
    return {
        "from": str(done.source),
        "answers": done.answers,
        "pours": done.pours,
        "kept": None if done.kept is None else str(done.kept),
    }


def _file(desk: Desk) -> Path:
    location = locate(desk.location)
    if location.file is None:
        raise StorageError(f"{location.name} has no daily backups: name a file")
    return location.file


def _today(desk: Desk) -> date:
    return date.fromordinal(desk.clock.today())
