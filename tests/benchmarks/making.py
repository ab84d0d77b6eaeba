"""A database as ten years of drilling would leave it, made in seconds. Seeded."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from datetime import UTC, date, datetime, time, timedelta
from itertools import islice
from pathlib import Path
from typing import Any

from cards.questions import Form
from drills.clock import Clock
from drills.service.desk import Desk
from drills.storage.columns import ANSWER, DRILL, MEMORY
from drills.storage.records import IntakeDraft, MemoryRecord, PourDraft
from drills.storage.repository import Repository

YEARS = 10
ANSWERS = 400_000
POURS = 2_000
SEEN = 0.95
_POURS_A_FLIGHT = 8
_CONFUSED = 0.3
_DUE = 0.03
_AT_ONCE = 20_000
_EVENING = time(19, 30, tzinfo=UTC)
_UNDONE = 0.002


def make_empty(file: Path) -> None:
    """A database that has the contrasts of the table and nothing else."""
    desk = Desk(str(file))
    _ = desk.taster
    desk.close()


def make_years(
    file: Path, *, answers: int = ANSWERS, pours: int = POURS, years: int = YEARS, seed: int = 1
) -> None:
    """A database of `years` that end yesterday: drills, answers, memories, flights and pours.

    Most contrasts were seen, each first in the order of introduction; a few are due today. The
    memories are plausible, not computed: nothing that is timed asks where they come from.
    """
    rng = random.Random(seed)
    at = [datetime.combine(date.today(), _EVENING)]
    desk = Desk(str(file), Clock(now=lambda: at[0]))
    today = desk.clock.today()
    days = range(today - round(365.25 * years), today)
    contrasts = [(row.id, row.wine_a, row.wine_b) for row in _in_use(desk.repository)]
    taster = desk.taster.id
    _drill(desk.repository, taster, [one[0] for one in contrasts], days, answers, rng)
    _taste(desk, taster, [one[1:] for one in contrasts], days, pours, rng, at)
    desk.close()


def _in_use(repository: Repository) -> list[Any]:
    return [row.contrast for row in repository.unseen(repository.taster().id, 10**6)]


def _drill(
    repository: Repository,
    taster: int,
    contrasts: list[int],
    days: range,
    answers: int,
    rng: random.Random,
) -> None:
    """One drill a day, and what it left in memory."""
    seen = contrasts[: round(SEEN * len(contrasts))]
    shown: list[tuple[int, int]] = []
    for place, contrast in enumerate(seen):
        first = days.start + round(0.9 * len(days) * place / len(seen))
        number = max(1, answers * (place + 1) // len(seen) - len(shown))
        shown += [(day, contrast) for day in rng.choices(range(first, days.stop), k=number)]
    shown.sort()
    last: dict[int, list[int]] = {}
    for day, contrast in shown:
        last.setdefault(contrast, [0, 0])[0] = day
        last[contrast][1] += 1
    drills = [
        {
            "id": number,
            "taster_id": taster,
            "began_at": _moment(day, 0),
            "ended_at": _moment(day, 600),
            "planned_seconds": 600,
            "note": "",
        }
        for number, day in enumerate(days, 1)
    ]
    _insert(repository, DRILL, drills)
    _insert(repository, ANSWER, _answers(shown, taster, days.start, rng))
    memories = (
        asdict(_memory(taster, contrast, day, number, days.stop, rng))
        for contrast, (day, number) in last.items()
    )
    _insert(repository, MEMORY, memories)


def _answers(
    shown: list[tuple[int, int]], taster: int, first_day: int, rng: random.Random
) -> Iterator[dict[str, Any]]:
    forms = (Form.WHICH_GLASS, Form.WHICH_GLASS, Form.WHICH_GLASS, Form.WHICH_CUE)
    for number, (day, contrast) in enumerate(shown):
        correct, truth = rng.random() < 0.85, rng.choice("ab")
        given = truth if correct else "ab".replace(truth, "")
        at = _moment(day, number % 600)
        yield {
            "taster_id": taster,
            "contrast_id": contrast,
            "drill_id": day - first_day + 1,
            "answered_at": at,
            "day": day,
            "form": rng.choice(forms).value,
            "swapped": rng.random() < 0.5,
            "truth": truth,
            "given": given,
            "correct": correct,
            "sureness": rng.randint(1, 3),
            "seconds": round(rng.lognormvariate(1.6, 0.5), 2),
            "grade": rng.choice((2, 3, 3, 4)) if correct else 1,
            "counts": True,
            "undone_at": at if rng.random() < _UNDONE else None,
        }


def _memory(
    taster: int, contrast: int, day: int, answers: int, today: int, rng: random.Random
) -> MemoryRecord:
    # What waits is a small share: a taster of ten years keeps up.
    due = today - rng.randint(0, 5) if rng.random() < _DUE else today + rng.randint(1, 90)
    due = max(due, day)
    return MemoryRecord(
        taster_id=taster,
        contrast_id=contrast,
        stability=float(max(due - day, 1)),
        difficulty=round(rng.uniform(2, 8), 2),
        last_day=day,
        due_day=due,
        answers=answers,
        slips=rng.randint(0, answers // 5),
        last_at=_moment(day, 599),
    )


def _taste(
    desk: Desk,
    taster: int,
    pairs: list[tuple[str, str]],
    days: range,
    pours: int,
    rng: random.Random,
    at: list[datetime],
) -> None:
    """Flights through the repository, each an intake of its own, logged on the day after."""
    flights = pours // _POURS_A_FLIGHT
    for number in range(flights):
        day = days.start + (number + 1) * len(days) // flights - 1
        at[0] = _moment(day, 3600)
        drafts = []
        for position in range(1, _POURS_A_FLIGHT + 1):
            was, other = rng.sample(rng.choice(pairs), 2)
            called = other if rng.random() < _CONFUSED else was
            drafts.append(
                PourDraft(
                    flight=f"flight {number + 1}",
                    tasted_on=date.fromordinal(day),
                    position=position,
                    fingerprint=f"{number}-{position}",
                    called_text=desk.short(called),
                    called_wine=called,
                    was_text=desk.short(was),
                    was_wine=was,
                )
            )
        desk.repository.record_pours(
            taster, IntakeDraft(f"flight {number + 1}", str(number), at[0]), drafts
        )


def _moment(day: int, seconds: int) -> datetime:
    return datetime.combine(date.fromordinal(day), _EVENING) + timedelta(seconds=seconds)


def _insert(repository: Repository, table: Any, rows: Iterable[dict[str, Any]]) -> None:
    left = iter(rows)
    with repository.writing() as connection:
        while part := list(islice(left, _AT_ONCE)):
            connection.execute(table.insert(), part)
