"""The ordered scales of the table: levels of structure, and how typical a descriptor is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum, StrEnum


class Level(IntEnum):
    """One of the five levels on which a taster places structure."""

    LOW = 0
    MED_MINUS = 1
    MED = 2
    MED_PLUS = 3
    HIGH = 4

    @property
    def label(self) -> str:
        """The level as a taster writes it: low, med-, med, med+ or high."""
        return LEVEL_LABELS[self]

    @classmethod
    def from_label(cls, text: str) -> Level:
        """The level named by `text`; ValueError says which names there are."""
        try:
            return cls(LEVEL_LABELS.index(text.strip().casefold()))
        except ValueError:
            raise ValueError(f"“{text}” is no level; use {', '.join(LEVEL_LABELS)}") from None


LEVEL_LABELS = ("low", "med-", "med", "med+", "high")


@dataclass(frozen=True, slots=True)
class LevelRange:
    """The levels a wine typically shows, both ends included."""

    low: Level
    high: Level

    def __post_init__(self) -> None:
        if self.low > self.high:
            raise ValueError(f"the range runs backwards: {self.low.label} to {self.high.label}")

    @classmethod
    def parse(cls, text: str) -> LevelRange:
        """Read “med+” or “med+ to high”; ValueError says what is wrong."""
        ends = [Level.from_label(part) for part in text.split(" to ")]
        if len(ends) > 2:
            raise ValueError(f"“{text}” is no range; write one level, or “med to high”")
        return cls(ends[0], ends[-1])

    def __contains__(self, level: object) -> bool:
        return isinstance(level, int) and self.low <= level <= self.high

    def __iter__(self) -> Iterator[Level]:
        return (Level(value) for value in range(self.low, self.high + 1))

    @property
    def middle(self) -> float:
        """The middle of the range in levels, 0 (low) to 4 (high)."""
        return (self.low + self.high) / 2

    def __str__(self) -> str:
        if self.low == self.high:
            return self.low.label
        return f"{self.low.label} to {self.high.label}"


class Typical(StrEnum):
    """How often a descriptor is met in the wine."""

    SIGNATURE = "signature"
    COMMON = "common"
    OCCASIONAL = "occasional"
    NEVER = "never"
