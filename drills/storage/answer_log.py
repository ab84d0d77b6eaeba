"""The log of answers, as drills, pace, fitting and the memory model read it."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from sqlalchemy import Select, and_, case, exists, func, or_, select

from drills.storage.columns import ANSWER, CONTRAST, DRILL
from drills.storage.records import AnswerRecord, CardTime, DaySlip, SideCounts
from drills.storage.store import Store

ANSWER_COLUMNS = tuple(ANSWER.c[field.name] for field in fields(AnswerRecord))
"""In the order of the fields of AnswerRecord."""

MADE_MEMORY = and_(
    ANSWER.c.undone_at.is_(None),
    ANSWER.c.counts.is_(True),
    or_(CONTRAST.c.turned_at.is_(None), ANSWER.c.answered_at > CONTRAST.c.turned_at),
)
"""Of an answer and its contrast: it stands, counts, and says something of today's answer."""


class AnswerLog(Store):
    """The part of the repository that reads answers."""

    def answers_of(self, taster_id: int, contrast_id: int) -> list[AnswerRecord]:
        """Return the answers that made the memory of a contrast, in their order.

        Undone ones, checks that do not count and answers from before the contrast turned are out.
        """
        return self._answers(that_made_memory(taster_id, contrast_id))

    def answers_of_drill(self, drill_id: int) -> list[AnswerRecord]:
        """Return all answers of a drill in their order, the undone ones among them."""
        query = select(*ANSWER_COLUMNS).where(ANSWER.c.drill_id == drill_id).order_by(ANSWER.c.id)
        return self._answers(query)

    def answers_between(self, taster_id: int, first_day: int, last_day: int) -> list[AnswerRecord]:
        """Return the answers, not undone, of the study days `first_day` to `last_day`."""
        query = (
            select(*ANSWER_COLUMNS)
            .where(
                ANSWER.c.taster_id == taster_id,
                ANSWER.c.day.between(first_day, last_day),
                ANSWER.c.undone_at.is_(None),
            )
            .order_by(ANSWER.c.day, ANSWER.c.id)
        )
        return self._answers(query)

    def graded(self, taster_id: int, *, one_in: int = 1) -> list[tuple[int, int, int]]:
        """Return (contrast, grade, day) of all answers that made memories, in their order.

        `one_in` so many contrasts are taken with all their answers, always the same ones.
        """
        query = (
            select(ANSWER.c.contrast_id, ANSWER.c.grade, ANSWER.c.day)
            .join(CONTRAST, CONTRAST.c.id == ANSWER.c.contrast_id)
            .where(
                ANSWER.c.taster_id == taster_id,
                MADE_MEMORY,
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
                CONTRAST.c.retired_at.is_(None),
                MADE_MEMORY,
            )
            .order_by(ANSWER.c.id)
        )
        with self.reading() as connection:
            return [DaySlip(*row) for row in connection.execute(query)]

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


def that_made_memory(taster_id: int, contrast_id: int) -> Select[Any]:
    """Return the query for the answers that made the memory of a contrast, in their order."""
    return (
        select(*ANSWER_COLUMNS)
        .join(CONTRAST, CONTRAST.c.id == ANSWER.c.contrast_id)
        .where(ANSWER.c.taster_id == taster_id, ANSWER.c.contrast_id == contrast_id, MADE_MEMORY)
        .order_by(ANSWER.c.id)
    )
