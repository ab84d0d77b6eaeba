"""One or two windows on a file, and each step that is taken there told to the plain model."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis.stateful import RuleBasedStateMachine, initialize

from drills import table_cache
from drills.grading import Sureness
from drills.overlay import Overlay
from drills.paths import table_folder
from drills.planner import Why
from drills.service import table_editing
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.showing import Showing
from drills.service.table_editing import dispute
from tests.desks import Watch, right_answer, wrong_answer
from tests.stateful.plain_model import Given, Pair, PlainModel
from tests.stateful.small_tables import Said, write_tables


class Window:
    """A desk with its drill, as one window of a terminal has it."""

    def __init__(self, watch: Watch) -> None:
        self.desk = Desk(clock=watch.clock)
        self.begin()

    def begin(self, pair: Pair | None = None) -> None:
        """Begin a drill, of one pair or of what waits."""
        self.session = DrillSession(self.desk, 36_000, pair=pair)
        self.given: list[Given] = []
        self.showing: Showing | None = None
        self.edited = False


class AtWork(RuleBasedStateMachine):
    """The program with up to two windows, and the model of it; what is done step by step."""

    @initialize()
    def open(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="crosspour-stateful-"))
        self.patch = pytest.MonkeyPatch()
        self.patch.setenv("CROSSPOUR_HOME", str(self.folder / "home"))
        self.versions = write_tables(self.folder)
        self._ship(self.versions[0])
        self.watch = Watch()
        self.model = PlainModel()
        self.said: dict[str, bool] = {}
        self.flights = self.step = 0
        self.confused_at: dict[Pair, int] = {}
        self.answered_at: dict[int, int] = {}
        self.saved: PlainModel | None = None
        self.other: Window | None = None
        self.own = Window(self.watch)
        self.model.follow(self.own.desk.cellar)

    def _ship(self, shipped: Path) -> None:
        self.shipped = shipped
        self.patch.setattr(table_cache, "SHIPPED", shipped)
        self.patch.setattr(table_editing, "overlay", lambda: Overlay(table_folder(), shipped))

    def _reopen(self) -> None:
        self._close_other()
        self.own.desk.close()
        self.own = Window(self.watch)

    def _close_other(self) -> None:
        if self.other is not None:
            self.other.desk.close()
            self.other = None

    def teardown(self) -> None:
        if hasattr(self, "own"):
            self._close_other()
            self.own.desk.close()
        if hasattr(self, "patch"):
            self.patch.undo()
            shutil.rmtree(self.folder)

    def _answer(self, window: Window, right: bool, sureness: Sureness) -> Showing | None:
        self.step += 1
        showing = window.showing or window.session.next()
        window.showing = None
        if showing is None:
            return None
        self.watch.go_on(5)
        said = right_answer(showing) if right else wrong_answer(showing)
        reveal = window.session.answer(said, sureness, 5.0)
        contrast = showing.question.contrast.id
        assert self.model.cards[contrast].in_use
        one = Given(
            window.session.drill_id,
            contrast,
            reveal.grade,
            self.own.desk.clock.today(),
            showing.why is not Why.CHECK,
        )
        self.model.given.append(one)
        window.given.append(one)
        if one.counts:
            self.answered_at[contrast] = self.step
        return showing

    def _undo(self, window: Window) -> None:
        back = window.session.undo()
        if not window.given:
            assert back is None
            return
        one = window.given.pop()
        # A card that an edit of the table has ended is not asked again; the next one is.
        if not window.edited:
            assert back is not None
            assert back.question.contrast.id == one.contrast
        window.showing = back
        self._undone(one)

    def _undone(self, one: Given) -> None:
        one.undone = True
        # Whether it was answered since its confusion is read off the answers that stand.
        self.answered_at.pop(one.contrast, None)
        self.confused_at.pop(self.model.cards[one.contrast].contrast.pair, None)

    def _on(self, wines: tuple[str, ...], cue: str) -> set[int]:
        """The cards ever in use that ask for nothing but one cue, of pairs with these wines."""
        cards = {key: card.contrast for key, card in self.model.cards.items()}
        return {
            key for key, one in cards.items() if one.cues == (cue,) and set(wines) <= set(one.pair)
        }

    def _dispute(self, name: str, sayings: tuple[Said, ...]) -> set[int]:
        """Say something, or take back what was said before; returns what turned."""
        back = self.said.get(name, False)
        self.said[name] = not back
        turned: set[int] = set()
        for wine, cue, says, said in sayings:
            assert dispute(self.own.desk, wine, cue, said if back else says)
            turned |= self._follow()
        return turned

    def _follow(self) -> set[int]:
        """Both windows go on with the table as it is now."""
        turned = self.model.follow(self.own.desk.cellar)
        self._take_in_the_edit(self.own)
        if self.other is not None:
            self.other.desk.reload_table()
            self._take_in_the_edit(self.other)
        self.confused_at.clear()
        return turned

    def _take_in_the_edit(self, window: Window) -> None:
        last = window.given[-1] if window.given else None
        card = self.model.cards[last.contrast] if last else None
        ended = card is not None and (not card.in_use or card.since == len(self.model.given))
        taken_back = window.session.table_changed()
        # Of a card that is in use still the readings that were shown may be wrong now.
        assert taken_back or not ended
        if taken_back:
            self._undone(window.given.pop())
        window.showing = None
        window.edited = True
