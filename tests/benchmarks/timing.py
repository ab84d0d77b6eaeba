"""Measuring things in turn, so that whatever else the machine does falls on all of them alike."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import median

Measured = dict[str, list[float]]
"""Seconds of every run, by what was run."""


def timed(work: Callable[[], object]) -> Callable[[], float]:
    """The same work, giving the seconds it took."""

    def run() -> float:
        began = time.perf_counter()
        work()
        return time.perf_counter() - began

    return run


def in_turn(runs: Mapping[str, Callable[[], float]], repeats: int) -> Measured:
    """Run everything once to warm up, then `repeats` times in turn: A B C, A B C, ..."""
    for run in runs.values():
        run()
    found: Measured = {name: [] for name in runs}
    for _ in range(repeats):
        for name, run in runs.items():
            found[name].append(run())
    return found


def high(seconds: Sequence[float]) -> float:
    """The time below which 95 runs in 100 stay (nearest rank)."""
    ordered = sorted(seconds)
    return ordered[min(len(ordered) - 1, -(-95 * len(ordered) // 100) - 1)]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the table: what was measured against which baseline of the same run.

    `target` is the largest ratio that we want (or the largest median in seconds where it says so);
    None where there is none.
    """

    part: str
    what: str
    seconds: Sequence[float]
    baseline: str
    against: Sequence[float]
    target: float | None = None
    absolute: bool = False

    @property
    def ratio(self) -> float:
        """The median of what each round gives: both sides of a round met the same machine."""
        return median(one / other for one, other in zip(self.seconds, self.against, strict=True))

    def cells(self) -> tuple[str, ...]:
        """The line as texts."""
        if self.target is None:
            wanted = ""
        elif self.absolute:
            wanted = f"{self.target * 1000:,.0f} ms"
        else:
            wanted = f"{self.target:g}"
        reached = median(self.seconds) if self.absolute else self.ratio
        return (
            self.part,
            self.what,
            _milliseconds(median(self.seconds)),
            _milliseconds(high(self.seconds)),
            self.baseline,
            _milliseconds(median(self.against)),
            f"{self.ratio:.2f}",
            wanted,
            "" if self.target is None else "yes" if reached <= self.target else "no",
        )


@dataclass(frozen=True, slots=True)
class Amount:
    """One line of the table that tells no time: so much, against so much of a baseline."""

    part: str
    what: str
    value: float
    unit: str
    baseline: str
    against: float

    def cells(self) -> tuple[str, ...]:
        """The line as texts."""
        return (
            self.part,
            self.what,
            f"{self.value:,.0f} {self.unit}",
            "",
            self.baseline,
            f"{self.against:,.0f} {self.unit}",
            f"{self.value / self.against:.2f}",
            "",
            "",
        )


HEAD = ("part", "what", "median ms", "p95 ms", "baseline", "its ms", "ratio", "target", "met")


def table(lines: Iterable[Line | Amount]) -> str:
    """All lines under one head."""
    rows = [HEAD, *(line.cells() for line in lines)]
    wide = [max(len(row[place]) for row in rows) for place in range(len(HEAD))]
    numbers = {2, 3, 5, 6, 7}
    return "\n".join(
        "  ".join(
            f"{cell:>{width}}" if place in numbers else f"{cell:<{width}}"
            for place, (cell, width) in enumerate(zip(row, wide, strict=True))
        ).rstrip()
        for row in rows
    )


def _milliseconds(seconds: float) -> str:
    return f"{seconds * 1000:,.1f}" if seconds < 10 else f"{seconds * 1000:,.0f}"
