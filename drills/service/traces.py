"""A memory between storage, which keeps it, and the memory model, which knows what it means."""

from __future__ import annotations

from datetime import datetime

from drills.memory import Trace
from drills.storage.records import MemoryRecord


def as_trace(record: MemoryRecord | None) -> Trace | None:
    """What storage keeps of a memory, as the memory model knows it."""
    if record is None:
        return None
    return Trace(
        record.stability,
        record.difficulty,
        record.last_day,
        record.due_day,
        record.answers,
        record.slips,
    )


def as_record(trace: Trace, taster: int, contrast: int, at: datetime) -> MemoryRecord:
    """A trace as storage keeps it."""
    return MemoryRecord(
        taster_id=taster,
        contrast_id=contrast,
        stability=trace.stability,
        difficulty=trace.difficulty,
        last_day=trace.last_day,
        due_day=trace.due_day,
        answers=trace.answers,
        slips=trace.slips,
        last_at=at,
    )
