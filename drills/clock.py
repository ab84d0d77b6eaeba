"""The only module that asks what time it is, and the study day that follows from it."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

# The study day turns at four in the morning, local time: a drill after midnight is still today's.
TURN_HOUR = 4


def study_day(moment: datetime) -> int:
    """The study day of an aware moment, as the proleptic ordinal of its local date.

    ValueError is raised for a naive moment.
    """
    if moment.tzinfo is None:
        raise ValueError("a moment needs its time zone")
    # The wall clock counts: where an hour is skipped or repeated the day still turns at four.
    local = moment.astimezone().replace(tzinfo=None)
    return (local - timedelta(hours=TURN_HOUR)).date().toordinal()


@dataclass(frozen=True, slots=True)
class Clock:
    """Wall clock and stopwatch; tests hand in their own."""

    now: Callable[[], datetime] = lambda: datetime.now(UTC)
    stopwatch: Callable[[], float] = time.monotonic

    def today(self) -> int:
        """The study day of now."""
        return study_day(self.now())
