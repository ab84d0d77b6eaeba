"""Answers and pours counted by the database: what weak pairs and progress rest on."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from sqlalchemy import Integer, and_, case, cast, func, select

from cards.questions import Form
from drills.storage.answer_log import MADE_MEMORY
from drills.storage.columns import ANSWER, CONTRAST, DRILL, FLIGHT, MEMORY, POUR
from drills.storage.queues import MEMORY_COLUMNS
from drills.storage.records import MemoryRecord
from drills.storage.store import Store

if TYPE_CHECKING:
    from drills.storage.counted import (
        CallChange,
        ContrastScore,
        FormCount,
        PairPour,
        PairRating,
        TimedAnswer,
    )


class Aggregates(Store):
    """The part of the repository that counts."""

    def answer_counts(self, taster_id: int) -> tuple[list[PairRating], list[FormCount]]:
        """Return all answers that stand, counted by pair, and counted by form and sureness.

        The first list holds *which glass?* only: the other forms do not ask for one of two wines.
        Both come from one walk along an index that holds every column it needs.
        """
        from drills.storage.counted import FormCount, PairRating

        stands = and_(ANSWER.c.taster_id == taster_id, ANSWER.c.undone_at.is_(None))
        outcome = (ANSWER.c.truth, ANSWER.c.correct, ANSWER.c.sureness)
        # In two steps: the inner one follows the index and sorts nothing.
        inner = (
            select(ANSWER.c.contrast_id, *outcome, func.count().label("times"))
            .where(stands, ANSWER.c.form == WHICH_GLASS)
            .group_by(ANSWER.c.contrast_id, *outcome)
            .subquery("counted")
        )
        groups = (
            CONTRAST.c.wine_a,
            CONTRAST.c.wine_b,
            inner.c.truth,
            inner.c.correct,
            inner.c.sureness,
        )
        by_pair = (
            # A server's sum of counts is a decimal number, and would stay one.
            select(*groups, cast(func.sum(inner.c.times), Integer))
            .join(inner, inner.c.contrast_id == CONTRAST.c.id)
            .group_by(*groups)
            .order_by(*groups)
        )
        cells = [(right, sureness) for right in (False, True) for sureness in (1, 2, 3)]
        sums = [
            func.sum(
                case((and_(ANSWER.c.correct.is_(right), ANSWER.c.sureness == sureness), 1), else_=0)
            )
            for right, sureness in cells
        ]
        by_form = (
            select(ANSWER.c.form, *sums)
            .where(stands, ANSWER.c.form.in_(_OTHER_FORMS))
            .group_by(ANSWER.c.form)
            .order_by(ANSWER.c.form)
        )
        with self.reading() as connection:
            ratings = [PairRating(*row) for row in connection.execute(by_pair).all()]
            # The first form is counted already, and most answers are of it.
            glass: Counter[tuple[bool, int]] = Counter()
            for one in ratings:
                glass[bool(one.correct), one.sureness] += one.times
            forms = [FormCount(WHICH_GLASS, *cell, glass[cell]) for cell in cells if glass[cell]]
            forms += [
                FormCount(row[0], right, sureness, times)
                for row in connection.execute(by_form)
                for (right, sureness), times in zip(cells, row[1:], strict=True)
                if times
            ]
        return ratings, forms

    def timed_answers(self, taster_id: int, first_day: int) -> list[TimedAnswer]:
        """Return when each answer since a study day was given, drill by drill in their order."""
        from drills.storage.counted import TimedAnswer

        query = (
            select(ANSWER.c.day, ANSWER.c.drill_id, DRILL.c.began_at, ANSWER.c.answered_at)
            .join(DRILL, DRILL.c.id == ANSWER.c.drill_id)
            .where(
                ANSWER.c.taster_id == taster_id,
                ANSWER.c.day >= first_day,
                ANSWER.c.undone_at.is_(None),
            )
            .order_by(ANSWER.c.drill_id, ANSWER.c.answered_at)
        )
        with self.reading() as connection:
            return [TimedAnswer(*row) for row in connection.execute(query)]

    def pair_memories(self, taster_id: int) -> list[tuple[str, str, MemoryRecord]]:
        """Return the memory of every contrast in use with its two wines, as introduced."""
        query = (
            select(CONTRAST.c.wine_a, CONTRAST.c.wine_b, *MEMORY_COLUMNS)
            .join(MEMORY, MEMORY.c.contrast_id == CONTRAST.c.id)
            .where(MEMORY.c.taster_id == taster_id, CONTRAST.c.retired_at.is_(None))
            .order_by(CONTRAST.c.rank, CONTRAST.c.id)
        )
        with self.reading() as connection:
            return [
                (row[0], row[1], MemoryRecord(*row[2:])) for row in connection.execute(query).all()
            ]

    def first_answers(self, taster_id: int, first_day: int) -> tuple[int, int]:
        """Return how many contrasts were met since a study day, and how many known at first sight.

        Known is what was graded as recalled: a right guess is not.
        """
        earlier = ANSWER.alias("earlier")
        query = select(
            func.count(), func.coalesce(func.sum(case((ANSWER.c.grade > 1, 1), else_=0)), 0)
        ).where(
            ANSWER.c.taster_id == taster_id,
            ANSWER.c.day >= first_day,
            ANSWER.c.undone_at.is_(None),
            ~select(earlier.c.id)
            .where(
                earlier.c.taster_id == taster_id,
                earlier.c.contrast_id == ANSWER.c.contrast_id,
                earlier.c.undone_at.is_(None),
                earlier.c.id < ANSWER.c.id,
            )
            .exists(),
        )
        with self.reading() as connection:
            met, known = connection.execute(query).one()
        return met, known

    def call_changes(self, taster_id: int) -> CallChange:
        """Return first calls against final calls, over pours whose wine and both calls are known.

        A pour counts once: by whether the first and whether the final call was right.
        """
        from drills.storage.counted import CallChange

        first = cast(POUR.c.first_wine == POUR.c.was_wine, Integer)
        final = cast(POUR.c.called_wine == POUR.c.was_wine, Integer)
        query = (
            select(first, final, func.count())
            .where(
                POUR.c.taster_id == taster_id,
                POUR.c.was_wine.is_not(None),
                POUR.c.first_wine.is_not(None),
                POUR.c.called_wine.is_not(None),
            )
            .group_by(first, final)
        )
        with self.reading() as connection:
            found = {(bool(row[0]), bool(row[1])): row[2] for row in connection.execute(query)}
        return CallChange(
            both_right=found.get((True, True), 0),
            lost=found.get((True, False), 0),
            gained=found.get((False, True), 0),
            both_wrong=found.get((False, False), 0),
        )

    def pair_pours(self, taster_id: int, wine: str, other: str) -> list[PairPour]:
        """Return the pours of two wines that were called one of the two, in the order of tasting.

        Those without a date come first, as they count as the oldest.
        """
        from drills.storage.counted import PairPour

        two = (wine, other)
        query = (
            select(
                POUR.c.id, FLIGHT.c.name, FLIGHT.c.tasted_on, POUR.c.was_wine, POUR.c.called_wine
            )
            .join(FLIGHT, FLIGHT.c.id == POUR.c.flight_id)
            .where(
                POUR.c.taster_id == taster_id,
                POUR.c.was_wine.in_(two),
                POUR.c.called_wine.in_(two),
            )
            .order_by(
                FLIGHT.c.tasted_on.is_not(None), FLIGHT.c.tasted_on, POUR.c.logged_at, POUR.c.id
            )
        )
        with self.reading() as connection:
            return [PairPour(*row) for row in connection.execute(query)]

    def contrast_scores(self, taster_id: int, wine: str, other: str) -> list[ContrastScore]:
        """Return answers and wrong ones for each contrast of two wines, checks left out."""
        from drills.storage.counted import ContrastScore

        first, second = sorted((wine, other))
        mine = and_(
            ANSWER.c.contrast_id == CONTRAST.c.id,
            ANSWER.c.taster_id == taster_id,
            MADE_MEMORY,
        )
        query = (
            select(
                CONTRAST.c.id,
                func.count(ANSWER.c.id),
                func.coalesce(func.sum(case((ANSWER.c.correct.is_(False), 1), else_=0)), 0),
            )
            .outerjoin(ANSWER, mine)
            .where(
                CONTRAST.c.wine_a == first,
                CONTRAST.c.wine_b == second,
                CONTRAST.c.retired_at.is_(None),
            )
            .group_by(CONTRAST.c.id, CONTRAST.c.rank)
            .order_by(CONTRAST.c.rank, CONTRAST.c.id)
        )
        with self.reading() as connection:
            return [ContrastScore(*row) for row in connection.execute(query)]


WHICH_GLASS = Form.WHICH_GLASS.value
_OTHER_FORMS = [form.value for form in Form if form is not Form.WHICH_GLASS]
