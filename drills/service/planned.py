"""The planner at a taster's desk: every contrast valued, and kept in step with the drill.

Imports numpy, so a drill loads it while its first card is being read.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from datetime import date
from typing import TYPE_CHECKING

from cards.contrasts import ordered_pair
from drills.confusions import CallCount
from drills.planner import Waiting, Why
from drills.planning.arrays import model_of
from drills.planning.curve import curve_of
from drills.planning.importance import Confusions, Pair
from drills.planning.ranking import Ranking
from drills.service.group_counts import confusion_priors, pairs_of_group
from drills.service.slips import slipped_pairs

if TYPE_CHECKING:
    from drills.service.desk import Desk
    from drills.storage.records import MemoryRecord

# Separation is worked out for pairs that were met or confused, and for so many more in the order
# of introduction: 0.15 ms each.
_NEAREST = 300
# So many answers tell a taster's curve; of more, only a share of the contrasts is read. A million
# took five seconds.
_ENOUGH = 50_000
# What rests on a smell that this taster does not perceive comes last, not never.
_UNPERCEIVED = 0.01


class Planned:
    """Every contrast in use with its worth on this study day.

    The taster's own curve is that of the days before, so that a plan depends on nothing but what
    stands in the database: made anew after an answer it is the same as one that took the answer in.
    `log_state` says which pours were known when it was made.
    """

    def __init__(
        self, desk: Desk, *, lost: frozenset[str] = frozenset(), style: str | None = None
    ) -> None:
        """Value everything at a desk, or all pairs of two wines of one style.

        `lost` are cues that the taster does not perceive.
        """
        repository, taster, day = desk.repository, desk.taster.id, desk.clock.today()
        self._desk = desk
        # Read first: what is logged while the rest is read is seen as new.
        self.log_state = repository.log_state(taster)
        self._rows = repository.plan_rows(taster)
        if style is not None:
            of_style = {key for key, one in desk.table.profiles.items() if one.style == style}
            self._rows = [row for row in self._rows if of_style >= {row.wine_a, row.wine_b}]
        self._places = {row.contrast_id: place for place, row in enumerate(self._rows)}
        self._numbers: dict[Pair, int] = {}
        for row in self._rows:
            self._numbers.setdefault((row.wine_a, row.wine_b), len(self._numbers))
        self._pairs = list(self._numbers)
        self._slips = slipped_pairs(desk)
        self._read_calls()
        model = model_of(desk.memory)
        one_in = repository.answers_before(taster, day) // _ENOUGH + 1
        before = [one for one in repository.graded(taster, one_in=one_in) if one[2] < day]
        met = {
            self._numbers[row.wine_a, row.wine_b] for row in self._rows if row.last_day is not None
        }
        first = [
            number
            for number in range(min(_NEAREST, len(self._pairs)))
            if self._known(self._pairs[number])
        ]
        # Further pairs stand behind all that are valued from the start, in their order.
        self._last = min((self._own(number) for number in first), default=1.0)
        self._ranking = Ranking(
            model,
            curve_of(model, before),
            pairs=[self._numbers[row.wine_a, row.wine_b] for row in self._rows],
            stability=[row.stability for row in self._rows],
            difficulty=[row.difficulty for row in self._rows],
            last=[row.last_day for row in self._rows],
            importance=[self._matters(n, met=n in met) for n in range(len(self._pairs))],
            factor=[
                _UNPERCEIVED if lost and not lost.isdisjoint(row.cues.split("+")) else 1.0
                for row in self._rows
            ],
            day=day,
            exam_in=_exam_in(desk, day),
        )

    # ---- what a pair matters

    def _read_calls(self) -> None:
        known = self._desk.table.profiles
        counted = Counter(
            (row.was, row.called, row.tasted_on)
            for row in self._desk.repository.reveals(self._desk.taster.id)
            if row.was in known and row.called in known
        )
        today = date.fromordinal(self._desk.clock.today())
        calls = [CallCount(*call, n) for call, n in counted.items()]
        # Of pairs that others confuse more is known than their place in the order.
        self._of_group = pairs_of_group(self._desk)
        prior = confusion_priors(self._desk, calls) if self._of_group else None
        self._confusions = Confusions(calls, today, prior)
        self._confused = {
            ordered_pair(was, called)
            for was, called, _ in counted
            if called is not None and called != was
        }
        self._apart: dict[int, float] = {}

    def _known(self, pair: Pair) -> bool:
        return self._desk.table.profiles.keys() >= set(pair)

    def _own(self, number: int) -> float:
        """What a pair matters by itself."""
        pair, profiles = self._pairs[number], self._desk.table.profiles
        if number not in self._apart:
            self._apart[number] = self._desk.cellar.separation(*pair)
        weights = self._desk.settings.exam_weights
        weight = sum(weights.get(profiles[wine].style, 1.0) for wine in pair) / 2
        return weight * self._confusions.expected(pair, self._apart[number], self._slips)

    def _matters(self, number: int, *, met: bool) -> float:
        pair = self._pairs[number]
        valued = number < _NEAREST or met or pair in self._confused or pair in self._of_group
        if valued and self._known(pair):
            return self._own(number)
        return self._last / (2 + number)

    # ---- what changes within a drill

    def paced(self, seen: float, unseen: float) -> None:
        """Take a card of a contrast met before, and of one unseen, for so many seconds."""
        self._seconds = {Why.DUE: seen, Why.UNSEEN: unseen}
        self._ranking.paced(seen, unseen)

    def take_in(self, contrast_id: int, memory: MemoryRecord | None) -> None:
        """Take in what an answer has left of a contrast, or what undoing it has brought back."""
        place = self._places.get(contrast_id)
        if place is not None:
            kept = (
                None if memory is None else (memory.stability, memory.difficulty, memory.last_day)
            )
            self._ranking.remember(place, kept)
            self._weigh(self._pair_at(place))

    def slipped(self, call: Pair, times: int = 1) -> None:
        """Take in a slip: what was taken for the answer and what was it; -1 where it is undone."""
        self._slips[call] += times
        self._weigh(ordered_pair(*call))

    def count_slips(self) -> None:
        """Count today's slips again: some may have come while this was being made."""
        before, self._slips = self._slips, slipped_pairs(self._desk)
        calls = before.keys() | self._slips.keys()
        for pair in {ordered_pair(*one) for one in calls if before[one] != self._slips[one]}:
            self._weigh(pair)

    def _weigh(self, pair: Pair) -> None:
        number = self._numbers.get(pair)
        if number is not None:
            self._ranking.weigh(number, self._matters(number, met=self._ranking.met(number)))

    # ---- what comes next

    def waiting(
        self, left_out: Collection[int], limit: int, *, room: float, since: int = 0
    ) -> list[Waiting]:
        """The next contrasts, those of `left_out` not among them.

        `room` is how many cards a drill has time for, `since` how many were handed out since the
        last unseen one.
        """
        out = [self._places[one] for one in left_out if one in self._places]
        found = []
        for place in self._ranking.ahead(limit, room=room, since=since, left_out=out):
            why = Why.DUE if self._ranking.seen[place] else Why.UNSEEN
            row = self._rows[place]
            pair = (row.wine_a, row.wine_b)
            found.append(Waiting(row.contrast_id, pair, why, self._seconds[why]))
        return found

    def reason(self, contrast_id: int) -> str:
        """Why a contrast is worth its seconds, in a few words."""
        place = self._places.get(contrast_id)
        if place is None:
            return ""
        pair = self._pair_at(place)
        nth = self._ranking.nth(self._numbers[pair])
        matters = f"pair {nth} of {len(self._pairs)} by what it may cost you"
        if self._slips[pair] + self._slips[pair[::-1]]:
            matters = f"pair {nth} of {len(self._pairs)}, after a slip today"
        if not self._ranking.seen[place]:
            return matters
        gain = max(self._ranking.gain(place), 0.0)
        return f"recall about {self._ranking.recall(place):.0%}, now to gain {gain:.0%}; {matters}"

    def _pair_at(self, place: int) -> Pair:
        row = self._rows[place]
        return row.wine_a, row.wine_b


def _exam_in(desk: Desk, day: int) -> float | None:
    exam = desk.settings.exam
    return None if exam is None or exam.toordinal() < day else float(exam.toordinal() - day)
