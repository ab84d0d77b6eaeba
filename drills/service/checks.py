"""What slipped comes back once in the same drill, as a check: after some other cards."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from cards.questions import Question

# A slipped card comes back once, after so many others.
CHECK_AFTER = 6


@dataclass(frozen=True, slots=True)
class Check:
    """A contrast that slipped: it comes back after so many answers of the drill.

    `question` is the card that slipped, None where that was in an earlier drill.
    """

    after: int
    contrast_id: int
    question: Question | None = None


class Checks:
    """The checks that a drill still owes, in their order."""

    def __init__(self, contrasts: Iterable[int]) -> None:
        """`contrasts` slipped in the drill that this one goes on with."""
        self._owed = deque(
            Check(CHECK_AFTER + place, contrast_id) for place, contrast_id in enumerate(contrasts)
        )

    def __bool__(self) -> bool:
        return bool(self._owed)

    def first_due(self, answered: int) -> int | None:
        """The contrast whose check comes first, if so many answers are enough for it."""
        return self._owed[0].contrast_id if self and self._owed[0].after <= answered else None

    def take(self) -> int:
        """The contrast whose check comes first."""
        return self._owed.popleft().contrast_id

    def owe(self, question: Question, answered: int) -> None:
        """Ask again what slipped just now, as the last of so many answers."""
        self._owed.append(Check(answered + CHECK_AFTER, question.contrast.id, question))

    def first(self, question: Question, answered: int) -> None:
        """Ask next what was taken and not answered."""
        self._owed.appendleft(Check(answered, question.contrast.id, question))

    def drop(self, contrast_id: int) -> None:
        """Owe no check of a contrast: its slip was taken back."""
        self._owed = deque(one for one in self._owed if one.contrast_id != contrast_id)

    def keep(self, stands: Callable[[Question], bool]) -> None:
        """Keep those whose card still stands, and those of an earlier drill."""
        self._owed = deque(
            one for one in self._owed if one.question is None or stands(one.question)
        )
