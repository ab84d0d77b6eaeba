"""What an answer is worth: its grade, the memory that it leaves, its reveal. Nothing is kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cards.explaining import Explanation
from cards.questions import Form
from drills.grading import Sureness, dangerous, grade_of
from drills.planner import Why
from drills.service.showing import Reveal, Showing, given_words
from drills.service.traces import as_record, as_trace
from drills.storage.records import AnswerRecord, MemoryRecord, new_receipt

if TYPE_CHECKING:
    from drills.service.desk import Desk


@dataclass(frozen=True, slots=True)
class Said:
    """What a taster said to a card, how sure, in how many seconds."""

    given: str | int
    sureness: Sureness
    seconds: float


@dataclass(frozen=True, slots=True)
class Judged:
    """An answer with its reveal; `before` and `after` are the memory around it.

    `after` is None for a check, which is not counted and leaves memory as it was.
    """

    record: AnswerRecord
    reveal: Reveal
    before: MemoryRecord | None
    after: MemoryRecord | None

    @property
    def showing(self) -> Showing:
        """The card that was answered."""
        return self.reveal.showing


def judge(
    desk: Desk,
    drill_id: int,
    showing: Showing,
    said: Said,
    before: MemoryRecord | None,
    explanation: Explanation,
    earlier: Sequence[float],
) -> Judged:
    """Judge an answer given now; `earlier` are the seconds of former ones to cards of its form."""
    question = showing.question
    contrast = question.contrast
    distance = question.distance(said.given)
    correct = distance == 0
    near = question.form is Form.WHICH_LEVEL and distance == 1
    grade = grade_of(correct, said.sureness, said.seconds, earlier, near=near)
    now, today = desk.clock.now(), desk.clock.today()
    counts, after = showing.why is not Why.CHECK, None
    if counts:
        trace = desk.memory.after(as_trace(before), grade, today)
        after = as_record(trace, desk.taster.id, contrast.id, now)
    record = AnswerRecord(
        taster_id=desk.taster.id,
        contrast_id=contrast.id,
        drill_id=drill_id,
        answered_at=now,
        day=today,
        form=question.form.value,
        swapped=question.left == contrast.wine_b,
        truth="a" if question.truth == contrast.wine_a else "b",
        given=given_words(question, said.given),
        correct=correct,
        sureness=int(said.sureness),
        seconds=said.seconds,
        grade=int(grade),
        counts=counts,
        receipt=new_receipt(),
    )
    reveal = Reveal(
        showing=showing,
        correct=correct,
        near=near,
        sureness=said.sureness,
        grade=grade,
        dangerous=dangerous(correct or near, said.sureness),
        explanation=explanation,
        back_in=None if after is None else max(after.due_day - today, 0),
    )
    return Judged(record, reveal, before, after)
