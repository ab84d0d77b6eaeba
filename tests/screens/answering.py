"""Answers in the drill: the six keys, what is kept of them, and a card in the form wanted."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

from cards.questions import Form
from drills.grading import Sureness
from drills.screens.drill import DrillScreen
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.storage.records import AnswerRecord

AskOnly: TypeAlias = Callable[[Form], Callable[[], DrillScreen]]
SIX_KEYS = [
    ("a", "left", Sureness.SURE),
    ("s", "left", Sureness.LEANING),
    ("d", "left", Sureness.GUESS),
    ("j", "right", Sureness.GUESS),
    ("k", "right", Sureness.LEANING),
    ("l", "right", Sureness.SURE),
]


def kept(desk: Desk, screen: DrillScreen) -> list[AnswerRecord]:
    return desk.repository.answers_of_drill(screen.session.drill_id)


def in_form(desk: Desk, pair: tuple[str, str], form: Form) -> DrillScreen:
    """A drill of a pair that begins with the first card put in a form."""
    session = DrillSession(desk, 6000, pair=pair)
    # A contrast that cannot be put in this form is put as two glasses: pass it by.
    while (showing := session.next()) is not None and showing.question.form is not form:
        pass
    assert showing is not None
    session._prepared = showing
    return DrillScreen(session)
