"""Backups that come and go by themselves: one a day, fewer of what lies further back.

They stand in a folder beside the database, `NAME-backups`, each named after its study day. The
newest of each of the last 7 days, 4 weeks and 12 months that have one stay; numbers of our own
choice. Only what this module named is ever taken away, and only after a new one was found sound.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from drills.errors import DrillsError, StorageError
from drills.storage.backup import Contents, backup_folder, contents_of, copy_database
from drills.storage.engine import make_folder
from drills.storage.locks import turn
from drills.storage.upgrade import REVISIONS, read_revision

DAYS, WEEKS, MONTHS = 7, 4, 12

# What a start of the program writes by itself is nothing to keep safe.
_MADE_AGAIN = {"meta", "taster", "contrast", "alembic_version"}


@dataclass(frozen=True, slots=True)
class Backup:
    """One backup. `problem` says in a sentence why it cannot be restored, empty where it can."""

    file: Path
    day: date  # the study day
    made_at: datetime
    size: int  # bytes
    answers: int
    pours: int
    problem: str = ""


@dataclass(frozen=True, order=True, slots=True)
class Named:
    """A backup by its name only; several of one day are numbered."""

    day: date
    number: int
    file: Path


def named_backups(database: Path) -> list[Named]:
    """Return the backups of a database by their names, newest first; none is opened.

    Raises:
        StorageError: the folder cannot be read.
    """
    name = re.compile(
        rf"{re.escape(database.stem)}\.(\d{{4}}-\d\d-\d\d)(?:-(\d+))?{re.escape(database.suffix)}"
    )
    found = []
    folder = backup_folder(database)
    try:
        for file in folder.iterdir():
            if (read := name.fullmatch(file.name)) and (day := _day(read[1])):
                found.append(Named(day, int(read[2] or 1), file))
    except FileNotFoundError:
        return []
    except OSError as error:
        raise StorageError(f"the folder {folder} cannot be read: {error.strerror}") from error
    return sorted(found, reverse=True)


def inspect(named: Named) -> Backup:
    """Open a backup, check it, and say what is in it; what is wrong becomes its `problem`."""
    contents, problem = None, ""
    try:
        contents = sound(named.file)
    except DrillsError as error:
        problem = str(error)
    try:
        found = named.file.stat()
        size, made = found.st_size, found.st_mtime
    except OSError:
        size, made = 0, 0.0
    rows = contents.rows if contents else {}
    return Backup(
        named.file,
        named.day,
        datetime.fromtimestamp(made, UTC),
        size,
        rows.get("answer", 0),
        rows.get("pour", 0),
        problem,
    )


def sound(file: Path) -> Contents:
    """Return what a file of ours that nobody is writing holds.

    Raises:
        DatabaseCorrupt: it is damaged, or not ours.
        StorageError: it cannot be read, or a later version of the program wrote it.
    """
    revision = read_revision(file)
    if revision not in REVISIONS:
        raise StorageError(f"{file} was written by a later version of crosspour; update it here")
    return contents_of(file)


def newest_good(database: Path) -> Backup | None:
    """Return the newest backup that is sound, or None."""
    backups = (inspect(one) for one in named_backups(database))
    return next((one for one in backups if not one.problem), None)


def back_up(database: Path, day: date, *, only_if_new: bool = False) -> Backup | None:
    """Add a backup for a study day, then let go of those that are no longer wanted.

    With `only_if_new` nothing is done where the day has one already, or where the newest holds as
    much as the database does. None is also the answer where another process is backing up now.

    Raises:
        DatabaseCorrupt: the database is damaged; every backup stays.
        StorageError: the backup cannot be written; every backup stays.
    """
    folder = backup_folder(database)
    if only_if_new and not _holds_news(database, day):
        return None
    make_folder(folder)
    try:
        with turn(folder / ".lock", wait=False) as mine:
            # Asked again: another window may have been quicker.
            if not mine or (only_if_new and _is_there(database, day)):
                return None
            for left in folder.glob(".*.part*"):
                left.unlink(missing_ok=True)
            target = _free_name(database, day)
            draft = folder / f".{target.file.name}.part"
            contents = copy_database(database, target.file, draft=draft)
            for one in unwanted(named_backups(database)):
                # A clock that was ahead for a while must not cost what is made today.
                if one != target:
                    one.file.unlink(missing_ok=True)
        found = target.file.stat()
    except OSError as error:
        raise StorageError(f"{folder} cannot be written: {error.strerror}") from error
    return Backup(
        target.file,
        day,
        datetime.fromtimestamp(found.st_mtime, UTC),
        found.st_size,
        contents.rows.get("answer", 0),
        contents.rows.get("pour", 0),
    )


def unwanted(backups: Iterable[Named]) -> list[Named]:
    """Return which backups the rotation lets go; all of the newest day stay.

    Days, weeks (ISO 8601) and months count only where they have a backup, so that a long rest takes
    nothing away.
    """
    ordered = sorted(backups, reverse=True)
    kept = {one for one in ordered if one.day == ordered[0].day}
    periods: tuple[tuple[int, Callable[[date], object]], ...] = (
        (DAYS, lambda day: day),
        (WEEKS, lambda day: day.isocalendar()[:2]),
        (MONTHS, lambda day: (day.year, day.month)),
    )
    for most, period_of in periods:
        newest: dict[object, Named] = {}
        for one in ordered:
            newest.setdefault(period_of(one.day), one)
        kept.update(list(newest.values())[:most])
    return [one for one in ordered if one not in kept]


def _holds_news(database: Path, day: date) -> bool:
    """Whether the day has no backup yet, and something was answered or tasted since the newest."""
    if _is_there(database, day):
        return False
    held = _rows(contents_of(database, "none"))
    if not any(held.values()):
        return False
    for one in named_backups(database):
        try:
            return _rows(sound(one.file)) != held
        except StorageError:
            # A damaged backup holds nothing; the one before it counts.
            continue
    return True


def _is_there(database: Path, day: date) -> bool:
    return any(one.day == day for one in named_backups(database))


def _rows(contents: Contents) -> dict[str, int]:
    return {name: number for name, number in contents.rows.items() if name not in _MADE_AGAIN}


def _free_name(database: Path, day: date) -> Named:
    number = 1
    while True:
        ending = "" if number == 1 else f"-{number}"
        file = backup_folder(database) / f"{database.stem}.{day}{ending}{database.suffix}"
        if not file.exists():
            return Named(day, number, file)
        number += 1


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
