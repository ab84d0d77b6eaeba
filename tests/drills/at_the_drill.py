"""What tests of a drill share: two pairs, a drill, its answers and memories."""

from __future__ import annotations

from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.storage.records import AnswerRecord, MemoryRecord

TEN_MINUTES = 600.0
# Two wines that the trade confuses, and two that nobody teaches as a pair.
NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")
FAR = ("aglianico-taurasi", "cabernet-napa")


def drill(desk: Desk, **changes: object) -> DrillSession:
    return DrillSession(desk, TEN_MINUTES, **changes)  # type: ignore[arg-type]


def memories(desk: Desk) -> dict[int, MemoryRecord]:
    return {
        row.contrast.id: row.memory
        for row in desk.repository.memories(desk.taster.id)
        if row.memory is not None
    }


def answers(desk: Desk, session: DrillSession) -> list[AnswerRecord]:
    return desk.repository.answers_of_drill(session.drill_id)


def answers_of(desk: Desk, drill_id: int) -> list[AnswerRecord]:
    return desk.repository.answers_of_drill(drill_id)
