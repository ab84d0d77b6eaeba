"""What tests of the plain drill share: lines that a test types, and what was kept of them."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from pathlib import Path

from drills.commands.plain_drill import Left, Lines, PlainDrill
from drills.commands.plain_keys import ANSWERS, PlainKeys
from drills.grading import Sureness
from drills.service.drilling import DrillSession
from drills.service.showing import Showing
from drills.storage.records import AnswerRecord
from drills.storage.repository import open_repository
from tests.desks import right_answer, wrong_answer

QUESTION = "Left or right, how sure?"
# Nothing that moves a cursor, colours a text, or draws: the signs of control and the box drawings.
DRAWN = re.compile("[\x00-\x09\x0b-\x1f\x7f\u2190-\u21ff\u2500-\u259f\u2800-\u28ff]")


def answers(home: Path) -> list[AnswerRecord]:
    """The answers of all drills in the database of `home`, which must be whole."""
    file = home / "crosspour.sqlite3"
    with closing(sqlite3.connect(file)) as reader:
        assert reader.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert reader.execute("PRAGMA foreign_key_check").fetchall() == []
    with open_repository(file, readonly=True) as repository:
        me = repository.taster().id
        return [
            answer
            for drill in repository.drills(me)
            for answer in repository.answers_of_drill(drill.id)
            if answer.undone_at is None
        ]


class Typed(Lines):
    """Lines that a test types, and what was said between them."""

    def __init__(self, *typed: str) -> None:
        super().__init__()
        self.typed = list(typed)
        self.said: list[str] = []

    def say(self, lines: Iterable[str]) -> None:
        self.said += lines

    def ask(self, words: str) -> str:
        self.said.append(words)
        if not self.typed:
            raise Left
        return self.typed.pop(0)

    @property
    def text(self) -> str:
        return "\n".join(self.said)


def drilled(session: DrillSession, *typed: str, keys: PlainKeys | None = None) -> Typed:
    """Run a drill with so many typed lines; it ends when they do."""
    lines = Typed(*typed)
    assert PlainDrill(session, keys or PlainKeys(), lines).run() == 0
    return lines


def letter(showing: Showing, *, right: bool = True, sureness: Sureness = Sureness.SURE) -> str:
    """What answers a card: a letter, or a number and a letter."""
    given = right_answer(showing) if right else wrong_answer(showing)
    side = "left" if given == showing.question.left else "right"
    (key,) = (one for one in ANSWERS if (one.side, one.sureness) == (side, sureness))
    return key.letter if isinstance(given, str) else f"{given + 1}{key.letter}"
