"""Which contrast a drill shows next: what was asked for, or what is worth its seconds now."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Collection, Sequence
from concurrent.futures import Future
from contextlib import suppress
from datetime import datetime
from functools import cached_property, partial
from threading import Thread
from typing import TYPE_CHECKING

from cards.questions import Form
from drills.errors import ConnectionLost
from drills.planner import APART, USUAL_SECONDS, Waiting, Why, interleave, plan, that_fit
from drills.planning.pace import LATEST, Pace, pace_of
from drills.service.pacing import CardSeconds, own_times, whole_seconds
from drills.service.senses import not_smelt
from drills.storage.records import QueueRow

if TYPE_CHECKING:
    from drills.service.desk import Desk
    from drills.service.planned import Planned
    from drills.service.resuming import Kind
    from drills.storage.records import MemoryRecord

Pair = tuple[str, str]

# How often each form is asked of a contrast met before; the first time it is always the glass.
FORMS = {
    Form.WHICH_GLASS: 0.55,
    Form.WHICH_CUE: 0.2,
    Form.WHICH_LEVEL: 0.15,
    Form.NAME_IT: 0.1,
}
FIRST_FORM = {Form.WHICH_GLASS: 1.0}
_MOST_CONFUSED, _MOST_DUE, _MOST_UNSEEN = 300, 400, 200
# Where the plan is made anew at every card, no more than so many are put in order.
_IN_VIEW = 60


class Choice:
    """Hands out contrasts for one drill; `remember` keeps it in step with the answers.

    Each comes once, those of `shown` not at all.
    With `background` everything is weighed in a thread of its own, and the plain order serves until
    that is done: years of answers take a moment, and a taster must not wait for it.
    """

    def __init__(
        self, desk: Desk, kind: Kind, shown: Collection[int] = (), *, background: bool = False
    ) -> None:
        self._desk, self._kind, self._background = desk, kind, background
        self._repository, self._taster = desk.repository, desk.taster.id
        self._rows: dict[int, QueueRow] = {}
        self._memory: dict[int, MemoryRecord | None] = {}
        self._answered: set[int] = set()
        self._shown: set[int] = set(shown)
        # Cards that were handed out and given back come first, whatever the plan says.
        self._given_back: deque[Waiting] = deque()
        self._queue: deque[Waiting] = deque()
        self._times: deque[CardSeconds] | None = None
        self.planned: Planned | None = None
        self.weighing: Future[Planned] | None = None
        self._urgent: list[Waiting] = []
        self._urgent_state: tuple[object, ...] | None = None
        self._since_unseen = 0
        self._stale = False
        self._untaken: list[Callable[[], None]] = []

    # ---- the next card

    def waits(self, left: float, whole: float, after: Sequence[Pair]) -> bool:
        """Whether a card is there to be taken; plans where the last plan no longer holds.

        `left` seconds are left of `whole`; `after` are the pairs shown last, the latest at the end.
        """
        self.catch_up()
        if self._stale or not self._queue:
            state = self._repository.log_state(self._taster)
            self._take_over(state)
            if self.planned is not None or not self._queue:
                planned = self._plan(max(left, USUAL_SECONDS), whole, after, state)
                self._queue = deque(planned)
            self._stale = False
        return bool(self._given_back or self._queue)

    def take(self) -> Waiting:
        """The card that waits first."""
        waiting = (self._given_back or self._queue).popleft()
        self._shown.add(waiting.contrast_id)
        if self.planned is not None and waiting.why in (Why.DUE, Why.UNSEEN):
            self._since_unseen = 0 if waiting.why is Why.UNSEEN else self._since_unseen + 1
        return waiting

    def give_back(self, waiting: Waiting) -> None:
        """Put a card that was not answered in front again."""
        self._given_back.appendleft(waiting)

    def reason(self, waiting: Waiting) -> str:
        """Why a card is worth its time now, where that was weighed."""
        if self.planned is None or waiting.why not in (Why.DUE, Why.UNSEEN):
            return ""
        return self.planned.reason(waiting.contrast_id)

    def row(self, contrast_id: int) -> QueueRow:
        """A contrast with its memory; read again where the table has changed meanwhile."""
        if contrast_id not in self._rows:
            record = self._repository.contrast(contrast_id)
            assert record is not None, "contrasts are retired, never deleted"
            memory = self._repository.memory(self._taster, contrast_id)
            self._memory.setdefault(contrast_id, memory)
            self._rows[contrast_id] = QueueRow(record, memory)
        return self._rows[contrast_id]

    def met(self, contrast_id: int) -> bool:
        """Whether a contrast was ever answered."""
        self.row(contrast_id)
        return self._memory[contrast_id] is not None

    # ---- what an answer changes

    def remember(self, contrast_id: int, memory: MemoryRecord | None) -> None:
        """Take in the memory that an answer, or taking it back, has left."""
        self._memory[contrast_id] = memory
        self._answered.add(contrast_id)
        if self.planned is not None:
            self._untaken.append(partial(self.planned.take_in, contrast_id, memory))

    def slipped(self, call: Pair, times: int = 1) -> None:
        """Take in a slip: what was taken for the answer and what was it; -1 where it is undone."""
        if self.planned is not None:
            self._untaken.append(partial(self.planned.slipped, call, times))

    def catch_up(self) -> None:
        """Bring the plan up to the answers: with the next card, so that no reveal waits for it."""
        taken, self._untaken = self._untaken, []
        for take in taken:
            take()

    def timed(self, form: Form, seconds: float, before: datetime, at: datetime) -> None:
        """Take in how long a card took: after every answer, for the next plan is made by it."""
        self._stale = True
        if self._times is not None:
            self._times.append((form, whole_seconds(seconds, before, at)))

    def untimed(self) -> None:
        """Count the times anew, since an answer was taken back."""
        self._stale = True
        self._times = None

    def start_anew(self) -> None:
        """Forget every plan: the table has changed."""
        self._queue.clear()
        self._given_back.clear()
        self._rows.clear()
        self._memory.clear()
        self.planned = self.weighing = self._urgent_state = None

    def unshown(self, contrast_id: int) -> None:
        """Let a contrast come again that was handed out and not seen."""
        self._shown.discard(contrast_id)

    # ---- pace

    @property
    def pace(self) -> Pace:
        """The taster's own pace now."""
        if self._times is None:
            self._times = deque(own_times(self._desk), maxlen=LATEST)
        return pace_of(self._times)

    # ---- planning

    @property
    def _narrow(self) -> bool:
        """Whether only what was asked for is shown, in its own order."""
        return bool(self._kind.pairs) or self._kind.sure_slips

    def _take_over(self, state: tuple[object, ...]) -> None:
        """From the second card on everything is weighed; the first must not wait for that.

        It is weighed anew where pours were logged since, as the `state` of the log says.
        """
        if self._narrow or not self._answered:
            return
        if self.planned is not None and self.planned.log_state == state:
            return
        # Where the server of a group is away, the last plan serves until it is back.
        with suppress(ConnectionLost):
            if not self._background:
                self._begin_with(self._weighed())
            elif self.weighing is None:
                self.weighing = _in_a_thread(self._weighed)
            elif self.weighing.done():
                # Whatever came of it: the next try begins anew.
                done, self.weighing = self.weighing, None
                self._begin_with(done.result())

    def _weighed(self) -> Planned:
        # Loaded here: numpy takes as long as all else that stands before the first card.
        from drills.service.planned import Planned

        return Planned(self._desk, lost=self._lost, style=self._kind.style)

    def _begin_with(self, planned: Planned) -> None:
        """Hand cards out by a plan, which may have been made before the latest answers."""
        for contrast_id in self._answered:
            if contrast_id in self._memory:
                planned.take_in(contrast_id, self._memory[contrast_id])
        planned.count_slips()
        self.planned = planned

    @cached_property
    def _lost(self) -> frozenset[str]:
        return not_smelt(self._desk)

    @cached_property
    def _among(self) -> frozenset[str] | None:
        if self._kind.style is None:
            return None
        profiles = self._desk.table.profiles
        return frozenset(key for key, one in profiles.items() if one.style == self._kind.style)

    def _plan(
        self, left: float, whole: float, after: Sequence[Pair], state: tuple[object, ...]
    ) -> list[Waiting]:
        repository, taster = self._repository, self._taster
        if self._kind.pairs:
            rows = [
                QueueRow(record, repository.memory(taster, record.id))
                for pair in self._kind.pairs
                for record in repository.contrasts_of_pair(*pair)
            ]
            return interleave(self._waiting(rows, Why.ASKED))
        if self._kind.sure_slips:
            slipped = repository.sure_slips(taster, _MOST_DUE)
            return interleave(self._waiting(slipped, Why.SURE_SLIP))
        if self.planned is not None:
            self._look_for_confusions(state)
            return self._ranked(self.planned, left, whole, after)
        today, among = self._desk.clock.today(), self._among
        return plan(
            self._waiting(repository.urgent(taster, _MOST_CONFUSED, among), Why.CONFUSED),
            self._waiting(repository.due(taster, today, _MOST_DUE, among), Why.DUE),
            self._waiting(repository.unseen(taster, _MOST_UNSEEN, among), Why.UNSEEN),
            seconds=left,
        )

    def _look_for_confusions(self, state: tuple[object, ...]) -> None:
        """Read again what was confused in the glass, where pours were logged since."""
        if state != self._urgent_state:
            rows = self._repository.urgent(self._taster, _MOST_CONFUSED, self._among)
            self._urgent, self._urgent_state = self._waiting(rows, Why.CONFUSED), state

    def _ranked(
        self, planned: Planned, left: float, whole: float, after: Sequence[Pair]
    ) -> list[Waiting]:
        """Confusions first, then by worth; only what is in view is put in order."""
        pace = self.pace
        seen = pace.over(FORMS)
        planned.paced(seen, pace.over(FIRST_FORM))
        shown = [Waiting(0, pair, Why.DUE) for pair in after[-APART:]]
        confused = that_fit(
            [one for one in self._urgent if one.contrast_id not in self._shown], left
        )[:_IN_VIEW]
        left -= sum(one.seconds for one in confused)
        first = interleave(confused, shown)
        out = self._shown | {one.contrast_id for one in confused}
        rest: list[Waiting] = []
        if left > 0 and len(confused) < _IN_VIEW:
            rest = planned.waiting(
                out, _IN_VIEW - len(confused), room=whole / seen, since=self._since_unseen
            )
            # Put apart before it is cut: the last card too has another pair before it.
            rest = that_fit(interleave(rest, shown + first), left)
        return first + rest

    def _waiting(self, rows: Sequence[QueueRow], why: Why) -> list[Waiting]:
        waiting = []
        if why is not Why.DUE and (lost := self._lost):
            # What rests on a smell that this taster does not perceive comes last, not never.
            rows = sorted(rows, key=lambda row: not lost.isdisjoint(row.contrast.cues.split("+")))
        pace = self.pace
        met, unseen = pace.over(FORMS), pace.over(FIRST_FORM)
        for row in rows:
            record = row.contrast
            if record.id not in self._shown:
                self._rows[record.id] = row
                self._memory.setdefault(record.id, row.memory)
                takes = unseen if row.memory is None else met
                waiting.append(Waiting(record.id, (record.wine_a, record.wine_b), why, takes))
        return waiting


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
