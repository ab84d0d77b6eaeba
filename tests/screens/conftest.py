"""A desk that reads its own files, and drills that ask in one form."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cards.questions import Form
from drills.screens.drill import DrillScreen
from drills.service import posing
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from tests.desks import Watch, answer_all, versatile
from tests.screens.answering import AskOnly, in_form


@pytest.fixture
def own_desk(home: Path, watch: Watch) -> Desk:
    """A desk that reads its table from the files, as the program does."""
    assert home.is_dir()
    return Desk(clock=watch.clock)


@pytest.fixture
def ask_only(desk: Desk, watch: Watch, monkeypatch: pytest.MonkeyPatch) -> AskOnly:
    """Make drills of a pair met before ask in one form as far as its contrasts can fill it."""

    def only(form: Form) -> Callable[[], DrillScreen]:
        pair = versatile(desk.cellar)
        answer_all(DrillSession(desk, 600, pair=pair), len(desk.cellar.contrasts(*pair)))
        watch.next_morning(9)
        monkeypatch.setattr(posing, "FORMS", {form: 1.0})
        return lambda: in_form(desk, pair, form)

    return only
