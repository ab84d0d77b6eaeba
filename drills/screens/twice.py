"""What cannot be taken back is done only when it is asked for twice."""

from __future__ import annotations

from collections.abc import Hashable


class Twice:
    """Remembers what was asked for last."""

    def __init__(self) -> None:
        self._asked: Hashable = None

    def again(self, what: Hashable) -> bool:
        """Whether `what` was asked for before, and nothing else since; from now on it was."""
        before, self._asked = self._asked, what
        return before == what

    def forget(self) -> None:
        """Something else was done in between."""
        self._asked = None
