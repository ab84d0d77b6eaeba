"""Years of use in short: any order of answers, undoing, disputes, imports, days, restarts.

Beside the program runs a plain model of it (plain_model.py): the answers, the pours of each import,
the cards in use and from when on their answers count. After every step the two must say the same of
what is kept, remembered, counted and due. The rules:

- answer, several or one; look at a card without answering; make the next ready; take answers back;
- leave a drill with a card open; drill one pair to its end, while an edit gives a card back that
  was made ready;
- dispute a fact: so that an answer turns, so that only weights change, so that a cue falls; and
  come back to what was said before. These write the taster's own folder, as the screen does;
- another version of the program without a wine, or with it again;
- answer at a second desk on the same file, and take back there;
- take a flight in, take an import back; sleep; start anew; back up, and go back to the backup.

A second desk that was open while the table was edited takes the edit in before it goes on.
CROSSPOUR_EXAMPLES=20 in the environment runs twenty times as many of them.
"""

from __future__ import annotations

import io
from collections import Counter

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import invariant, precondition, rule

from drills.grading import Sureness
from drills.memory import MemoryModel
from drills.planner import Why
from drills.service.imports import take_back
from drills.service.intake import read_lines, take_in
from drills.service.keeping_safe import back_up_now, keep_safe, restore
from drills.service.today import today
from drills.service.traces import as_trace
from tests.examples import examples
from tests.stateful.at_work import AtWork, Window
from tests.stateful.plain_model import Pair
from tests.stateful.small_tables import (
    ALWAYS,
    FALLS,
    GRUNER,
    MARLBOROUGH,
    SANCERRE,
    TURNS,
    WEIGHS,
)

SURENESS = st.sampled_from(list(Sureness))
PAIRS = [(one, other) for one in ALWAYS for other in ALWAYS if one < other]


class History(AtWork):
    """The program beside a plain model of it."""

    # ---- what a taster does

    @rule(answers=st.lists(st.tuples(st.booleans(), SURENESS), max_size=8))
    def answer_some(self, answers: list[tuple[bool, Sureness]]) -> None:
        for right, sureness in answers:
            self._answer(self.own, right, sureness)

    @rule(right=st.booleans(), sureness=SURENESS)
    def answer_one(self, right: bool, sureness: Sureness) -> None:
        self._answer(self.own, right, sureness)

    @rule()
    def look_at_the_next(self) -> None:
        """The next card is shown and not yet answered."""
        if self.own.showing is None:
            self.own.showing = self.own.session.next()

    @rule()
    def make_the_next_ready(self) -> None:
        if self.own.showing is None:
            self.own.session.prepare()

    @rule()
    def leave_a_card_unanswered(self) -> None:
        """A drill is finished with a card open: the card waits as it did before."""
        showing = self.own.showing or self.own.session.next()
        answered = len(self.own.given) - sum(one.undone for one in self.own.given)
        assert self.own.session.end().answered == answered
        self.own.begin()
        if showing is not None:
            rows = self.own.desk.repository.plan_rows(self.own.desk.taster.id)
            assert showing.question.contrast.id in {row.contrast_id for row in rows}

    @rule(pair=st.sampled_from(PAIRS), right=st.booleans())
    def drill_a_pair_to_its_end(self, pair: Pair, right: bool) -> None:
        """A card that an edit gives back while it is made ready is asked all the same, once."""
        self.own.session.end()
        self.own.begin(pair)
        asked = [self._answer(self.own, right, Sureness.SURE)]
        self.own.session.prepare()
        ready = self.own.session.upcoming
        self._dispute("weighs", WEIGHS)
        while asked[-1] is not None:
            asked.append(self._answer(self.own, True, Sureness.SURE))
        shown = Counter(
            one.question.contrast.id for one in asked if one and one.why is not Why.CHECK
        )
        if ready is not None and ready.why is not Why.CHECK:
            contrast = ready.question.contrast.id
            assert shown[contrast] == self.model.cards[contrast].in_use
        assert max(shown.values(), default=0) <= 1
        assert {self.model.cards[key].contrast.pair for key in shown} <= {pair}
        self.own.session.end()
        self.own.begin()

    @rule(times=st.integers(1, 3))
    def undo_some(self, times: int) -> None:
        for _ in range(times):
            self._undo(self.own)

    # ---- the table

    @rule()
    def dispute_so_that_an_answer_turns(self) -> None:
        """What was learnt of it is wrong: memory starts again, or rests with a card not asked."""
        on_flint = self._on((MARLBOROUGH, SANCERRE), "flint")
        learnt = self.model.traces(MemoryModel()).keys() & on_flint
        turned = self._dispute("turns", TURNS)
        assert learnt & self.model.in_use <= turned
        for key in turned:
            record = self.own.desk.repository.contrast(key)
            assert record is not None
            assert record.turned_at is not None
            assert self.own.desk.repository.memory(self.own.desk.taster.id, key) is None

    @rule()
    def dispute_so_that_only_weights_change(self) -> None:
        """What was learnt stays in use, but for what stood on the weight that is taken back."""
        learnt = self.model.traces(MemoryModel()).keys() & self.model.in_use
        said = self.said.get("weighs", False)
        # What rested may come back to a table in which its answer had turned.
        assert not learnt & self._dispute("weighs", WEIGHS)
        for key in learnt - self.model.in_use:
            assert said
            assert "chalk" in self.model.cards[key].contrast.cues

    @rule()
    def dispute_so_that_a_cue_falls(self) -> None:
        """What asked for the cue rests, and comes back with its memory where the cue does."""
        rests = not self.said.get("falls", False)
        repository, me = self.own.desk.repository, self.own.desk.taster.id
        before = {key: repository.memory(me, key) for key in self._on((GRUNER,), "white-pepper")}
        self._dispute("falls", FALLS)
        undone = {one.contrast for one in self.model.given if one.undone}
        for key, memory in before.items():
            record = repository.contrast(key)
            assert record is not None
            assert not (rests and record.retired_at is None)
            assert key in undone or repository.memory(me, key) == memory
        if not rests:
            chosen = {one.id for one in self.own.desk.cellar.all_contrasts()}
            assert before.keys() & chosen <= self.model.in_use

    @rule()
    def take_a_wine_out_or_in_again(self) -> None:
        """As another version of the program does: cards rest, and come back with their memory."""
        whole, small = self.versions
        self._ship(small if self.shipped == whole else whole)
        self.own.desk.reload_table()
        self._follow()

    # ---- a second window

    @rule(answers=st.lists(st.tuples(st.booleans(), SURENESS), min_size=1, max_size=4))
    def answer_at_a_second_desk(self, answers: list[tuple[bool, Sureness]]) -> None:
        if self.other is None:
            self.other = Window(self.watch)
        for right, sureness in answers:
            self._answer(self.other, right, sureness)

    @precondition(lambda self: self.other is not None)
    @rule()
    def undo_at_the_second_desk(self) -> None:
        assert self.other is not None
        self._undo(self.other)

    # ---- tastings

    @rule(
        pairs=st.lists(
            st.tuples(st.sampled_from(ALWAYS), st.sampled_from(ALWAYS)), min_size=1, max_size=4
        )
    )
    def take_a_flight_in(self, pairs: list[Pair]) -> None:
        self.step += 1
        self.flights += 1
        self.watch.go_on(60)
        desk = self.own.desk
        names = {key: profile.name for key, profile in desk.table.profiles.items()}
        rows = [
            f"{names[called]} > {names[was]} # {self.flights}-{n}"
            for n, (called, was) in enumerate(pairs)
        ]
        with read_lines(desk, io.StringIO("\n".join(rows))) as lines:
            done = take_in(desk, lines)
        assert done.pours == len(rows)
        assert done.intake is not None
        self.model.imports[done.intake] = pairs
        for called, was in pairs:
            if called != was:
                self.confused_at[min(called, was), max(called, was)] = self.step

    @precondition(lambda self: bool(self.model.imports))
    @rule(data=st.data())
    def take_an_import_back(self, data: st.DataObject) -> None:
        number = data.draw(st.sampled_from(sorted(self.model.imports)))
        pairs = self.model.imports.pop(number)
        _, gone = take_back(self.own.desk, number)
        assert gone == len(pairs)
        for called, was in pairs:
            self.confused_at.pop((min(called, was), max(called, was)), None)

    # ---- time, and the file

    @rule(days=st.integers(1, 40))
    def sleep(self, days: int) -> None:
        self._close_other()
        self.watch.next_morning(days)
        self.own.session.end()
        self.own.begin()

    @rule()
    def start_anew(self) -> None:
        """The program is left and opened again."""
        self._reopen()

    @rule()
    def back_up(self) -> None:
        back_up_now(self.own.desk)
        self.saved = self.model.copy()
        assert keep_safe(self.own.desk) is None

    @precondition(lambda self: self.saved is not None)
    @rule()
    def go_back_to_the_backup(self) -> None:
        """The own folder is in no backup: the cards follow the table as it is now."""
        self._close_other()
        restore(self.own.desk)
        assert self.saved is not None
        self.model = self.saved.copy()
        self.confused_at.clear()
        self.own = Window(self.watch)
        self.model.follow(self.own.desk.cellar)

    # ---- what must hold

    @invariant()
    def no_answer_is_lost(self) -> None:
        if not hasattr(self, "own"):
            return
        repository, me = self.own.desk.repository, self.own.desk.taster.id
        kept = [
            (one.drill_id, one.contrast_id, one.grade, one.day, one.counts, bool(one.undone_at))
            for drill in reversed(repository.drills(me, limit=10_000))
            for one in repository.answers_of_drill(drill.id)
        ]
        told = [
            (one.drill, one.contrast, int(one.grade), one.day, one.counts, one.undone)
            for one in sorted(self.model.given, key=lambda one: one.drill)
        ]
        assert kept == told

    @invariant()
    def memory_is_what_the_answers_leave(self) -> None:
        if not hasattr(self, "own"):
            return
        repository, me = self.own.desk.repository, self.own.desk.taster.id
        traces = self.model.traces(MemoryModel())
        for contrast in {one.contrast for one in self.model.given}:
            assert as_trace(repository.memory(me, contrast)) == traces.get(contrast)
        in_use, day = self.model.in_use, self.own.desk.clock.today()
        assert {row.contrast_id for row in repository.plan_rows(me)} == in_use
        assert {row.contrast.id for row in repository.memories(me)} == traces.keys() & in_use
        now = today(self.own.desk)
        assert now.due == sum(traces[key].due_day <= day for key in traces.keys() & in_use)
        assert now.unseen == len(in_use - traces.keys())

    @invariant()
    def tastings_are_those_taken_in(self) -> None:
        if not hasattr(self, "own"):
            return
        pours = self.own.desk.repository.pours(self.own.desk.taster.id)
        kept = Counter((one.draft.called_wine, one.draft.was_wine) for one in pours)
        assert kept == Counter(pair for pairs in self.model.imports.values() for pair in pairs)

    @invariant()
    def confusions_stand_at_the_head_until_they_are_answered(self) -> None:
        if not hasattr(self, "own"):
            return
        repository = self.own.desk.repository
        urgent = repository.urgent(self.own.desk.taster.id, 10_000)
        waiting = {row.contrast.id for row in urgent}
        for pair, confused in self.confused_at.items():
            for row in repository.contrasts_of_pair(*pair):
                answered = self.answered_at.get(row.id)
                if answered is None or answered < confused:
                    assert row.id in waiting
                elif answered > confused:
                    assert row.id not in waiting


TestHistory = History.TestCase
TestHistory.settings = settings(
    max_examples=examples(6),
    stateful_step_count=20,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
