"""The one way to the database: opens it, and answers for all that is kept."""

from __future__ import annotations

from pathlib import Path

from drills import paths
from drills.clock import Clock
from drills.storage.aggregates import Aggregates
from drills.storage.answer_log import AnswerLog
from drills.storage.answers import Answers, Replay
from drills.storage.contrasts import Contrasts
from drills.storage.drills import Drills
from drills.storage.engine import WAIT_SECONDS, locate, make_engine, make_folder
from drills.storage.notes import Notes
from drills.storage.own_names import OwnNames
from drills.storage.planned import Planned
from drills.storage.queues import Queues
from drills.storage.readings import Readings
from drills.storage.stock import Stocks
from drills.storage.tasters import Tasters
from drills.storage.tastings import Tastings
from drills.storage.upgrade import prepare_file, prepare_server


class Repository(
    Tasters,
    Contrasts,
    Queues,
    Drills,
    Answers,
    AnswerLog,
    Tastings,
    Notes,
    OwnNames,
    Readings,
    Aggregates,
    Stocks,
    Planned,
):
    """All that is kept; each call is one short transaction and may come from any thread."""

    upgrade_copy: Path | None = None
    """The copy made beside the file when opening it upgraded it, else None."""

    @property
    def waiting(self) -> int:
        """How many answers wait on this machine for a server that is away: none for a file."""
        return 0

    def deliver(self, replay: Replay) -> None:
        """Send what waits for a server; a file has nothing that waits.

        From now on `replay` makes memory of answers where several windows answer at once.
        """
        self._replay = replay

    def __enter__(self) -> Repository:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def open_repository(
    url_or_path: str | Path,
    *,
    readonly: bool = False,
    wait_seconds: float = WAIT_SECONDS,
    clock: Clock | None = None,
) -> Repository:
    """Open a database and make, check or upgrade its schema.

    `wait_seconds` is how long to wait for another program that is writing. `clock` gives the times
    that storage sets itself (retired, turned, undone, logged).

    The usual file gets its folder made; any other folder must be there.

    Raises:
        StorageError: and its kinds: missing folder, damaged, locked, read-only, newer.
    """
    location = locate(url_or_path)
    if not readonly and location.file == paths.database_file():
        make_folder(paths.data_folder())
    copy = None
    if location.file is not None:
        copy = prepare_file(location, readonly=readonly, wait_seconds=wait_seconds)
    engine = make_engine(location, readonly=readonly, wait_seconds=wait_seconds)
    if location.file is None:
        prepare_server(engine, location.name, readonly=readonly)
    repository: Repository
    if location.file is None and not location.in_memory:
        from drills.storage.posting import Posted

        repository = Posted(location, engine, clock or Clock(), readonly=readonly)
    else:
        repository = Repository(location, engine, clock or Clock(), readonly=readonly)
    repository.upgrade_copy = copy
    return repository
