"""The errors that the knowledge side raises; every message is one sentence a taster can act on."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path


class CardsError(Exception):
    """Anything wrong with the table or with a question asked of it."""


class TableError(CardsError):
    """A file of the profile table is wrong; says file, line and field where they are known."""

    def __init__(
        self, problem: str, *, file: Path | str, line: int | None = None, field: str | None = None
    ) -> None:
        self.problem = problem
        self.file = str(file)
        self.line = line
        self.field = field
        where = self.file if line is None else f"{self.file}, line {line}"
        what = problem if field is None else f"{field}: {problem}"
        super().__init__(f"{where}: {what}")


class UnknownWine(CardsError):  # noqa: N818 - named as the taster meets it
    """A name that no wine of the table answers to, or that more than one does."""

    def __init__(
        self, text: str, suggestions: Sequence[str] = (), *, several: bool = False
    ) -> None:
        self.text = text
        self.suggestions = tuple(suggestions)
        self.several = several
        problem = "could be several wines" if several else "is no wine of the table"
        hint = f"; did you mean {', '.join(self.suggestions)}?" if self.suggestions else ""
        super().__init__(f"“{text}” {problem}{hint}")


class NoContrast(CardsError):  # noqa: N818 - named as the taster meets it
    """Two wines that no cue of the table tells apart with 85% probability."""
