"""One drill: which card is next, what an answer does to memory, what to say at the end."""

from __future__ import annotations

import random
from collections import deque
from collections.abc import Collection, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime

from cards.cues import BOTH_SIDES, SIDE_A, SIDE_B
from cards.errors import NoContrast
from cards.explaining import Explanation, explain
from cards.questions import Form, Question, ask, choose_side
from cards.standing import still_right
from drills.errors import DrillsError
from drills.grading import Grade, Sureness, dangerous, grade_of
from drills.planner import APART, Waiting, Why
from drills.service.choosing import FORMS, Choice
from drills.service.desk import Desk, as_contrast
from drills.service.resuming import Kind
from drills.service.showing import Glass, Reveal, Showing, Slip, Summary, given_words
from drills.service.traces import as_record, as_trace
from drills.storage.records import AnswerRecord, MemoryRecord

__all__ = ["DrillSession", "Glass", "Reveal", "Showing", "Slip", "Summary"]

# A slipped card comes back once, after so many others.
CHECK_AFTER = 6
FORECAST_DAYS = 7
# What one key adds to a drill.
MORE_SECONDS = 120.0


@dataclass(frozen=True, slots=True)
class _Done:
    """An answer given in this drill, kept to be undone."""

    answer_id: int
    showing: Showing
    reveal: Reveal
    before: MemoryRecord | None
    counted: bool
    at: datetime


@dataclass(frozen=True, slots=True)
class _Check:
    """A contrast that slipped: it comes back after so many answers of the drill.

    `question` is the card that slipped, None where that was in an earlier drill.
    """

    after: int
    contrast_id: int
    question: Question | None = None


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
        checks: Sequence[int] = (),
        shown: Collection[int] = (),
        background: bool = False,
    ) -> None:
        """Begin a drill of what waits, or of the pairs that are asked for (their order counts).

        `style` keeps to pairs of two wines of one style, `sure_slips` to what was last answered
        wrongly and surely. Where it goes on with another drill, `checks` are the contrasts that
        slipped there and `shown` all that it showed. `background` is for a screen, see `Choice`.
        """
        self.desk = desk
        self.seconds = seconds
        kind = Kind((pair,) if pair is not None else tuple(pairs), style, sure_slips)
        self.pairs = kind.pairs
        self._repository = desk.repository
        self._taster = desk.taster.id
        self._began = desk.clock.stopwatch()
        drill = self._repository.start_drill(self._taster, round(seconds), kind.note)
        self.drill_id, self._began_at = drill.id, drill.began_at
        # A drill's own number seeds it: the same drill always draws the same sides.
        self._rng = random.Random(self.drill_id)
        told = self._repository.last_side_counts(self._taster)
        self._told = {SIDE_A: told.a, SIDE_B: told.b}
        self._stood = {"left": told.left, "right": told.right}
        self._earlier: dict[Form, list[float]] = {}
        self._choice = Choice(desk, kind, shown, background=background)
        self._checks = deque(
            _Check(CHECK_AFTER + place, contrast_id) for place, contrast_id in enumerate(checks)
        )
        self._done: list[_Done] = []
        # Answers whose card an edit of the table has ended: undone, they are not asked again.
        self._ended_cards: set[int] = set()
        self._explained: tuple[Showing, Explanation] | None = None
        self._read: tuple[Showing, MemoryRecord | None] | None = None
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

    @property
    def waiting(self) -> int:
        """Answers that wait on this machine, while the server of a group is away."""
        return self._repository.waiting

    # ---- cards

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
        # Only a drill that is stopped and gone on with would miss it.
        with suppress(DrillsError):
            self._repository.plan_longer(self.drill_id, round(self.seconds))

    def _make_next(self) -> Showing | None:
        waits = self._waits()
        if self._checks and (self._checks[0].after <= len(self._done) or not waits):
            return self._check()
        while self._waits():
            waiting = self._choice.take()
            if (showing := self._show(waiting)) is not None:
                return showing
        return self._check() if self._checks else None

    def _waits(self) -> bool:
        shown = [done.showing.question.contrast.pair for done in self._done[-APART:]]
        return self._choice.waits(self.left, self.seconds, shown)

    def _check(self) -> Showing | None:
        """What slipped, once more."""
        record = self._choice.row(self._checks.popleft().contrast_id).contrast
        return self._show(Waiting(record.id, (record.wine_a, record.wine_b), Why.CHECK))

    def _seconds_of(self, form: Form) -> list[float]:
        if form not in self._earlier:
            self._earlier[form] = self._repository.recent_seconds(self._taster, form.value)
        return self._earlier[form]

    def _show(self, waiting: Waiting) -> Showing | None:
        why = waiting.why
        contrast = as_contrast(self._choice.row(waiting.contrast_id).contrast)
        table = self.desk.table
        if not set(contrast.pair) <= table.profiles.keys():
            return None
        side = choose_side(contrast, self._rng, (self._told[SIDE_A], self._told[SIDE_B]))
        stands_left = self._rng.random() < (self._stood["right"] + 1) / (
            sum(self._stood.values()) + 2
        )
        # The truth stands left when wine A is it and not swapped, or wine B is it and swapped.
        swapped = (side == SIDE_A) != stands_left
        form = Form.WHICH_GLASS
        if self._choice.met(waiting.contrast_id) and why is not Why.CHECK:
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
        left, right = self._glass(question.left), self._glass(question.right)
        return Showing(question, why, left, right, self._choice.reason(waiting))

    def _glass(self, wine: str) -> Glass:
        profile = self.desk.table.profiles[wine]
        return Glass(wine, profile.short, f"{profile.region}, {profile.country}")

    def explanation(self, showing: Showing) -> Explanation:
        """What the reveal of a card will say; asked for ahead, the answer need not wait for it."""
        if self._explained is None or self._explained[0] is not showing:
            self._explained = (showing, explain(self.desk.cellar, showing.question))
        return self._explained[1]

    def read_ahead(self) -> None:
        """Read what an answer to the open card needs, while the taster thinks."""
        if (showing := self._current) is not None:
            self.explanation(showing)
            self._read = (showing, self._memory_of(showing))

    def _memory_of(self, showing: Showing) -> MemoryRecord | None:
        """What is remembered of a card: as it was read since the card was shown, or read now.

        Another drill may answer it meanwhile; what is kept then is right all the same.
        """
        if self._read is not None and self._read[0] is showing:
            return self._read[1]
        return self._repository.memory(self._taster, showing.question.contrast.id)

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
        before = self._memory_of(showing)
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
                given=given_words(question, given),
                correct=correct,
                sureness=int(sureness),
                seconds=seconds,
                grade=int(grade),
                counts=counts,
            ),
            after if counts else None,
        )
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
        earlier.append(seconds)
        since = self._done[-1].at if self._done else self._began_at
        self._choice.timed(question.form, seconds, since, now)
        self._done.append(_Done(answer_id, showing, reveal, before, counts, now))
        if counts:
            self._choice.remember(contrast.id, after)
            if reveal.slipped:
                self._choice.slipped((question.other, question.truth))
                self._checks.append(_Check(len(self._done) + CHECK_AFTER, contrast.id, question))
        self._current = self._read = None
        return reveal

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
        self._earlier.pop(last.showing.question.form, None)
        self._choice.untimed()
        if last.counted:
            self._choice.remember(contrast_id, restored)
            if last.reveal.slipped:
                question = last.showing.question
                self._choice.slipped((question.other, question.truth), -1)
            self._checks = deque(one for one in self._checks if one.contrast_id != contrast_id)
        # A card that was made ready keeps its place behind the one that comes back.
        waiting = self._current or self._prepared
        if waiting is not None:
            contrast = waiting.question.contrast
            if waiting.why is not Why.CHECK:
                self._choice.give_back(Waiting(contrast.id, contrast.pair, waiting.why))
            elif contrast.id != contrast_id:  # the check of a slip that is undone goes with it
                check = _Check(len(self._done), contrast.id, waiting.question)
                self._checks.appendleft(check)
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
            self._choice.unshown(self._prepared.question.contrast.id)
        self._prepared = self._explained = None
        self._choice.start_anew()
        self._ended_cards = {
            done.answer_id for done in self._done if not self._stands(done.showing.question)
        }
        self._checks = deque(
            one for one in self._checks if one.question is None or self._stands(one.question)
        )
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
            self._repository.end_drill(self.drill_id)
            self._ended = True
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
            waiting=self._repository.waiting,
        )

    def _slips(self) -> list[Slip]:
        return [
            Slip(
                truth=self.desk.short(question.truth),
                other=self.desk.short(question.other),
                cues=", ".join(reading.words for reading in question.readings),
                dangerous=done.reveal.dangerous,
            )
            for done in self._done
            if done.counted and done.reveal.slipped
            for question in (done.showing.question,)
        ]
