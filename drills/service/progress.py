"""Progress: recall and its forecast, minutes, sureness, structure calls, confusions, first calls.

`basics` needs no statistics library and is there at once; `progress` is everything.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from cards.contrasts import ordered_pair
from cards.questions import Form
from drills import paths
from drills.grading import Sureness
from drills.planner import USUAL_SECONDS
from drills.planning.pace import Pace, pace_of
from drills.service.desk import Desk
from drills.service.forecast import FIRST_WORTH, USUAL_FIRST, Forecast, forecast, mean_recall
from drills.service.pacing import own_times
from drills.service.picturing import lateral_order
from drills.service.tasting import reading
from drills.service.traces import as_trace
from drills.service.weak import Overview, known_calls, overview_of, pair_ratings
from drills.settings import load_settings, save_settings
from drills.statistics.calibration import Brier, brier, claimed, own_probabilities, stated
from drills.statistics.change import ChangeOfMind, change_of_mind
from drills.statistics.dprime import DPrime, estimate_d_prime
from drills.statistics.rindex import RIndex
from drills.statistics.shares import Estimate, wilson
from drills.statistics.structure import WITHIN, AlcoholCalls, alcohol_calls
from drills.statistics.tallies import together
from drills.storage.counted import CallChange, FormCount, PairRating, TimedAnswer
from drills.storage.records import MemoryRecord
from drills.tastings.reading import LATEST, LevelBias

# Minutes are shown for so many days, and their mean taken over so many of the latest.
SHOWN_DAYS, LATELY_DAYS = 28, 14
# A pause that is longer than this is no part of a drill, seconds.
_LONGEST = 60.0
# A pace is a taster's own from so many answers on.
_PACED = 20
# So many wines fit a picture of confusions.
MOST_WINES = 16
# How often a guess is right, by form: how many options stand on the card.
CHANCES: Mapping[Form, float] = {
    Form.WHICH_GLASS: 1 / 2,
    Form.WHICH_CUE: 1 / 4,
    Form.WHICH_LEVEL: 1 / 5,
    Form.NAME_IT: 1 / 4,
}


@dataclass(frozen=True, slots=True)
class DayWork:
    """What was done on one study day; `minutes` without the longer pauses."""

    day: date
    minutes: float
    answers: int


@dataclass(frozen=True, slots=True)
class Effort:
    """Minutes a day, the oldest first, today last.

    `lately` is their mean over the latest LATELY_DAYS days, days without a drill counting as none;
    `pace` is seconds for a card with all that belongs to it.
    """

    days: tuple[DayWork, ...]
    lately: float
    pace: float


@dataclass(frozen=True, slots=True)
class Basics:
    """What needs no statistics: how much was met, recall of it now (None: nothing), minutes.

    `pace` is what the planner expects of a card of each form.
    """

    today: date
    met: int
    unseen: int
    recall: float | None
    effort: Effort
    pace: Pace


@dataclass(frozen=True, slots=True)
class Word:
    """One word of sureness: what it claims and what came of it, with the 95% interval.

    `own` is what it means when this taster says it.
    """

    sureness: Sureness
    claimed: float
    n: int
    right: int
    observed: Estimate
    own: Estimate


@dataclass(frozen=True, slots=True)
class FormSureness:
    """Sureness against outcome for one form of card.

    `d_prime` makes forms with few and many options comparable: it takes every option for equally
    far from the right one.
    """

    form: Form
    chance: float
    words: tuple[Word, ...]
    brier: Brier
    d_prime: DPrime


@dataclass(frozen=True, slots=True)
class ConfusionTable:
    """Calls of the wines that are confused most, laterals standing together.

    `counts[i][j]` says how often `wines[i]` was called `wines[j]`; `left_out` is how many confused
    wines found no room.
    """

    wines: tuple[str, ...]
    counts: tuple[tuple[int, ...], ...]
    left_out: int


@dataclass(frozen=True, slots=True)
class Progress:
    """Everything on the progress screen; what nothing is known of is None or empty.

    `missing` says in a sentence each what a part waits for.
    """

    basics: Basics
    forecast: Forecast
    sureness: tuple[FormSureness, ...]
    r_index: RIndex | None
    alcohol: AlcoholCalls | None
    structure: tuple[LevelBias, ...]
    confusions: ConfusionTable | None
    both_right: int
    both_wrong: int
    calls: ChangeOfMind | None
    overview: Overview
    missing: tuple[str, ...]


def basics(desk: Desk) -> Basics:
    """How much was met, recall of it today, and minutes a day."""
    return _basics(desk, _memories(desk))


def progress(desk: Desk) -> Progress:
    """All of it."""
    repository, taster = desk.repository, desk.taster.id
    memories = _memories(desk)
    first = _basics(desk, memories)
    ratings, forms = repository.answer_counts(taster)
    calls = known_calls(desk)
    changes = repository.call_changes(taster)
    found = Progress(
        basics=first,
        forecast=_forecast(desk, memories, first),
        sureness=tuple(_sureness(forms)),
        r_index=_r_index(ratings),
        alcohol=_alcohol(desk),
        structure=tuple(one for one in reading(desk).levels if not one.style),
        confusions=confusion_table(
            desk, Counter((call.was, call.called) for call in calls if call.called is not None)
        ),
        both_right=changes.both_right,
        both_wrong=changes.both_wrong,
        calls=_change(changes),
        overview=overview_of(desk, calls, ratings, memories),
        missing=(),
    )
    return _with_missing(found)


def set_plan(desk: Desk, *, minutes: int, exam: date | None) -> None:
    """Keep minutes a day and the exam date in the settings.

    UsageError or NotPossibleError say why they cannot be.
    """
    file = paths.settings_file()
    save_settings(file, minutes=minutes, exam=exam)
    desk.settings = load_settings(file)


Memories = Sequence[tuple[str, str, MemoryRecord]]


def _memories(desk: Desk) -> Memories:
    return desk.repository.pair_memories(desk.taster.id)


def _basics(desk: Desk, memories: Memories) -> Basics:
    today = desk.clock.today()
    repository, taster = desk.repository, desk.taster.id
    first_day = today - SHOWN_DAYS + 1
    traces = [trace for *_, one in memories if (trace := as_trace(one)) is not None]
    return Basics(
        today=date.fromordinal(today),
        met=len(memories),
        unseen=repository.counts(taster, today).unseen,
        recall=mean_recall(desk.memory, traces, today),
        effort=effort(repository.timed_answers(taster, first_day), first_day, today),
        pace=pace_of(own_times(desk)),
    )


def effort(answers: Iterable[TimedAnswer], first_day: int, today: int) -> Effort:
    """Minutes a day from the times of answers: from one to the next, pauses cut to a minute."""
    seconds: defaultdict[int, float] = defaultdict(float)
    numbers: Counter[int] = Counter()
    drill, before = None, None
    for one in answers:
        if one.drill_id != drill:
            drill, before = one.drill_id, one.began_at
        assert before is not None
        seconds[one.day] += min(max((one.answered_at - before).total_seconds(), 0.0), _LONGEST)
        numbers[one.day] += 1
        before = one.answered_at
    days = tuple(
        DayWork(date.fromordinal(day), seconds[day] / 60, numbers[day])
        for day in range(first_day, today + 1)
    )
    total = sum(numbers.values())
    lately = days[-LATELY_DAYS:]
    return Effort(
        days=days,
        lately=sum(one.minutes for one in lately) / len(lately),
        pace=max(sum(seconds.values()) / total, 1.0) if total >= _PACED else USUAL_SECONDS,
    )


def _forecast(desk: Desk, memories: Memories, first: Basics) -> Forecast:
    today = desk.clock.today()
    met, known = desk.repository.first_answers(desk.taster.id, today - SHOWN_DAYS + 1)
    traces = [trace for *_, one in memories if (trace := as_trace(one)) is not None]
    return forecast(
        desk.memory,
        traces,
        first.unseen,
        today=today,
        exam=desk.settings.exam,
        minutes=desk.settings.minutes,
        pace=first.effort.pace,
        first_known=(FIRST_WORTH * USUAL_FIRST + known) / (FIRST_WORTH + met),
    )


def _sureness(forms: Iterable[FormCount]) -> Iterable[FormSureness]:
    counts: defaultdict[Form, dict[Sureness, list[int]]] = defaultdict(
        lambda: {word: [0, 0] for word in Sureness}
    )
    for one in forms:
        cell = counts[Form(one.form)][Sureness(one.sureness)]
        cell[0] += one.times
        cell[1] += one.times if one.correct else 0
    for form in Form:
        if form not in counts:
            continue
        chance = CHANCES[form]
        given = {word: (n, right) for word, (n, right) in counts[form].items() if n}
        own = own_probabilities(given, chance)
        yield FormSureness(
            form,
            chance,
            tuple(
                Word(word, claimed(word, chance), n, right, wilson(right, n), own[word])
                for word, (n, right) in given.items()
            ),
            brier(stated(given, chance)),
            estimate_d_prime(
                sum(right for _, right in given.values()),
                sum(n for n, _ in given.values()),
                round(1 / chance),
            ),
        )


def _r_index(ratings: Iterable[PairRating]) -> RIndex | None:
    tallied = pair_ratings(ratings)
    return together(tallied.values()).r_index() if tallied else None


def _alcohol(desk: Desk) -> AlcoholCalls | None:
    n, total, squares, within = 0, 0.0, 0.0, 0
    for one in desk.repository.alcohol_counts(desk.taster.id, LATEST):
        # In hundredths, since 16.1 - 15.6 is a hair more than a half in binary.
        off = round(100 * (one.called - one.label)) / 100
        n += one.times
        total += one.times * off
        squares += one.times * off * off
        within += one.times if abs(off) <= WITHIN else 0
    return alcohol_calls(n, total, squares, within) if n else None


def _change(changes: CallChange) -> ChangeOfMind | None:
    parts = (changes.both_right, changes.lost, changes.gained, changes.both_wrong)
    return change_of_mind(*parts) if sum(parts) else None


def confusion_table(
    desk: Desk, calls: Mapping[tuple[str, str], int], most: int = MOST_WINES
) -> ConfusionTable | None:
    """The calls of the wines that are confused most, from counts by (was, called).

    None where nothing was confused. Wines are taken pair by pair, the most frequent first, so that
    a wine never stands there without one that it is taken for.
    """
    pairs: Counter[tuple[str, str]] = Counter()
    for (was, called), times in calls.items():
        if was != called:
            pairs[ordered_pair(was, called)] += times
    if not pairs:
        return None
    chosen: set[str] = set()
    for pair, _ in sorted(pairs.items(), key=lambda item: (-item[1], item[0])):
        if len(chosen | set(pair)) <= most:
            chosen |= set(pair)
    row = lateral_order(sorted(chosen), desk.cellar.separation)
    confused = {wine for pair in pairs for wine in pair}
    return ConfusionTable(
        tuple(row),
        tuple(tuple(calls.get((was, called), 0) for called in row) for was in row),
        len(confused) - len(chosen),
    )


def _with_missing(found: Progress) -> Progress:
    missing = []
    if not found.basics.met:
        missing.append("No card is answered yet: after the first drill recall stands here.")
    if not found.sureness:
        missing.append("Sureness needs answers: none is given yet.")
    if found.alcohol is None:
        missing.append(
            "Alcohol calls need notes with a reading and what the label says: none is kept yet."
        )
    if not found.structure:
        missing.append("Structure calls need full notes of revealed pours: none is kept yet.")
    if found.confusions is None:
        missing.append("No confusion is logged yet.")
    if found.calls is None:
        missing.append(
            "First calls are compared once pours with a first and a final call are kept."
        )
    values: dict[str, Any] = {name: getattr(found, name) for name in found.__slots__}
    return Progress(**values | {"missing": tuple(missing)})
