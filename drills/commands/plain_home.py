"""The first screen in lines: what waits today, and which command does what a screen does."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from drills import paths
from drills.phrases import clock, count, days

if TYPE_CHECKING:
    from drills.service.desk import Desk
    from drills.service.today import Today

# What is done on which screen, and the command that does it in lines.
WAYS = (
    ("the drill", "crosspour drill --plain"),
    ("add tastings, a line a pour: “called > was”", "crosspour import -"),
    ("add full notes, a row a pour", "crosspour import FILE.csv"),
    ("earlier imports, and one taken back", "crosspour import --list, --undo N"),
    ("names that are not clear", "crosspour tray, crosspour tray NAME WINE"),
    ("the debrief of a tasting", "crosspour debrief"),
    ("how you read a wine", "crosspour reading"),
    ("weak pairs", "crosspour weak"),
    ("the next flight, poured blind", "crosspour flight plan, crosspour flight sheets"),
    ("progress", "crosspour progress"),
    ("one wine, with what each fact rests on", "crosspour profile WINE --sources"),
    ("two wines compared", "crosspour pair A B --causes"),
    ("the wines nearest to one", "crosspour laterals WINE"),
    ("every fact of the table", "crosspour table export -"),
    ("a fact disputed or changed", "crosspour table edit WINE"),
    ("daily backups, and the newest put back", "crosspour backup --list, crosspour restore"),
)


def lines(desk: Desk, now: Today) -> Iterator[str]:
    """What waits, then the ways."""
    yield f"crosspour: two wines, one cue, {desk.settings.minutes} minutes a day."
    yield f"{count(now.confused, 'card')} of pairs mixed up in a tasting: they come first."
    due = f"{count(now.due, 'card')} due today"
    yield f"{due}; the next is due {days(now.next_in)}." if now.next_in else f"{due}."
    yield f"{count(now.unseen, 'contrast')} unseen, from {now.wines} wines."
    if now.left:
        left = clock(now.left)
        yield f"A drill stopped with {left} left goes on: crosspour drill --plain --resume."
    if now.unresolved:
        yield f"{count(now.unresolved, 'pour')} with a name the table does not know."
    if now.half_entered:
        yield f"{count(now.half_entered, 'flight')} left half entered on the screens."
    yield ""
    for what, command in WAYS:
        yield f"{what}: {command}"
    yield f"minutes, exam date, keys: {paths.settings_file()}"
