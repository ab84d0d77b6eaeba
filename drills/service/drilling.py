"""One drill: which card is next, what an answer does to memory, what to say at the end."""

from __future__ import annotations

import random
from collections import deque
from concurrent.futures import Future
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from statistics import median
from threading import Thread
from typing import TYPE_CHECKING

from cards.cues import BOTH_SIDES, SIDE_A, SIDE_B
from cards.errors import NoContrast
from cards.explaining import Explanation, explain
from cards.questions import Form, Question, ask, choose_side
from cards.standing import still_right
from drills.grading import Grade, Sureness, dangerous, grade_of
from drills.memory import Trace
from drills.planner import APART, USUAL_SECONDS, Waiting, Why, interleave, plan
from drills.service.desk import Desk, as_contrast
from drills.service.senses import not_smelt
from drills.storage.records import AnswerRecord, MemoryRecord, QueueRow

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from drills.service.planned import Planned

# A slipped card comes back once, after so many others.
CHECK_AFTER = 6
# How often each form is asked of a contrast met before; the first time it is always the glass.
FORMS = {
    Form.WHICH_GLASS: 0.55,
    Form.WHICH_CUE: 0.2,
    Form.WHICH_LEVEL: 0.15,
    Form.NAME_IT: 0.1,
}
_MOST_CONFUSED, _MOST_DUE, _MOST_UNSEEN = 300, 400, 200
FORECAST_DAYS = 7
# What one key adds to a drill.
MORE_SECONDS = 120.0


@dataclass(frozen=True, slots=True)
class Glass:
    """What stands above a glass."""

    wine: str
    name: str
    place: str


@dataclass(frozen=True, slots=True)
class Showing:
    """A card on the screen; `reason` is why it is worth its time now, where that was weighed."""

    question: Question
    why: Why
    left: Glass
    right: Glass
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Reveal:
    """What an answer earned: right or wrong, why, and when the contrast comes back.

    `back_in` is in days; None for a check, which is not counted.
    """

    showing: Showing
    correct: bool
    near: bool
    sureness: Sureness
    grade: Grade
    dangerous: bool
    explanation: Explanation
    back_in: int | None


@dataclass(frozen=True, slots=True)
class Slip:
    """A card answered wrong: which wine it was, which was said, by which cues."""

    truth: str
    other: str
    cues: str
    dangerous: bool


@dataclass(frozen=True, slots=True)
class Summary:
    """A finished drill.

    `forecast` counts the cards due on each of the next FORECAST_DAYS days, tomorrow first;
    `next_in` is the number of days until the next one is due, None when nothing is waiting.
    """

    answered: int
    right: int
    seconds: float
    slips: tuple[Slip, ...]
    due_left: int
    unseen_left: int
    next_in: int | None
    forecast: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Done:
    """An answer given in this drill, kept to be undone."""

    answer_id: int
    showing: Showing
    reveal: Reveal
    before: MemoryRecord | None
    counted: bool


class DrillSession:
    """Runs one drill. `next()` hands out cards, `answer()` commits before it returns."""

    def __init__(
        self,
        desk: Desk,
        seconds: float,
        *,
        pair: tuple[str, str] | None = None,
        pairs: Sequence[tuple[str, str]] = (),
        style: str | None = None,
        sure_slips: bool = False,
        background: bool = False,
    ) -> None:
        """Begin a drill of what waits, or of the pairs that are asked for (their order counts).

        With `background` cards are weighed in a thread of their own, and the plain order serves
        until that is done: years of answers take a moment, and a taster must not wait for it.

        `style` keeps to pairs of two wines of one style, `sure_slips` to what was last answered
        wrongly and surely.
        """
        self.desk = desk
        self.seconds = seconds
        self.pairs = (pair,) if pair is not None else tuple(pairs)
        self.style, self.sure_slips = style, sure_slips
        self._repository = desk.repository
        self._taster = desk.taster.id
        self._began = desk.clock.stopwatch()
        # A drill's own number seeds it: the same drill always draws the same sides.
        self.drill_id = self._repository.start_drill(self._taster, round(seconds)).id
        self._rng = random.Random(self.drill_id)
        told = self._repository.last_side_counts(self._taster)
        self._told = {SIDE_A: told.a, SIDE_B: told.b}
        self._stood = {"left": told.left, "right": told.right}
        self._memory: dict[int, MemoryRecord | None] = {}
        self._pace: dict[Form, list[float]] = {}
        self._rows: dict[int, QueueRow] = {}
        self._queue: deque[Waiting] = deque()
        self._ranking: Planned | None = None
        self._background = background
        self._weighing: Future[Planned] | None = None
        self._checks: deque[tuple[int, Showing]] = deque()
        self._done: list[_Done] = []
        self._shown: set[int] = set()
        # Answers whose card an edit of the table has ended: undone, they are not asked again.
        self._ended_cards: set[int] = set()
        self._explained: tuple[Showing, Explanation] | None = None
        self._prepared: Showing | None = None
        self._current: Showing | None = None
        self._ended = False

    # ---- the clock

    @property
    def spent(self) -> float:
        """Seconds since the drill began."""
        return self.desk.clock.stopwatch() - self._began

    @property
    def left(self) -> float:
        """Seconds left of the planned time, never negative."""
        return max(self.seconds - self.spent, 0.0)

    @property
    def answered(self) -> int:
        """Answers given, checks included, undone ones not."""
        return len(self._done)

    @property
    def reveals(self) -> list[Reveal]:
        """The reveals of the answers that stand, in their order."""
        return [done.reveal for done in self._done]

    # ---- cards

    @cached_property
    def _lost(self) -> frozenset[str]:
        return not_smelt(self.desk)

    def next(self) -> Showing | None:
        """The next card, or None when the time is used up or nothing waits."""
        if self._done and self.left <= 0:
            return None
        showing = self._prepared or self._make_next()
        self._prepared = None
        self._current = showing
        return showing

    def prepare(self) -> None:
        """Make the next card ready while the taster reads the reveal."""
        if self._prepared is None and not (self._done and self.left <= 0):
            self._prepared = self._make_next()

    @property
    def upcoming(self) -> Showing | None:
        """The card that is made ready, where one is."""
        return self._prepared

    def extend(self, seconds: float = MORE_SECONDS) -> None:
        """Go on for so many seconds more, from now where the planned time is used up."""
        self.seconds = max(self.seconds, self.spent) + seconds

    @property
    def _narrow(self) -> bool:
        """Whether only what was asked for is shown, in its own order."""
        return bool(self.pairs) or self.sure_slips

    def _take_over(self) -> None:
        """From the second card on everything is weighed; the first must not wait for that."""
        if self._ranking is not None or self._narrow or not (self._done or self.style):
            return
        # The plain order knows no styles, so a drill of one style waits for the weights.
        if not self._background or self.style:
            self._ranking = self._weighed()
        elif self._weighing is None:
            self._weighing = _in_a_thread(self._weighed)
        elif self._weighing.done():
            # Whatever came of it: the next try begins anew.
            done, self._weighing = self._weighing, None
            self._ranking = done.result()
        if self._ranking is not None:
            self._queue = deque(self._planned())

    def _weighed(self) -> Planned:
        # Loaded here: numpy takes as long as all else that stands before the first card.
        from drills.service.planned import planned

        return planned(self.desk, self._room(), lost=self._lost, style=self.style)

    def _make_next(self) -> Showing | None:
        self._take_over()
        if self._checks and (self._checks[0][0] <= len(self._done) or not self._fill()):
            _, slipped = self._checks.popleft()
            return self._show(slipped.question.contrast.id, Why.CHECK)
        while self._fill():
            waiting = self._queue.popleft()
            self._shown.add(waiting.contrast_id)
            if (showing := self._show(waiting.contrast_id, waiting.why)) is not None:
                return showing
        if self._checks:
            _, slipped = self._checks.popleft()
            return self._show(slipped.question.contrast.id, Why.CHECK)
        return None

    def _fill(self) -> bool:
        """Whether a card is queued, planning again when the queue has run out."""
        if not self._queue:
            self._queue.extend(self._planned())
        return bool(self._queue)

    def _planned(self) -> list[Waiting]:
        repository, taster = self._repository, self._taster
        if self.pairs:
            rows = [
                QueueRow(record, repository.memory(taster, record.id))
                for pair in self.pairs
                for record in repository.contrasts_of_pair(*pair)
            ]
            return interleave(self._waiting(rows, Why.ASKED))
        if self.sure_slips:
            slipped = repository.sure_slips(taster, _MOST_DUE)
            return interleave(self._waiting(slipped, Why.SURE_SLIP))
        if self._ranking is not None:
            return self._ranked(self._ranking)
        today = self.desk.clock.today()
        return plan(
            self._waiting(repository.urgent(taster, _MOST_CONFUSED), Why.CONFUSED),
            self._waiting(repository.due(taster, today, _MOST_DUE), Why.DUE),
            self._waiting(repository.unseen(taster, _MOST_UNSEEN), Why.UNSEEN),
            seconds=max(self.left, USUAL_SECONDS),
            pace=self._usual_pace(),
        )

    def _room(self) -> int:
        """How many cards there is time for."""
        return max(1, round(max(self.left, USUAL_SECONDS) / max(self._usual_pace(), 1.0)))

    def _ranked(self, ranking: Planned) -> list[Waiting]:
        """Confusions first, then by place; values stand for the day, so what is shown just goes."""
        room = self._room()
        last = [done.showing.question.contrast.pair for done in self._done[-APART:]]
        after = [Waiting(0, pair, Why.DUE) for pair in last]
        confused: list[Waiting] = []
        if self.style is None:
            urgent = self._repository.urgent(self._taster, _MOST_CONFUSED)
            confused = interleave(self._waiting(urgent, Why.CONFUSED)[:room], after)
        left_out = self._shown | {one.contrast_id for one in confused}
        rest = ranking.waiting(left_out, room - len(confused))
        return confused + interleave(rest, after + confused)

    def _waiting(self, rows: Sequence[QueueRow], why: Why) -> list[Waiting]:
        waiting = []
        if why is not Why.DUE and (lost := self._lost):
            # What rests on a smell that this taster does not perceive comes last, not never.
            rows = sorted(rows, key=lambda row: not lost.isdisjoint(row.contrast.cues.split("+")))
        for row in rows:
            record = row.contrast
            if record.id not in self._shown:
                self._rows[record.id] = row
                self._memory.setdefault(record.id, row.memory)
                waiting.append(Waiting(record.id, (record.wine_a, record.wine_b), why))
        return waiting

    def _usual_pace(self) -> float:
        seconds = self._seconds_of(Form.WHICH_GLASS)
        return median(seconds) if len(seconds) >= 5 else USUAL_SECONDS

    def _seconds_of(self, form: Form) -> list[float]:
        if form not in self._pace:
            self._pace[form] = list(self._repository.recent_seconds(self._taster, form.value))
        return self._pace[form]

    def _show(self, contrast_id: int, why: Why) -> Showing | None:
        contrast = as_contrast(self._row(contrast_id).contrast)
        table = self.desk.table
        if not set(contrast.pair) <= table.profiles.keys():
            return None
        side = choose_side(contrast, self._rng, (self._told[SIDE_A], self._told[SIDE_B]))
        stands_left = self._rng.random() < (self._stood["right"] + 1) / (
            sum(self._stood.values()) + 2
        )
        # The truth stands left when wine A is it and not swapped, or wine B is it and swapped.
        swapped = (side == SIDE_A) != stands_left
        met = self._memory.get(contrast_id) is not None
        form = Form.WHICH_GLASS
        if met and why is not Why.CHECK:
            form = self._rng.choices(list(FORMS), list(FORMS.values()))[0]
        try:
            question = ask(
                self.desk.cellar, contrast, self._rng, form=form, side=side, swapped=swapped
            )
        except NoContrast:
            return None
        if contrast.sides == BOTH_SIDES:
            self._told[side] += 1
        self._stood["left" if stands_left else "right"] += 1
        told = self._ranking is not None and why in (Why.DUE, Why.UNSEEN)
        reason = self._ranking.reason(contrast_id) if told and self._ranking else ""
        left, right = self._glass(question.left), self._glass(question.right)
        return Showing(question, why, left, right, reason)

    def _row(self, contrast_id: int) -> QueueRow:
        """A contrast with its memory; read again where the table has changed meanwhile."""
        if contrast_id not in self._rows:
            record = self._repository.contrast(contrast_id)
            assert record is not None, "contrasts are retired, never deleted"
            memory = self._repository.memory(self._taster, contrast_id)
            self._memory.setdefault(contrast_id, memory)
            self._rows[contrast_id] = QueueRow(record, memory)
        return self._rows[contrast_id]

    def _glass(self, wine: str) -> Glass:
        profile = self.desk.table.profiles[wine]
        return Glass(wine, profile.short, f"{profile.region}, {profile.country}")

    def explanation(self, showing: Showing) -> Explanation:
        """What the reveal of a card will say; asked for ahead, the answer need not wait for it."""
        if self._explained is None or self._explained[0] is not showing:
            self._explained = (showing, explain(self.desk.cellar, showing.question))
        return self._explained[1]

    # ---- answers

    def answer(self, given: str | int, sureness: Sureness, seconds: float) -> Reveal:
        """Grade and commit an answer to the card that `next()` handed out last.

        `given` is a wine's key for *which glass?*, the number of an option for *which cue?*.
        """
        showing = self._current
        if showing is None:
            raise ValueError("no card is waiting for an answer")
        question = showing.question
        contrast = question.contrast
        distance = question.distance(given)
        correct = distance == 0
        near = question.form is Form.WHICH_LEVEL and distance == 1
        earlier = self._seconds_of(question.form)
        grade = grade_of(correct, sureness, seconds, earlier, near=near)
        counts = showing.why is not Why.CHECK
        now, today = self.desk.clock.now(), self.desk.clock.today()
        # Read again: another drill on the same file may have answered it meanwhile.
        before = self._repository.memory(self._taster, contrast.id)
        after = before
        if counts:
            after = as_record(
                self.desk.memory.after(as_trace(before), grade, today),
                self._taster,
                contrast.id,
                now,
            )
        answer_id = self._repository.record_answer(
            AnswerRecord(
                taster_id=self._taster,
                contrast_id=contrast.id,
                drill_id=self.drill_id,
                answered_at=now,
                day=today,
                form=question.form.value,
                swapped=question.left == contrast.wine_b,
                truth="a" if question.truth == contrast.wine_a else "b",
                given=self._given_words(question, given),
                correct=correct,
                sureness=int(sureness),
                seconds=seconds,
                grade=int(grade),
                counts=counts,
            ),
            after if counts else None,
        )
        self._memory[contrast.id] = after
        reveal = Reveal(
            showing=showing,
            correct=correct,
            near=near,
            sureness=sureness,
            grade=grade,
            dangerous=dangerous(correct or near, sureness),
            explanation=self.explanation(showing),
            back_in=max(after.due_day - today, 0) if counts and after else None,
        )
        self._done.append(_Done(answer_id, showing, reveal, before, counts))
        earlier.append(seconds)
        if counts and not correct and not near:
            self._checks.append((len(self._done) + CHECK_AFTER, showing))
        self._current = None
        return reveal

    @staticmethod
    def _given_words(question: Question, given: str | int) -> str:
        if isinstance(given, int):
            return question.options[given].words
        return "a" if given == question.contrast.wine_a else "b"

    def undo(self) -> Showing | None:
        """Take the last answer back and hand its card out again; None if there is none."""
        if not self._done:
            return None
        last = self._done[-1]
        contrast_id = last.showing.question.contrast.id
        restored = last.before
        if last.counted:
            # Memory follows from the answers that stand, so it is computed from them again.
            kept = [
                answer
                for answer in self._repository.answers_of(self._taster, contrast_id)
                if answer.id != last.answer_id
            ]
            trace = self.desk.memory.replay((Grade(one.grade), one.day) for one in kept)
            restored = None
            if trace is not None:
                restored = as_record(trace, self._taster, contrast_id, kept[-1].answered_at)
        self._repository.undo_answer(last.answer_id, restored)
        self._done.pop()
        self._memory[contrast_id] = restored
        self._pace.pop(last.showing.question.form, None)
        self._checks = deque(
            (place, slipped) for place, slipped in self._checks if slipped is not last.showing
        )
        # A card that was made ready keeps its place behind the one that comes back.
        waiting = self._current or self._prepared
        if waiting is not None:
            contrast = waiting.question.contrast
            if waiting.why is not Why.CHECK:
                self._queue.appendleft(Waiting(contrast.id, contrast.pair, waiting.why))
            elif contrast.id != contrast_id:  # the check of a slip that is undone goes with it
                self._checks.appendleft((len(self._done), waiting))
        self._prepared = None
        self._current = last.showing
        if last.answer_id in self._ended_cards:
            self._current = None
            return self.next()
        return last.showing

    def table_changed(self) -> bool:
        """Go on with the desk's table after an edit of it.

        The answer just given is taken back where its card no longer stands; returns whether it was.
        Earlier answers stay.
        """
        known = self.desk.table.profiles.keys()
        self.desk.ensure_pairs([pair for pair in self.pairs if set(pair) <= known])
        if self._prepared is not None:
            self._shown.discard(self._prepared.question.contrast.id)
        self._prepared = None
        self._queue.clear()
        self._ranking = self._weighing = self._explained = None
        self._rows.clear()
        self._memory.clear()
        self._ended_cards = {
            done.answer_id for done in self._done if not self._stands(done.showing.question)
        }
        self._checks = deque(one for one in self._checks if self._stands(one[1].question))
        if not self._done or self._done[-1].answer_id not in self._ended_cards:
            return False
        self.undo()
        self._prepared, self._current = self._current, None
        return True

    def _stands(self, question: Question) -> bool:
        """Whether a card is still in use, with its cues pointing the same way, and still right."""
        record = self._repository.contrast(question.contrast.id)
        return (
            record is not None
            and record.retired_at is None
            and record.bearing == question.contrast.bearing
            and still_right(self.desk.cellar, question)
        )

    def end(self) -> Summary:
        """Close the drill and say what slipped and what comes next."""
        if not self._ended:
            self._ended = True
            self._repository.end_drill(self.drill_id)
        today = self.desk.clock.today()
        counts = self._repository.counts(self._taster, today)
        next_day = self._repository.next_due_day(self._taster)
        return Summary(
            answered=len(self._done),
            right=sum(done.reveal.correct for done in self._done),
            seconds=self.spent,
            slips=tuple(self._slips()),
            due_left=counts.due,
            unseen_left=counts.unseen,
            next_in=None if next_day is None else max(next_day - today, 0),
            forecast=tuple(self._repository.due_forecast(self._taster, today + 1, FORECAST_DAYS)),
        )

    def _slips(self) -> list[Slip]:
        slips = []
        for done in self._done:
            question = done.showing.question
            if done.counted and not (done.reveal.correct or done.reveal.near):
                slips.append(
                    Slip(
                        truth=self.desk.short(question.truth),
                        other=self.desk.short(question.other),
                        cues=", ".join(reading.words for reading in question.readings),
                        dangerous=done.reveal.dangerous,
                    )
                )
        return slips


def left_over(desk: Desk) -> float:
    """Seconds of answering that today's last drill was stopped short of; 0 for none."""
    latest = desk.repository.drills(desk.taster.id, limit=1)
    if not latest:
        return 0.0
    answers = desk.repository.answers_of_drill(latest[0].id)
    given = [one for one in answers if one.undone_at is None]
    if not given or given[-1].day != desk.clock.today():
        return 0.0
    return max(latest[0].planned_seconds - sum(one.seconds for one in given), 0.0)


def _in_a_thread(work: Callable[[], Planned]) -> Future[Planned]:
    """Do something beside the screen; a program that is left does not wait for it."""
    future: Future[Planned] = Future()

    def run() -> None:
        try:
            future.set_result(work())
        except Exception as error:  # noqa: BLE001 - handed to whoever asks for the result
            future.set_exception(error)

    Thread(target=run, daemon=True).start()
    return future


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
