"""What is fed to the program: real inputs, ways to alter them, and what takes them.

A target either does its work or refuses with an error that the program shows in one sentence;
anything else that is raised is a finding.
"""

from __future__ import annotations

import random
from abc import ABC, abstractmethod
from collections.abc import Sequence
from pathlib import Path

from cards.errors import CardsError
from drills.errors import DrillsError
from tests.fuzz.mutating import altered_text

LONGEST = 5_000


class Target(ABC):
    """One way into the program. `folder` is a place of its own, where files may be written."""

    name: str
    refusals: tuple[type[Exception], ...] = (CardsError, DrillsError)

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def input(self, number: int) -> bytes:
        """The input of this number: the same on every machine."""
        return self.altered(random.Random(f"{self.name} {number}"))

    @abstractmethod
    def altered(self, rng: random.Random) -> bytes:
        """A real input, altered."""

    @abstractmethod
    def take(self, content: bytes) -> None:
        """Give an input to the program; what it raises beside its own errors is a finding."""

    def run(self, content: bytes) -> None:
        """Take an input; the program's own errors must be one printable sentence."""
        try:
            self.take(content)
        except self.refusals as error:
            said = str(error)
            if not said or len(said) > LONGEST:
                raise AssertionError(f"{type(error).__name__} of {len(said)} letters") from error


class Texts(Target):
    """Inputs that are texts: `seeds` real ones, `words` what the grammar knows."""

    seeds: Sequence[str]
    words: Sequence[str] = ()

    def altered(self, rng: random.Random) -> bytes:
        text = altered_text(rng.choice(self.seeds), self.seeds, self.words, rng)
        return text.encode("utf-8", "surrogatepass")

    def take(self, content: bytes) -> None:
        self.read(content.decode("utf-8", "replace"))

    def read(self, text: str) -> None:
        """Give a text to the program."""
        raise NotImplementedError
