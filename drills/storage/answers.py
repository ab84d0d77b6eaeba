"""Drills and their answers, and the memory that each answer leaves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Select, and_, bindparam, case, exists, func, or_, select

from drills.errors import StorageError
from drills.storage.columns import ANSWER, CONTRAST, DRILL, MEMORY, POUR
from drills.storage.records import (
    AnswerRecord,
    CardTime,
    DaySlip,
    DrillRecord,
    MemoryRecord,
    SideCounts,
)
from drills.storage.store import Store

_ANSWER_COLUMNS = tuple(ANSWER.c[field.name] for field in fields(AnswerRecord))
# Statements of the way from one card to the next are made once: making one anew, with its values in
# it, takes longer than executing it.
_ADD_ANSWER = ANSWER.insert()
_ADD_MEMORY = MEMORY.insert()
_CHANGE_MEMORY = MEMORY.update().where(
    MEMORY.c.taster_id == bindparam("of_taster"), MEMORY.c.contrast_id == bindparam("of_contrast")
)
_COUNTED = select(MEMORY.c.answers).where(
    MEMORY.c.taster_id == bindparam("of_taster"), MEMORY.c.contrast_id == bindparam("of_contrast")
)
_NEWEST_CONFUSION = (
    select(func.max(POUR.c.logged_at))
    .join(CONTRAST, and_(CONTRAST.c.wine_a == POUR.c.pair_a, CONTRAST.c.wine_b == POUR.c.pair_b))
    .where(CONTRAST.c.id == bindparam("of_contrast"), POUR.c.taster_id == bindparam("of_taster"))
)
_DRILL_COLUMNS = tuple(DRILL.c[field.name] for field in fields(DrillRecord))


Replay = Callable[[Sequence[AnswerRecord]], MemoryRecord | None]
"""Makes of the answers to one contrast, in their order, the memory that they leave."""


class Answers(Store):
    """The part of the repository that knows drills and answers."""

    _replay: Replay | None = None

    def start_drill(self, taster_id: int, planned_seconds: int, note: str = "") -> DrillRecord:
        """Begin a drill now.

        Raises:
            StorageError: no such taster.
        """
        now = self._clock.now()
        values = {
            "taster_id": taster_id,
            "began_at": now,
            "planned_seconds": planned_seconds,
            "note": note,
        }
        with self.writing(taster_id) as connection:
            drill_id = _new_id(connection, DRILL.insert().values(values))
        return DrillRecord(drill_id, taster_id, now, None, planned_seconds, note)

    def end_drill(self, drill_id: int, at: datetime | None = None) -> None:
        """End a drill, now if no time is given; one that has ended keeps its end.

        Raises:
            StorageError: no such drill.
        """
        with self.writing() as connection:
            ended = connection.execute(
                select(DRILL.c.ended_at).where(DRILL.c.id == drill_id)
            ).one_or_none()
            if ended is None:
                raise StorageError(f"there is no drill {drill_id}")
            if ended[0] is None:
                at = at or self._clock.now()
                connection.execute(DRILL.update().where(DRILL.c.id == drill_id).values(ended_at=at))

    def plan_longer(self, drill_id: int, planned_seconds: int) -> None:
        """Keep that a drill was made longer."""
        longer = DRILL.update().where(DRILL.c.id == drill_id)
        with self.writing() as connection:
            connection.execute(longer.values(planned_seconds=planned_seconds))

    def drills(self, taster_id: int, limit: int = 50) -> list[DrillRecord]:
        """Return the latest drills, newest first."""
        query = (
            select(*_DRILL_COLUMNS)
            .where(DRILL.c.taster_id == taster_id)
            .order_by(DRILL.c.id.desc())
            .limit(limit)
        )
        with self.reading() as connection:
            return [DrillRecord(*row) for row in connection.execute(query)]

    def record_answer(self, answer: AnswerRecord, memory: MemoryRecord | None) -> int:
        """Keep an answer together with the memory it leaves, and return the answer's id.

        Where another window has answered the contrast in the meantime, memory is what all answers
        that stand leave.

        Raises:
            ValueError: `memory` is not of this answer, or is missing though the answer counts, or
                given though it does not.
            StorageError: no such taster, contrast or drill, or a value out of its range.
        """
        if answer.counts != (memory is not None):
            raise ValueError("an answer leaves a memory if, and only if, it counts")
        with self.writing(answer.taster_id) as connection:
            answer_id = self._add_answer(connection, answer)
            if memory is not None:
                before = connection.scalar(_COUNTED, _place(answer)) or 0
                if before != memory.answers - 1 and self._replay is not None:
                    memory = self._replay(_history(connection, answer))
                _write_memory(connection, answer, _after_confusions(connection, memory))
        return answer_id

    @staticmethod
    def _add_answer(connection: Connection, answer: AnswerRecord) -> int:
        values = _values(answer)
        del values["id"], values["undone_at"]
        return _new_id(connection, _ADD_ANSWER, values)

    def deliver_answer(
        self,
        answer: AnswerRecord,
        replay: Replay,
    ) -> int:
        """Keep an answer that could not be kept when it was given, once however often it is tried.

        It may have been kept all the same, if only the word of it was lost: its receipt tells.
        Others may have come meanwhile, so memory is what `replay` makes of all that stand.

        Raises:
            StorageError: as for `record_answer`.
        """
        kept = select(ANSWER.c.id).where(
            ANSWER.c.taster_id == answer.taster_id, ANSWER.c.receipt == answer.receipt
        )
        with self.writing(answer.taster_id) as connection:
            known: int | None = connection.scalar(kept)
            if known is not None:
                return known
            answer_id = self._add_answer(connection, answer)
            if answer.counts:
                history = _history(connection, answer)
                history.sort(key=lambda one: one.answered_at)
                # Given before the contrast turned, it says nothing of today's answer.
                if any(one.id == answer_id for one in history):
                    _write_memory(connection, answer, replay(history))
        return answer_id

    def undo_answer(self, answer_id: int, memory: MemoryRecord | None) -> bool:
        """Mark an answer undone and put back the memory from before it.

        `memory` None deletes the memory: the contrast is unseen again. Where the answer did not
        count, or the contrast has turned since, it left nothing and the memory stays as it is.
        Where another window has answered in the meantime, memory is what the answers that stand
        leave. Returns False, changing nothing, where the answer had been undone already.

        Raises:
            ValueError: `memory` is not of this answer.
            StorageError: no such answer.
        """
        query = (
            select(*_ANSWER_COLUMNS, CONTRAST.c.turned_at)
            .join(CONTRAST, CONTRAST.c.id == ANSWER.c.contrast_id)
            .where(ANSWER.c.id == answer_id)
        )
        with self.writing() as connection:
            row = connection.execute(query).one_or_none()
            if row is None:
                raise StorageError(f"there is no answer {answer_id}")
            answer, turned_at = AnswerRecord(*row[:-1]), row[-1]
            if answer.undone_at is not None:
                return False
            connection.execute(
                ANSWER.update().where(ANSWER.c.id == answer_id).values(undone_at=self._clock.now())
            )
            if answer.counts and (turned_at is None or answer.answered_at > turned_at):
                if self._replay is not None:
                    stand = _history(connection, answer)
                    if len(stand) != (memory.answers if memory else 0):
                        memory = self._replay(stand) if stand else None
                _write_memory(connection, answer, memory)
        return True

    def keep_memories(self, memories: list[MemoryRecord]) -> None:
        """Replace memories as a whole (new parameters of the memory model), or not at all."""
        with self.writing() as connection:
            for memory in memories:
                _replace_memory(connection, memory)

    def answers_of(self, taster_id: int, contrast_id: int) -> list[AnswerRecord]:
        """Return the answers that made the memory of a contrast, in their order.

        Undone ones, checks that do not count and answers from before the contrast turned are out.
        """
        return self._answers(_that_made(taster_id, contrast_id))

    def graded(self, taster_id: int, *, one_in: int = 1) -> list[tuple[int, int, int]]:
        """Return (contrast, grade, day) of all answers that made memories, in their order.

        `one_in` so many contrasts are taken with all their answers, always the same ones.
        """
        query = (
            select(ANSWER.c.contrast_id, ANSWER.c.grade, ANSWER.c.day)
            .join(CONTRAST, CONTRAST.c.id == ANSWER.c.contrast_id)
            .where(
                ANSWER.c.taster_id == taster_id,
                ANSWER.c.undone_at.is_(None),
                ANSWER.c.counts.is_(True),
                or_(CONTRAST.c.turned_at.is_(None), ANSWER.c.answered_at > CONTRAST.c.turned_at),
                # Ids are hashes, so these are contrasts of all kinds.
                *([ANSWER.c.contrast_id % one_in == 0] if one_in > 1 else []),
            )
            .order_by(ANSWER.c.id)
        )
        with self.reading() as connection:
            return [(one, grade, day) for one, grade, day in connection.execute(query)]

    def answers_before(self, taster_id: int, day: int) -> int:
        """Return how many answers were given before a study day, those taken back among them."""
        query = select(func.count()).where(ANSWER.c.taster_id == taster_id, ANSWER.c.day < day)
        with self.reading() as connection:
            return int(connection.execute(query).scalar_one())

    def slips_of_day(self, taster_id: int, day: int) -> list[DaySlip]:
        """Return the slips of a study day that stand and count, in their order."""
        check = ANSWER.alias("check")
        checked = exists().where(
            check.c.taster_id == taster_id,
            check.c.day == day,
            check.c.contrast_id == ANSWER.c.contrast_id,
            check.c.counts.is_(False),
            check.c.undone_at.is_(None),
            check.c.id > ANSWER.c.id,
        )
        query = (
            select(
                ANSWER.c.contrast_id, CONTRAST.c.wine_a, CONTRAST.c.wine_b, ANSWER.c.truth, checked
            )
            .join(CONTRAST, CONTRAST.c.id == ANSWER.c.contrast_id)
            .where(
                ANSWER.c.taster_id == taster_id,
                ANSWER.c.day == day,
                ANSWER.c.correct.is_(False),
                ANSWER.c.grade == 1,
                ANSWER.c.counts.is_(True),
                ANSWER.c.undone_at.is_(None),
                CONTRAST.c.retired_at.is_(None),
                or_(CONTRAST.c.turned_at.is_(None), ANSWER.c.answered_at > CONTRAST.c.turned_at),
            )
            .order_by(ANSWER.c.id)
        )
        with self.reading() as connection:
            return [DaySlip(*row) for row in connection.execute(query)]

    def answers_of_drill(self, drill_id: int) -> list[AnswerRecord]:
        """Return all answers of a drill in their order, the undone ones among them."""
        query = select(*_ANSWER_COLUMNS).where(ANSWER.c.drill_id == drill_id).order_by(ANSWER.c.id)
        return self._answers(query)

    def answers_of_pair(self, taster_id: int, wine: str, other: str) -> list[AnswerRecord]:
        """Return the answers, not undone, to all contrasts of two wines, in their order."""
        first, second = sorted((wine, other))
        query = (
            select(*_ANSWER_COLUMNS)
            .join(CONTRAST, CONTRAST.c.id == ANSWER.c.contrast_id)
            .where(
                CONTRAST.c.wine_a == first,
                CONTRAST.c.wine_b == second,
                ANSWER.c.taster_id == taster_id,
                ANSWER.c.undone_at.is_(None),
            )
            .order_by(ANSWER.c.id)
        )
        return self._answers(query)

    def answers_between(self, taster_id: int, first_day: int, last_day: int) -> list[AnswerRecord]:
        """Return the answers, not undone, of the study days `first_day` to `last_day`."""
        query = (
            select(*_ANSWER_COLUMNS)
            .where(
                ANSWER.c.taster_id == taster_id,
                ANSWER.c.day.between(first_day, last_day),
                ANSWER.c.undone_at.is_(None),
            )
            .order_by(ANSWER.c.day, ANSWER.c.id)
        )
        return self._answers(query)

    def recent_seconds(self, taster_id: int, form: str, limit: int = 200) -> list[float]:
        """Return how long the latest answers to a form took, in seconds, newest first."""
        query = (
            select(ANSWER.c.seconds)
            .where(
                ANSWER.c.taster_id == taster_id,
                ANSWER.c.form == form,
                ANSWER.c.undone_at.is_(None),
            )
            .order_by(ANSWER.c.id.desc())
            .limit(limit)
        )
        with self.reading() as connection:
            return list(connection.scalars(query))

    def card_times(self, taster_id: int, limit: int) -> list[CardTime]:
        """Return the latest answers as times of cards, in the order of their drills and answers."""
        query = (
            select(
                ANSWER.c.form,
                ANSWER.c.seconds,
                ANSWER.c.answered_at,
                ANSWER.c.drill_id,
                DRILL.c.began_at,
            )
            .join(DRILL, DRILL.c.id == ANSWER.c.drill_id)
            .where(ANSWER.c.taster_id == taster_id, ANSWER.c.undone_at.is_(None))
            .order_by(ANSWER.c.day.desc(), ANSWER.c.id.desc())
            .limit(limit)
        )
        with self.reading() as connection:
            found = [CardTime(*row) for row in connection.execute(query)]
        # Two drills at once take turns in the log; each answer follows the one of its own drill.
        return sorted(found, key=lambda one: (one.drill_id, one.answered_at))

    def last_side_counts(self, taster_id: int, limit: int = 50) -> SideCounts:
        """Return how often the truth of the latest answers was wine a or b, stood left or right."""
        lately = (
            select(ANSWER.c.truth, ANSWER.c.swapped)
            .where(ANSWER.c.taster_id == taster_id, ANSWER.c.undone_at.is_(None))
            .order_by(ANSWER.c.day.desc(), ANSWER.c.id.desc())
            .limit(limit)
            .subquery("lately")
        )
        was_a = lately.c.truth == "a"
        stood_left = or_(
            and_(was_a, lately.c.swapped.is_(False)),
            and_(lately.c.truth == "b", lately.c.swapped.is_(True)),
        )
        query = select(
            func.count(),
            func.coalesce(func.sum(case((was_a, 1), else_=0)), 0),
            func.coalesce(func.sum(case((stood_left, 1), else_=0)), 0),
        ).select_from(lately)
        with self.reading() as connection:
            number, a, left = connection.execute(query).one()
        return SideCounts(a=a, b=number - a, left=left, right=number - left)

    def _answers(self, query: Select[Any]) -> list[AnswerRecord]:
        with self.reading() as connection:
            return [AnswerRecord(*row) for row in connection.execute(query)]


def _that_made(taster_id: int, contrast_id: int) -> Select[Any]:
    """The answers that made the memory of a contrast, in their order."""
    return (
        select(*_ANSWER_COLUMNS)
        .join(CONTRAST, CONTRAST.c.id == ANSWER.c.contrast_id)
        .where(
            ANSWER.c.taster_id == taster_id,
            ANSWER.c.contrast_id == contrast_id,
            ANSWER.c.undone_at.is_(None),
            ANSWER.c.counts.is_(True),
            or_(CONTRAST.c.turned_at.is_(None), ANSWER.c.answered_at > CONTRAST.c.turned_at),
        )
        .order_by(ANSWER.c.id)
    )


def _history(connection: Connection, answer: AnswerRecord) -> list[AnswerRecord]:
    query = _that_made(answer.taster_id, answer.contrast_id)
    return [AnswerRecord(*row) for row in connection.execute(query)]


def _place(answer: AnswerRecord) -> dict[str, int]:
    return {"of_taster": answer.taster_id, "of_contrast": answer.contrast_id}


def _after_confusions(connection: Connection, memory: MemoryRecord | None) -> MemoryRecord | None:
    """The memory, last touched no earlier than its pair was confused: that is answered now.

    The clock may have been set back since the tasting was logged.
    """
    if memory is None:
        return None
    newest: datetime | None = connection.scalar(
        _NEWEST_CONFUSION, {"of_taster": memory.taster_id, "of_contrast": memory.contrast_id}
    )
    return replace(memory, last_at=newest) if newest and newest > memory.last_at else memory


def _write_memory(
    connection: Connection, answer: AnswerRecord, memory: MemoryRecord | None
) -> None:
    if memory is None:
        connection.execute(
            MEMORY.delete().where(
                MEMORY.c.taster_id == answer.taster_id, MEMORY.c.contrast_id == answer.contrast_id
            )
        )
        return
    if (memory.taster_id, memory.contrast_id) != (answer.taster_id, answer.contrast_id):
        raise ValueError("the memory belongs to another taster or contrast than the answer")
    _replace_memory(connection, memory)


def _replace_memory(connection: Connection, memory: MemoryRecord) -> None:
    values = _values(memory)
    changed = dict(values)
    mine = {"of_taster": changed.pop("taster_id"), "of_contrast": changed.pop("contrast_id")}
    if connection.execute(_CHANGE_MEMORY, changed | mine).rowcount == 0:
        connection.execute(_ADD_MEMORY, values)


def _values(record: AnswerRecord | MemoryRecord) -> dict[str, Any]:
    """The fields by name. `asdict` would copy each value, which are all immutable."""
    return {name: getattr(record, name) for name in record.__dataclass_fields__}


def _new_id(connection: Connection, statement: Any, values: dict[str, Any] | None = None) -> int:
    key = connection.execute(statement, values).inserted_primary_key
    assert key is not None
    return int(key[0])
