"""What recall will be on a day to come, and how many minutes a day it takes: a simulation.

The memory model itself is asked what each answer would leave; whether an answer is right is drawn
with the recall that the model gives it, from a fixed seed. It is a forecast of the model, not of
the taster: it assumes drills on every day, and that what is met anew is kept as it was lately.
"""

from __future__ import annotations

import heapq
import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from drills.grading import Grade
from drills.memory import MemoryModel, Trace
from drills.phrases import count
from drills.planner import UNSEEN_EVERY

# Without an exam date the forecast looks so many days ahead.
USUAL_DAYS = 30
# The curve is worked out for so many days, the first and the last among them.
_POINTS = 11
# At most about so many answers, of at most so many contrasts, are simulated; of more, every
# so-many-th contrast stands for all.
_BUDGET, _SAMPLE = 3000, 1000
# Before a taster's own share is known, so many of the contrasts met first are known at once, worth
# so many answers (our assumptions).
USUAL_FIRST, FIRST_WORTH = 0.5, 20.0
_SEED = 20
# A simulation is no count: from this share on all is within reach.
_NEARLY = 0.99


@dataclass(frozen=True, slots=True)
class ForecastPoint:
    """Mean recall of what was met by a day: if no more is answered, and with daily drills."""

    day: date
    stop: float
    practise: float


@dataclass(frozen=True, slots=True)
class Forecast:
    """What is reachable by `day`, the exam where `is_exam`.

    `points` run from today to that day. With `minutes` a day, `met` of `of` contrasts will have
    been met by then, and the mean recall of those is `recall`. `to_keep` is how many minutes a day
    it takes, on average, to answer all that falls due of what is met already; `for_all` how many
    to meet all others before the day as well, None on the day itself.
    """

    day: date
    is_exam: bool
    minutes: int
    points: tuple[ForecastPoint, ...]
    met: int
    of: int
    recall: float
    to_keep: float
    for_all: float | None
    sentence: str


@dataclass(frozen=True, slots=True)
class _Run:
    """A simulated stretch of drills: recall and contrasts met at each checkpoint, and answers."""

    recalls: tuple[float, ...]
    met: int
    answers: float


def forecast(
    model: MemoryModel,
    traces: Sequence[Trace],
    unseen: int,
    *,
    today: int,
    exam: date | None,
    minutes: int,
    pace: float,
    first_known: float = USUAL_FIRST,
) -> Forecast:
    """Forecast recall from the memories of all contrasts met and the number of those that are not.

    `today` is a study day, `pace` seconds for a card with all that belongs to it, `first_known` the
    share of contrasts that are known the first time they are shown.
    """
    to_come = exam is not None and exam.toordinal() >= today
    last = exam.toordinal() if to_come and exam is not None else today + USUAL_DAYS
    days = last - today
    steps = min(days, _POINTS - 1)
    checkpoints = [today + round(days * step / steps) for step in range(steps + 1)] if days else [
        today
    ]  # fmt: skip

    def run(**plan: float | None) -> _Run:
        return _simulate(model, traces, unseen, checkpoints, first_known, **plan)

    daily = 60 * minutes / pace
    practised = run(cards=daily, new=None)
    stopped = run(cards=0.0, new=0.0)
    kept = run(cards=None, new=0.0)
    everything = run(cards=None, new=unseen / days) if days else None

    def as_minutes(one: _Run) -> float:
        return one.answers * pace / 60 / max(days, 1)

    points = [
        ForecastPoint(date.fromordinal(day), stop, go_on)
        for day, stop, go_on in zip(checkpoints, stopped.recalls, practised.recalls, strict=True)
    ]
    # Today is known and need not be sampled.
    now = mean_recall(model, traces, today) or 0.0
    points[0] = ForecastPoint(points[0].day, now, now)
    found = Forecast(
        day=date.fromordinal(last),
        is_exam=to_come,
        minutes=minutes,
        points=tuple(points),
        met=practised.met,
        of=len(traces) + unseen,
        recall=points[-1].practise,
        to_keep=as_minutes(kept),
        for_all=None if everything is None else as_minutes(everything),
        sentence="",
    )
    past = exam if exam is not None and not to_come else None
    return Forecast(
        **{name: getattr(found, name) for name in found.__slots__ if name != "sentence"},
        sentence=_sentence(found, past, today),
    )


def mean_recall(model: MemoryModel, traces: Sequence[Trace], day: int) -> float | None:
    """The mean probability of knowing what was met, on a study day; None if nothing was.

    What was answered on that very day counts as on the next: moments after a reveal everybody
    knows it, and a drill full of slips would show a recall of 100%.
    """
    if not traces:
        return None
    return sum(model.recall(one, max(day, one.last_day + 1)) for one in traces) / len(traces)


def _simulate(
    model: MemoryModel,
    traces: Sequence[Trace],
    unseen: int,
    checkpoints: Sequence[int],
    first_known: float,
    *,
    cards: float | None,
    new: float | None,
) -> _Run:
    """Answer what falls due, day by day, as the drill's own plan would.

    `cards` is how many a day there is time for, None for as many as there are; `new` how many
    unseen ones are met a day, None for the planner's share of `cards`.
    """
    today, last = checkpoints[0], checkpoints[-1]
    days = last - today
    expected = len(traces) * days / 12 + (unseen if new else 0) * 3
    if cards is not None:
        expected = min(cards * days, expected + unseen * 3)
    every = max(1, math.ceil(expected / _BUDGET), math.ceil(len(traces) / _SAMPLE))
    rng = random.Random(_SEED)
    mine = list(traces[every // 2 :: every])
    left = unseen / every
    due = [(trace.due_day, number) for number, trace in enumerate(mine)]
    heapq.heapify(due)
    recalls, answers = [], 0
    room = fresh = 0.0

    def answer(number: int | None, day: int) -> None:
        trace = None if number is None else mine[number]
        chance = first_known if trace is None else model.recall(trace, day)
        grade = Grade.RECALLED if rng.random() < chance else Grade.NOT_RECALLED
        after = model.after(trace, grade, day)
        if number is None:
            number = len(mine)
            mine.append(after)
        else:
            mine[number] = after
        heapq.heappush(due, (after.due_day, number))

    for day in range(today, last + 1):
        if day in checkpoints:
            known = sum(model.recall(trace, day) for trace in mine)
            recalls.append(known / len(mine) if mine else 0.0)
        # The last day is the exam: it is looked at, not drilled on.
        if day == last:
            break
        room = math.inf if cards is None else room + cards / every
        fresh = min(left, room / UNSEEN_EVERY if new is None else fresh + new / every)
        old_room = room - (fresh if new is None else 0)
        while due and due[0][0] <= day and old_room >= 1:
            answer(heapq.heappop(due)[1], day)
            answers += 1
            old_room -= 1
            room -= 1
        if new is None:
            # What nothing due has used is for unseen ones too.
            fresh = min(left, room)
        while fresh >= 1 and room >= 1:
            answer(None, day)
            answers += 1
            fresh -= 1
            left -= 1
            room -= 1
        if cards is not None:
            room = min(room, 1.0)
    met = min(len(traces) + unseen, round(len(traces) + (unseen - left * every)))
    return _Run(tuple(recalls), met, answers * every)


def _sentence(found: Forecast, past: date | None, today: int) -> str:
    """What is reachable, in plain words."""
    if past is not None:
        begin = f"The exam date {past.isoformat()} is past; looking {USUAL_DAYS} days ahead, "
    elif not found.is_exam:
        begin = f"No exam date is set; looking {USUAL_DAYS} days ahead, "
    else:
        days = found.day.toordinal() - today
        if not days:
            return "The exam is today: rest your nose, and good luck."
        begin = f"{count(days, 'day')} to the exam: "
    daily = count(found.minutes, "minute")
    said = (
        f"{begin}{daily} every day will bring you to about {found.met:,} of {found.of:,} contrasts "
        f"met, recall {found.recall:.0%} of those"
    )
    if found.to_keep > found.minutes * 1.05:
        return (
            f"{said}; what you have met already takes about {found.to_keep:.0f} minutes a day, so "
            "not all of it can be kept."
        )
    if found.for_all is not None and found.met < _NEARLY * found.of:
        return f"{said}; all of them would take about {found.for_all:.0f} minutes a day."
    return f"{said}: all of the table is within reach."
