"""Years of use in short: any order of answers, undoing, wines taken out, imports, days, restarts.

Beside the program runs a plain model in Python: a list of answers, the pours of each import, the
wines that are out. After every step the two must say the same of what is kept, counted and due.
`STATEFUL_EXAMPLES=200` in the environment runs more of them.
"""

from __future__ import annotations

import io
import os
import shutil
import tempfile
from collections import Counter
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from cards.cellar import Cellar
from cards.tables import Table, load_table
from drills.grading import Grade, Sureness
from drills.memory import MemoryModel
from drills.planner import Why
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.imports import take_back
from drills.service.intake import read_lines, take_in
from drills.service.keeping_safe import back_up_now, keep_safe, restore
from drills.service.showing import Showing
from drills.service.today import today
from drills.service.traces import as_trace
from tests.desks import Watch, right_answer, wrong_answer

# A small table keeps a step short; all are near each other.
WINES = (
    "sauvignon-marlborough",
    "sauvignon-sancerre",
    "gruner-wachau",
    "albarino-rias-baixas",
    "riesling-clare",
)


@cache
def tables() -> tuple[Table, Cellar, Table, Cellar]:
    """The table of these wines, and the same without the last of them."""
    whole = load_table()
    known = [key for key in WINES if key in whole.profiles]
    assert len(known) >= 4
    made: list[Any] = []
    for keys in (known, known[:-1]):
        small = replace(
            whole,
            profiles={key: whole.profiles[key] for key in keys},
            fingerprint=f"{whole.fingerprint}-{len(keys)}",
        )
        made += [small, Cellar(small)]
    return tuple(made)


@dataclass
class Given:
    """One answer as the model knows it."""

    contrast: int
    grade: Grade
    day: int
    counts: bool
    undone: bool = False


class History(RuleBasedStateMachine):
    """The program beside a plain model of it."""

    @initialize()
    def open(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="crosspour-stateful-"))
        self.home = os.environ.get("CROSSPOUR_HOME")
        os.environ["CROSSPOUR_HOME"] = str(self.folder)
        self.watch = Watch()
        self.table, self.cellar, *_ = tables()
        self.given: list[Given] = []
        self.in_drill: list[Given] = []
        self.imports: dict[int, list[tuple[str, str]]] = {}
        self.flights = 0
        self.confused_at: dict[tuple[str, str], int] = {}
        self.answered_at: dict[int, int] = {}
        self.step = 0
        self.saved: tuple[Any, ...] | None = None
        self.showing: Showing | None = None
        self._open()
        self._begin()

    def _open(self) -> None:
        self.desk = Desk(clock=self.watch.clock)
        self.desk.table, self.desk.cellar = self.table, self.cellar

    def _begin(self) -> None:
        self.session = DrillSession(self.desk, 36_000)
        self.in_drill = []
        self.showing = None
        self.edited = False

    def teardown(self) -> None:
        if hasattr(self, "desk"):
            self.desk.close()
            shutil.rmtree(self.folder)
            if self.home is not None:
                os.environ["CROSSPOUR_HOME"] = self.home

    # ---- what a taster does

    @rule(answers=st.lists(st.tuples(st.booleans(), st.sampled_from(list(Sureness))), max_size=8))
    def answer_some(self, answers: list[tuple[bool, Sureness]]) -> None:
        for right, sureness in answers:
            self._answer(right, sureness)

    @rule(right=st.booleans(), sureness=st.sampled_from(list(Sureness)))
    def answer_one(self, right: bool, sureness: Sureness) -> None:
        self._answer(right, sureness)

    def _answer(self, right: bool, sureness: Sureness) -> None:
        self.step += 1
        showing = self.showing or self.session.next()
        self.showing = None
        if showing is None:
            return
        self.watch.go_on(5)
        said = right_answer(showing) if right else wrong_answer(showing)
        reveal = self.session.answer(said, sureness, 5.0)
        contrast = showing.question.contrast.id
        one = Given(contrast, reveal.grade, self.desk.clock.today(), showing.why is not Why.CHECK)
        self.given.append(one)
        self.in_drill.append(one)
        if one.counts:
            self.answered_at[contrast] = self.step

    @rule()
    def look_at_the_next(self) -> None:
        """The next card is shown and not yet answered."""
        if self.showing is None:
            self.showing = self.session.next()

    @rule()
    def make_the_next_ready(self) -> None:
        if self.showing is None:
            self.session.prepare()

    @rule(times=st.integers(1, 3))
    def undo_some(self, times: int) -> None:
        for _ in range(times):
            self._undo()

    def _undo(self) -> None:
        back = self.session.undo()
        if not self.in_drill:
            assert back is None
            return
        one = self.in_drill.pop()
        one.undone = True
        # A card that an edit of the table has ended is not asked again; the next one is.
        if not self.edited:
            assert back is not None
            assert back.question.contrast.id == one.contrast
        self.showing = back
        # Whether it was answered since its confusion is read off the answers that stand.
        self.answered_at.pop(one.contrast, None)
        record = self.desk.repository.contrast(one.contrast)
        assert record is not None
        self.confused_at.pop((record.wine_a, record.wine_b), None)

    @rule(
        pairs=st.lists(
            st.tuples(st.sampled_from(WINES[:4]), st.sampled_from(WINES[:4])), max_size=4
        )
    )
    def take_a_flight_in(self, pairs: list[tuple[str, str]]) -> None:
        self.step += 1
        self.flights += 1
        self.watch.go_on(60)
        names = {key: profile.name for key, profile in self.table.profiles.items()}
        rows = [
            f"{names[called]} > {names[was]} # {self.flights}-{n}"
            for n, (called, was) in enumerate(pairs)
        ]
        if not rows:
            return
        with read_lines(self.desk, io.StringIO("\n".join(rows))) as lines:
            done = take_in(self.desk, lines)
        assert done.pours == len(rows)
        assert done.intake is not None
        self.imports[done.intake] = pairs
        for called, was in pairs:
            if called != was:
                self.confused_at[min(called, was), max(called, was)] = self.step

    @precondition(lambda self: bool(self.imports))
    @rule(data=st.data())
    def take_an_import_back(self, data: st.DataObject) -> None:
        number = data.draw(st.sampled_from(sorted(self.imports)))
        pairs = self.imports.pop(number)
        _, gone = take_back(self.desk, number)
        assert gone == len(pairs)
        for called, was in pairs:
            self.confused_at.pop((min(called, was), max(called, was)), None)

    @rule()
    def take_a_wine_out_or_in_again(self) -> None:
        """As an edit of the own table does: contrasts rest, and come back with their memory."""
        whole, whole_cellar, small, small_cellar = tables()
        now_small = self.table is whole
        self.table, self.cellar = (small, small_cellar) if now_small else (whole, whole_cellar)
        self.desk.table, self.desk.cellar = self.table, self.cellar
        self.desk.__dict__.pop("names", None)
        self.desk._keep_contrasts(self.desk.repository)
        if self.session.table_changed():
            self.in_drill.pop().undone = True
        self.showing = None
        self.edited = True
        self.confused_at.clear()

    @rule(days=st.integers(1, 40))
    def sleep(self, days: int) -> None:
        self.watch.next_morning(days)
        self.session.end()
        self._begin()

    @rule()
    def start_anew(self) -> None:
        """The program is left and opened again."""
        self.desk.close()
        self._open()
        self._begin()

    @rule()
    def back_up(self) -> None:
        back_up_now(self.desk)
        self.saved = (
            [replace(one) for one in self.given],
            {number: list(pairs) for number, pairs in self.imports.items()},
        )
        assert keep_safe(self.desk) is None

    @precondition(lambda self: self.saved is not None)
    @rule()
    def go_back_to_the_backup(self) -> None:
        restore(self.desk)
        assert self.saved is not None
        given, imports = self.saved
        self.given = [replace(one) for one in given]
        self.imports = {number: list(pairs) for number, pairs in imports.items()}
        self.confused_at.clear()
        self._open()
        self._begin()

    # ---- what must hold

    @invariant()
    def no_answer_is_lost(self) -> None:
        if not hasattr(self, "desk"):
            return
        repository, me = self.desk.repository, self.desk.taster.id
        kept = [
            (row.contrast_id, row.grade, row.day, row.counts, row.undone_at is not None)
            for drill in reversed(repository.drills(me, limit=10_000))
            for row in repository.answers_of_drill(drill.id)
        ]
        told = [(o.contrast, int(o.grade), o.day, o.counts, o.undone) for o in self.given]
        assert kept == told

    @invariant()
    def memory_is_what_the_answers_leave(self) -> None:
        if not hasattr(self, "desk"):
            return
        model, repository, me = MemoryModel(), self.desk.repository, self.desk.taster.id
        history: dict[int, list[tuple[Grade, int]]] = {}
        for one in self.given:
            if one.counts and not one.undone:
                history.setdefault(one.contrast, []).append((one.grade, one.day))
        due, day = 0, self.desk.clock.today()
        in_use = {row.contrast.id for row in repository.memories(me)}
        for contrast, answers in history.items():
            trace = model.replay(answers)
            assert as_trace(repository.memory(me, contrast)) == trace
            assert trace is not None
            due += contrast in in_use and trace.due_day <= day
        assert in_use <= history.keys()
        now = today(self.desk)
        assert now.due == due
        assert now.unseen + len(in_use) == len(repository.plan_rows(me))

    @invariant()
    def tastings_are_those_taken_in(self) -> None:
        if not hasattr(self, "desk"):
            return
        pours = self.desk.repository.pours(self.desk.taster.id)
        kept = Counter((one.draft.called_wine, one.draft.was_wine) for one in pours)
        assert kept == Counter(pair for pairs in self.imports.values() for pair in pairs)

    @invariant()
    def confusions_stand_at_the_head_until_they_are_answered(self) -> None:
        if not hasattr(self, "desk"):
            return
        urgent = self.desk.repository.urgent(self.desk.taster.id, 10_000)
        waiting = {row.contrast.id for row in urgent}
        for pair, confused in self.confused_at.items():
            for row in self.desk.repository.contrasts_of_pair(*pair):
                answered = self.answered_at.get(row.id)
                if answered is None or answered < confused:
                    assert row.id in waiting
                elif answered > confused:
                    assert row.id not in waiting


TestHistory = History.TestCase
TestHistory.settings = settings(
    max_examples=int(os.environ.get("STATEFUL_EXAMPLES", "5")),
    stateful_step_count=20,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
