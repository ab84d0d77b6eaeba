"""Answers, and the memory that each one leaves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import BindParameter, Connection, and_, bindparam, func, select

from drills.errors import StorageError
from drills.storage.answer_log import ANSWER_COLUMNS, that_made_memory
from drills.storage.columns import ANSWER, CONTRAST, MEMORY, POUR
from drills.storage.records import AnswerRecord, MemoryRecord
from drills.storage.store import Store, new_id

# Statements of the way from one card to the next are made once: making one anew, with its values in
# it, takes longer than executing it.
_OF_TASTER: BindParameter[int] = bindparam("of_taster")
_OF_CONTRAST: BindParameter[int] = bindparam("of_contrast")
_PLACE = and_(MEMORY.c.taster_id == _OF_TASTER, MEMORY.c.contrast_id == _OF_CONTRAST)
_ADD_ANSWER = ANSWER.insert()
_ADD_MEMORY = MEMORY.insert()
_CHANGE_MEMORY = MEMORY.update().where(_PLACE)
_FORGET = MEMORY.delete().where(_PLACE)
_COUNTED = select(MEMORY.c.answers).where(_PLACE)
_NEWEST_CONFUSION = (
    select(func.max(POUR.c.logged_at))
    .join(CONTRAST, and_(CONTRAST.c.wine_a == POUR.c.pair_a, CONTRAST.c.wine_b == POUR.c.pair_b))
    .where(CONTRAST.c.id == _OF_CONTRAST, POUR.c.taster_id == _OF_TASTER)
)

Replay = Callable[[Sequence[AnswerRecord]], MemoryRecord | None]
"""Makes of the answers to one contrast, in their order, the memory that they leave."""


class Answers(Store):
    """The part of the repository that keeps answers."""

    _replay: Replay | None = None

    def record_answer(
        self, answer: AnswerRecord, memory: MemoryRecord | None, *, again: bool = False
    ) -> int:
        """Keep an answer together with the memory it leaves, and return the answer's id.

        Where another window has answered the contrast in the meantime, memory is what all answers
        that stand leave. `again` says that keeping it was tried before: by its receipt it is kept
        once all the same, and memory stays where the contrast has turned since.

        Raises:
            ValueError: `memory` is not of this answer, or is missing though the answer counts, or
                given though it does not.
            StorageError: no such taster, contrast or drill, or a value out of its range.
        """
        if answer.counts != (memory is not None):
            raise ValueError("an answer leaves a memory if, and only if, it counts")
        with self.writing(answer.taster_id) as connection:
            if again and (known := _kept_as(connection, answer)) is not None:
                return known
            answer_id = _add_answer(connection, answer)
            if memory is not None and not (again and _turned_since(connection, answer)):
                before = connection.scalar(_COUNTED, _place(answer)) or 0
                if before != memory.answers - 1 and self._replay is not None:
                    # None stand where the clock was set back to before the contrast turned.
                    stand = _history(connection, answer)
                    memory = self._replay(stand) if stand else memory
                _write_memory(connection, answer, _after_confusions(connection, memory))
        return answer_id

    def deliver_answer(self, answer: AnswerRecord, replay: Replay) -> int:
        """Keep an answer that could not be kept when it was given, once however often it is tried.

        It may have been kept all the same, if only the word of it was lost: its receipt tells.
        Others may have come meanwhile, so memory is what `replay` makes of all that stand.

        Raises:
            StorageError: as for `record_answer`.
        """
        with self.writing(answer.taster_id) as connection:
            if (known := _kept_as(connection, answer)) is not None:
                return known
            answer_id = _add_answer(connection, answer)
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
            select(*ANSWER_COLUMNS, CONTRAST.c.turned_at)
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


def _add_answer(connection: Connection, answer: AnswerRecord) -> int:
    values = _values(answer)
    del values["id"], values["undone_at"]
    return new_id(connection, _ADD_ANSWER, values)


def _kept_as(connection: Connection, answer: AnswerRecord) -> int | None:
    """The id of an answer that is kept already, known by its receipt."""
    if answer.receipt is None:
        return None
    known: int | None = connection.scalar(
        select(ANSWER.c.id).where(
            ANSWER.c.taster_id == answer.taster_id, ANSWER.c.receipt == answer.receipt
        )
    )
    return known


def _turned_since(connection: Connection, answer: AnswerRecord) -> bool:
    """Whether the answer says nothing of what the contrast asks today."""
    turned: datetime | None = connection.scalar(
        select(CONTRAST.c.turned_at).where(CONTRAST.c.id == answer.contrast_id)
    )
    return turned is not None and answer.answered_at <= turned


def _history(connection: Connection, answer: AnswerRecord) -> list[AnswerRecord]:
    query = that_made_memory(answer.taster_id, answer.contrast_id)
    return [AnswerRecord(*row) for row in connection.execute(query)]


def _place(record: AnswerRecord | MemoryRecord) -> dict[str, int]:
    return {"of_taster": record.taster_id, "of_contrast": record.contrast_id}


def _after_confusions(connection: Connection, memory: MemoryRecord | None) -> MemoryRecord | None:
    """The memory, last touched no earlier than its pair was confused: that is answered now.

    The clock may have been set back since the tasting was logged.
    """
    if memory is None:
        return None
    newest: datetime | None = connection.scalar(_NEWEST_CONFUSION, _place(memory))
    return replace(memory, last_at=newest) if newest and newest > memory.last_at else memory


def _write_memory(
    connection: Connection, answer: AnswerRecord, memory: MemoryRecord | None
) -> None:
    if memory is None:
        connection.execute(_FORGET, _place(answer))
        return
    if (memory.taster_id, memory.contrast_id) != (answer.taster_id, answer.contrast_id):
        raise ValueError("the memory belongs to another taster or contrast than the answer")
    _replace_memory(connection, memory)


def _replace_memory(connection: Connection, memory: MemoryRecord) -> None:
    values = _values(memory)
    changed = dict(values)
    del changed["taster_id"], changed["contrast_id"]
    if connection.execute(_CHANGE_MEMORY, changed | _place(memory)).rowcount == 0:
        connection.execute(_ADD_MEMORY, values)


def _values(record: AnswerRecord | MemoryRecord) -> dict[str, Any]:
    """The fields by name. `asdict` would copy each value, which are all immutable."""
    return {name: getattr(record, name) for name in record.__dataclass_fields__}
