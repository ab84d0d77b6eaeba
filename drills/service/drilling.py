"""One drill: which card is next, what an answer does to memory, what to say at the end."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from contextlib import suppress
from dataclasses import dataclass

from cards.explaining import Explanation, explain
from cards.questions import Form, Question
from cards.standing import still_right
from drills.errors import DrillsError
from drills.grading import Grade, Sureness
from drills.planner import APART, Waiting, Why
from drills.service.checks import Checks
from drills.service.choosing import Choice
from drills.service.desk import Desk, as_contrast
from drills.service.judging import Judged, Said, judge
from drills.service.posing import Posing
from drills.service.resuming import Kind
from drills.service.showing import Reveal, Showing, Slip, Summary
from drills.service.traces import as_record
from drills.storage.records import MemoryRecord

FORECAST_DAYS = 7
# What one key adds to a drill.
MORE_SECONDS = 120.0


@dataclass(frozen=True, slots=True)
class _Kept:
    """An answer of this drill that is in the database."""

    answer_id: int
    judged: Judged

    @property
    def reveal(self) -> Reveal:
        return self.judged.reveal

    @property
    def question(self) -> Question:
        return self.judged.showing.question

    @property
    def counted(self) -> bool:
        return self.judged.record.counts


class DrillSession:
    """Runs one drill. `next()` hands out cards; `answer()` commits before it returns.

    A screen that shows the reveal at once takes `judge()` and then `keep()`; whatever is asked of
    the drill next keeps an answer that was only judged first.
    """

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
        self._posing = Posing(desk, drill.id)
        self._earlier: dict[Form, list[float]] = {}
        self._choice = Choice(desk, kind, shown, background=background)
        self._checks = Checks(checks)
        self._done: list[_Kept] = []
        self._judged: Judged | None = None
        # Whether keeping it was tried: the word that it is kept may have been lost.
        self._tried = False
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
        return len(self._done) + (self._judged is not None)

    @property
    def reveals(self) -> list[Reveal]:
        """The reveals of the answers that stand, in their order."""
        judged = [] if self._judged is None else [self._judged.reveal]
        return [done.reveal for done in self._done] + judged

    @property
    def waiting(self) -> int:
        """Answers that wait on this machine, while the server of a group is away."""
        return self._repository.waiting

    # ---- cards

    def next(self) -> Showing | None:
        """The next card, or None when the time is used up or nothing waits."""
        self.keep()
        if self._done and self.left <= 0:
            return None
        showing = self._prepared or self._make_next()
        self._prepared = None
        self._current = showing
        return showing

    def prepare(self) -> None:
        """Make the next card ready while the taster reads the reveal; none behind an open card."""
        self.keep()
        if self._current or self._prepared or self._ended:
            return
        if not (self._done and self.left <= 0):
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
        if self._checks and (not waits or self._check_is_due()):
            return self._check()
        while self._waits():
            waiting = self._choice.take()
            if (showing := self._show(waiting)) is not None:
                return showing
        return self._check() if self._checks else None

    def _waits(self) -> bool:
        return self._choice.waits(self.left, self.seconds, self._shown_last())

    def _shown_last(self) -> list[tuple[str, str]]:
        return [done.question.contrast.pair for done in self._done[-APART:]]

    def _check_is_due(self) -> bool:
        """Whether the first check comes now: one card later where its pair was shown just before.

        A drill of one pair has nothing to put between.
        """
        due = self._checks.first_due(len(self._done))
        if due is None:
            return False
        record, last = self._choice.row(due).contrast, self._shown_last()
        return last[-1:] != [(record.wine_a, record.wine_b)] or len(set(last)) == 1

    def _check(self) -> Showing | None:
        """What slipped, once more."""
        record = self._choice.row(self._checks.take()).contrast
        return self._show(Waiting(record.id, (record.wine_a, record.wine_b), Why.CHECK))

    def _seconds_of(self, form: Form) -> list[float]:
        if form not in self._earlier:
            self._earlier[form] = self._repository.recent_seconds(self._taster, form.value)
        return self._earlier[form]

    def _show(self, waiting: Waiting) -> Showing | None:
        contrast = as_contrast(self._choice.row(waiting.contrast_id).contrast)
        met, reason = self._choice.met(waiting.contrast_id), self._choice.reason(waiting)
        return self._posing.card(waiting, contrast, met=met, reason=reason)

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
        """Judge and commit an answer to the card that `next()` handed out last.

        `given` is a wine's key for *which glass?*, the number of an option for *which cue?*.

        Raises:
            DrillsError: it cannot be kept; the card is still open.
        """
        reveal = self.judge(given, sureness, seconds)
        try:
            self.keep()
        except DrillsError:
            self._judged = None
            raise
        return reveal

    def judge(self, given: str | int, sureness: Sureness, seconds: float) -> Reveal:
        """What an answer to the open card earns; `keep` commits it, or whatever is asked next."""
        showing = self._current
        if showing is None or self._judged is not None:
            raise ValueError("no card is waiting for an answer")
        self._tried = False
        self._judged = judge(
            self.desk,
            self.drill_id,
            showing,
            Said(given, sureness, seconds),
            self._memory_of(showing),
            self.explanation(showing),
            self._seconds_of(showing.question.form),
        )
        return self._judged.reveal

    @property
    def kept(self) -> bool:
        """Whether every answer is in the database, or waits on disk for its server."""
        return self._judged is None

    def keep(self) -> None:
        """Commit the answer that was judged, if it is not yet.

        Raises:
            DrillsError: it cannot be kept now; the next call tries again.
        """
        judged = self._judged
        if judged is None:
            return
        record, question = judged.record, judged.showing.question
        again, self._tried = self._tried, True
        answer_id = self._repository.record_answer(record, judged.after, again=again)
        # First of all: whatever stops us from here on, it is not kept a second time.
        self._current = self._read = self._judged = None
        since = self._done[-1].judged.record.answered_at if self._done else self._began_at
        self._done.append(_Kept(answer_id, judged))
        self._seconds_of(question.form).append(record.seconds)
        self._choice.timed(question.form, record.seconds, since, record.answered_at)
        if record.counts:
            self._choice.remember(record.contrast_id, judged.after)
            if judged.reveal.slipped:
                self._choice.slipped((question.other, question.truth))
                self._checks.owe(question, len(self._done))

    def undo(self) -> Showing | None:
        """Take the last answer back and hand its card out again; None if there is none."""
        self.keep()
        if not self._done:
            return None
        last = self._done[-1]
        contrast_id = last.question.contrast.id
        restored = self._memory_without(last) if last.counted else last.judged.before
        self._repository.undo_answer(last.answer_id, restored)
        self._done.pop()
        self._earlier.pop(last.question.form, None)
        self._choice.untimed()
        if last.counted:
            self._choice.remember(contrast_id, restored)
            if last.reveal.slipped:
                self._choice.slipped((last.question.other, last.question.truth), -1)
            self._checks.drop(contrast_id)
        # A card that was made ready keeps its place behind the one that comes back.
        waiting = self._current or self._prepared
        if waiting is not None:
            contrast = waiting.question.contrast
            if waiting.why is not Why.CHECK:
                self._choice.give_back(Waiting(contrast.id, contrast.pair, waiting.why))
            elif contrast.id != contrast_id:  # the check of a slip that is undone goes with it
                self._checks.first(waiting.question, len(self._done))
        self._prepared = None
        self._current = last.judged.showing
        if last.answer_id in self._ended_cards:
            self._current = None
            return self.next()
        return self._current

    def _memory_without(self, last: _Kept) -> MemoryRecord | None:
        """Memory follows from the answers that stand, so it is computed from them again."""
        contrast_id = last.question.contrast.id
        kept = [
            answer
            for answer in self._repository.answers_of(self._taster, contrast_id)
            if answer.id != last.answer_id
        ]
        trace = self.desk.memory.replay((Grade(one.grade), one.day) for one in kept)
        if trace is None:
            return None
        return as_record(trace, self._taster, contrast_id, kept[-1].answered_at)

    def table_changed(self) -> bool:
        """Go on with the desk's table after an edit of it.

        The answer just given is taken back where its card no longer stands; returns whether it was.
        Earlier answers stay.
        """
        self.keep()
        known = self.desk.table.profiles.keys()
        self.desk.ensure_pairs([pair for pair in self.pairs if set(pair) <= known])
        if self._prepared is not None:
            self._choice.unshown(self._prepared.question.contrast.id)
        self._prepared = self._explained = None
        self._choice.start_anew()
        self._ended_cards = {
            done.answer_id for done in self._done if not self._stands(done.question)
        }
        self._checks.keep(self._stands)
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
        self.keep()
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
            for question in (done.question,)
        ]
