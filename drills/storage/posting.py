"""The repository of a study group's server, which may be away for a while.

Where the connection is lost in the middle of a drill, answers wait in the outbox and the drill goes
on with what is at hand. The next contact delivers them before it asks for anything, each under its
receipt, so that an answer of which only the acknowledgement was lost is not kept twice.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from threading import RLock, Thread, get_ident
from typing import Any, TypeVar

from sqlalchemy import Engine, Select, select

from drills import paths
from drills.clock import Clock
from drills.errors import ConnectionLost, DatabaseLocked, DatabaseStandingBy, StorageError
from drills.storage.answers import Replay
from drills.storage.columns import CONTRAST, MEMORY
from drills.storage.contrasts import CONTRAST_COLUMNS
from drills.storage.engine import Location
from drills.storage.outbox import Outbox, answer_entry, answer_of, put_aside
from drills.storage.patience import PATIENCE, Patience
from drills.storage.queues import MEMORY_COLUMNS, queue_row
from drills.storage.records import (
    AnswerRecord,
    ContrastRecord,
    Counts,
    DrillRecord,
    MemoryRecord,
    QueueRow,
    new_receipt,
)
from drills.storage.repository import Repository

T = TypeVar("T")

# What a server cannot do now it may do later: such answers wait, and are never put aside.
_FOR_NOW = (ConnectionLost, DatabaseLocked, DatabaseStandingBy)

REST_SECONDS = 10.0
"""After a lost connection it is not tried again for so long: each try may take seconds."""


def _as_last_time(name: str, default: Any) -> Any:
    """A question of the repository that is answered as the last time while the server is away."""

    def ask(self: Posted, *given: Any, **named: Any) -> Any:
        usual = getattr(Repository, name)
        key = (name, given, tuple(sorted(named.items())))

        def now() -> Any:
            self._told[key] = found = usual(self, *given, **named)
            return found

        return self._ask(now, lambda: self._told.get(key, default))

    ask.__doc__ = getattr(Repository, name).__doc__
    return ask


class Posted(Repository):
    """A server's repository with an outbox."""

    def __init__(self, location: Location, engine: Engine, clock: Clock, *, readonly: bool) -> None:
        super().__init__(location, engine, clock, readonly=readonly)
        self._outbox = Outbox(paths.outbox_folder(), location.name)
        self._lost_at: float | None = None
        self._patience: Patience = engine.get_execution_options().get(PATIENCE, Patience())
        self._looking: Thread | None = None
        self._delivering, self._sending = RLock(), False
        self._told: dict[Any, Any] = {}
        self._at_hand: dict[int, QueueRow] = {}
        # Answers that waited have a number below 0 until the drill is over.
        self._numbers: dict[int, int] = {}

    # ---- sending

    @property
    def waiting(self) -> int:
        """How many answers wait on this machine."""
        return sum("answer" in entry for entry in self._outbox.entries)

    def deliver(self, replay: Replay) -> None:
        """Send what waits, now and before every later contact; memory follows by `replay`.

        Raises:
            ConnectionLost: the server is away; everything goes on waiting.
            StorageError: the server refuses what waited; it is put aside, the message says where.
        """
        self._replay = replay
        if self.readonly:
            return
        with self._outbox.left_behind() as found:
            for file, entries in found.items():
                self._send_all(entries, lambda file=file: put_aside(file))  # type: ignore[misc]
                file.unlink()

    def _send_all(self, entries: list[dict[str, Any]], aside: Callable[[], Path]) -> None:
        try:
            for entry in entries:
                self._send(entry)
        except _FOR_NOW:
            # They are not refused: their time comes.
            raise
        except (StorageError, ValueError, KeyError, TypeError) as error:
            raise StorageError(
                f"answers that waited for {self.location.name} were refused ({error});"
                f" they are kept in {aside()}"
            ) from error

    def _send(self, entry: dict[str, Any]) -> None:
        assert self._replay is not None
        if "answer" in entry:
            answer = answer_of(entry)
            number = super().deliver_answer(answer, self._replay)
            assert answer.receipt is not None
            self._numbers[-answer.receipt] = number
        elif "longer" in entry:
            super().plan_longer(*entry["longer"])
        else:
            super().end_drill(entry["ended"], datetime.fromisoformat(entry["at"]))

    def _ask(self, now: Callable[[], T], otherwise: Callable[[], T]) -> T:
        """Do what needs the server; where it is away, what does not."""
        lost = self._lost_at
        if lost is not None:
            if self._clock.stopwatch() - lost < REST_SECONDS or self._is_looking:
                return otherwise()
            if self._patience.silent:
                self._look_again()
                return otherwise()
        try:
            # Another thread may be at it; it will not be long.
            with self._delivering:
                # What delivering asks for comes here too.
                if self._outbox.entries and not self._sending:
                    self._sending = True
                    try:
                        self._send_all(self._outbox.entries, self._outbox.put_aside)
                        self._outbox.clear()
                    finally:
                        self._sending = False
            found = now()
        except _FOR_NOW:
            self._lost_at = self._clock.stopwatch()
            # Without a memory model nothing could be delivered, without cards nothing go on.
            if self._replay is None or not self._at_hand:
                raise
            return otherwise()
        self._lost_at = None
        return found

    @property
    def _is_looking(self) -> bool:
        return self._looking is not None and self._looking.is_alive()

    def _look_again(self) -> None:
        """See beside the drill whether a silent server answers again: a try may take seconds."""
        self._looking = Thread(target=self._look, daemon=True)
        self._looking.start()

    def _look(self) -> None:
        self._patience.scout = get_ident()
        try:
            with self.reading() as connection:
                connection.execute(select(1))
        except StorageError:
            self._lost_at = self._clock.stopwatch()
        else:
            self._lost_at = None

    def close(self) -> None:
        """Give the database back, after a last try to deliver."""
        if self._outbox.entries:
            self._lost_at, self._patience.silent = None, False
            self._ask(lambda: None, lambda: None)
        self._outbox.close()
        super().close()

    def backup(self, to: Path, *, overwrite: bool = False) -> None:
        """Write all that this login may see into a new file, a database of its own.

        Raises:
            StorageError: the target exists or cannot be written.
        """
        from drills.storage.moving import copy_to_file

        if overwrite:
            raise ValueError("a server's backup never replaces a file")
        copy_to_file(self, paths.expanded(to).absolute())

    # ---- the drill, while the server is away

    def start_drill(self, taster_id: int, planned_seconds: int, note: str = "") -> DrillRecord:
        """Begin a drill now, and gather what it goes on with should the server go away."""
        drill = super().start_drill(taster_id, planned_seconds, note)
        self._gather(taster_id)
        self._patience.drilling = True
        return drill

    def _gather(self, taster_id: int) -> None:
        query: Select[Any] = (
            select(*CONTRAST_COLUMNS, *MEMORY_COLUMNS)
            .outerjoin(
                MEMORY,
                (MEMORY.c.contrast_id == CONTRAST.c.id) & (MEMORY.c.taster_id == taster_id),
            )
            .where(CONTRAST.c.retired_at.is_(None))
            .order_by(CONTRAST.c.rank, CONTRAST.c.id)
        )
        with self.reading() as connection:
            rows = [queue_row(row) for row in connection.execute(query)]
        self._at_hand = {row.contrast.id: row for row in rows}

    def record_answer(
        self, answer: AnswerRecord, memory: MemoryRecord | None, *, again: bool = False
    ) -> int:
        """Keep an answer with the memory it leaves, in the outbox where the server is away.

        Returns its number, which is below 0 for one that waits.
        """
        receipt = answer.receipt or new_receipt()
        sent = replace(answer, receipt=receipt)
        usual = super().record_answer

        def wait() -> int:
            self._outbox.put(answer_entry(sent))
            return -receipt

        number = self._ask(lambda: usual(sent, memory, again=again), wait)
        row = self._at_hand.get(answer.contrast_id)
        if row is not None and memory is not None:
            self._at_hand[answer.contrast_id] = QueueRow(row.contrast, memory)
        return number

    def undo_answer(self, answer_id: int, memory: MemoryRecord | None) -> bool:
        """Mark an answer undone and put back the memory from before it; not while it waits.

        Raises:
            ConnectionLost: the server is away.
        """
        usual = super().undo_answer
        done = self._ask(lambda: usual(self._numbers.get(answer_id, answer_id), memory), self._away)
        return bool(done)

    def end_drill(self, drill_id: int, at: datetime | None = None) -> None:
        """End a drill, now if no time is given."""
        usual, moment = super().end_drill, at or self._clock.now()
        later = {"ended": drill_id, "at": moment.isoformat()}
        self._ask(lambda: usual(drill_id, moment), lambda: self._outbox.put(later))
        self._patience.drilling = False

    def plan_longer(self, drill_id: int, planned_seconds: int) -> None:
        """Keep that a drill was made longer."""
        usual, later = super().plan_longer, {"longer": [drill_id, planned_seconds]}
        self._ask(lambda: usual(drill_id, planned_seconds), lambda: self._outbox.put(later))

    def answers_of(self, taster_id: int, contrast_id: int) -> list[AnswerRecord]:
        """Return the answers that made a memory, under the numbers that the drill knows."""
        usual = super().answers_of
        found = self._ask(lambda: usual(taster_id, contrast_id), self._away)
        known = {number: below for below, number in self._numbers.items()}
        return [replace(one, id=known[one.id]) if one.id in known else one for one in found]

    def memory(self, taster_id: int, contrast_id: int) -> MemoryRecord | None:
        """Return what a taster remembers of a contrast, or None while it is unseen."""
        usual = super().memory
        return self._ask(
            lambda: usual(taster_id, contrast_id), lambda: self._held(contrast_id).memory
        )

    def contrast(self, contrast_id: int) -> ContrastRecord | None:
        """Return a contrast, retired or not, or None."""
        usual = super().contrast
        return self._ask(lambda: usual(contrast_id), lambda: self._held(contrast_id).contrast)

    def counts(self, taster_id: int, day: int) -> Counts:
        """Return how many contrasts wait on `day`; what was confused is not at hand."""
        usual = super().counts
        return self._ask(
            lambda: usual(taster_id, day),
            lambda: Counts(
                urgent=0,
                due=sum(due <= day for due in self._due_days()),
                unseen=sum(row.memory is None for row in self._at_hand.values()),
            ),
        )

    def next_due_day(self, taster_id: int) -> int | None:
        """Return the earliest day on which a contrast in use is due, past or not, or None."""
        usual = super().next_due_day
        return self._ask(lambda: usual(taster_id), lambda: min(self._due_days(), default=None))

    def due_forecast(self, taster_id: int, from_day: int, days: int) -> tuple[int, ...]:
        """Return how many contrasts fall due on each of `days` days; the overdue are not in it."""
        usual = super().due_forecast
        return self._ask(
            lambda: usual(taster_id, from_day, days),
            lambda: tuple(self._due_days().count(from_day + n) for n in range(days)),
        )

    log_state = _as_last_time("log_state", (None, None, None))
    recent_seconds = _as_last_time("recent_seconds", [])
    card_times = _as_last_time("card_times", [])
    slips_of_day = _as_last_time("slips_of_day", [])
    confusions = _as_last_time("confusions", [])
    contrasts_of_pair = _as_last_time("contrasts_of_pair", [])
    meta = _as_last_time("meta", None)
    urgent = _as_last_time("urgent", [])
    due = _as_last_time("due", [])
    unseen = _as_last_time("unseen", [])

    def _held(self, contrast_id: int) -> QueueRow:
        if contrast_id not in self._at_hand:
            self._away()
        return self._at_hand[contrast_id]

    def _due_days(self) -> list[int]:
        return [row.memory.due_day for row in self._at_hand.values() if row.memory is not None]

    def _away(self) -> Any:
        raise ConnectionLost(f"no connection to {self.location.name}; it is tried again shortly")
