"""What commands print: plain lines for people, JSON for programs."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from cards.evidence import band
from drills.phrases import count
from drills.tastings.cells import printable

if TYPE_CHECKING:
    from cards.checking import TableReport
    from drills.confusions import WeakPair
    from drills.service.desk import Desk
    from drills.service.intake import Taken
    from drills.service.wines import Lateral, PairView
    from drills.storage.records import IntakeRecord

# Names that a person reads; JSON has all.
_NAMES_PRINTED = 50
# A file of this many bytes takes about a second.
_LONG = 1_000_000
_BAR = 40

Json = dict[str, Any] | list[dict[str, Any]]


def print_json(value: Json) -> None:
    """Print JSON with the accents as they are."""
    print(json.dumps(value, ensure_ascii=False, indent=2))


def pair_json(view: PairView) -> Json:
    """`{wines, separation_db, cues: [{cue, reading, toward, weight_db, basis}]}`."""
    return {
        "wines": list(view.wines),
        "separation_db": view.separation_db,
        "cues": [
            {
                "cue": cue.cue,
                "reading": cue.reading,
                "toward": cue.toward,
                "weight_db": cue.weight_db,
                "basis": cue.basis,
            }
            for cue in view.cues
        ],
    }


def print_pair(desk: Desk, view: PairView, *, causes: bool = False) -> None:
    """One line a cue, strongest first, with its cause below where `causes` are asked for."""
    a, b = view.wines
    print(f"{desk.short(a)} and {desk.short(b)}: {view.separation_db:.1f} db apart")
    wide = max((len(cue.reading) for cue in view.cues), default=0)
    for cue in view.cues:
        mark = f"{cue.weight_db:5.1f} db {band(cue.weight_db):<8}"
        print(f"  {mark}  {cue.reading:<{wide}}  {desk.short(cue.toward)}  [{cue.basis}]")
        if causes and cue.because:
            print(f"{'':21}{cue.because}")


def laterals_json(found: Sequence[Lateral]) -> Json:
    """`[{wine, separation_db}]`, nearest first."""
    return [{"wine": one.wine, "separation_db": one.separation_db} for one in found]


def print_laterals(desk: Desk, found: Sequence[Lateral]) -> None:
    """One line a wine, nearest first."""
    for one in found:
        print(f"{one.separation_db:6.1f} db  {desk.short(one.wine):<24}  {one.wine}")


def weak_json(pairs: Sequence[WeakPair]) -> Json:
    """`[{called, was, times, rate, low, high}]`, the most costly first."""
    return [
        {
            "called": pair.called,
            "was": pair.was,
            "times": pair.times,
            "rate": round(pair.rate, 4),
            "low": round(pair.low, 4),
            "high": round(pair.high, 4),
        }
        for pair in pairs
    ]


def print_weak(desk: Desk, pairs: Sequence[WeakPair]) -> None:
    """One line a pair, the most costly first."""
    if not pairs:
        print("No confusion is logged yet.")
    for pair in pairs:
        print(
            f"{desk.short(pair.was):<24} called {desk.short(pair.called):<24} {pair.times:>3} x"
            f"  rate {pair.rate:4.0%} (90% interval {pair.low:.0%} to {pair.high:.0%})"
        )


def print_intake(desk: Desk, taken: Taken) -> None:
    """What an intake added, and what it could not make out."""
    verb = "would be added" if taken.dry_run else "added"
    print(f"{count(taken.pours, 'pour')} {verb}, {count(taken.confusions, 'confusion')} among them")
    if taken.already_known:
        print(f"{count(taken.already_known, 'pour')} known already")
    for row in taken.rejected:
        print(f"row {row.row}, {row.column}: left out: {row.reason}")
    told: set[str] = set()
    for one in taken.unresolved:
        if one.text in told or len(told) >= _NAMES_PRINTED:
            continue
        told.add(one.text)
        hint = f"; perhaps {', '.join(map(desk.short, one.suggestions))}" if one.suggestions else ""
        times = taken.waiting.get(one.text, 1)
        often = f" ({times:,} times)" if times > 1 else ""
        print(f"row {one.row}, {one.column}: “{printable(one.text)}”{often} is kept as typed{hint}")
    if len(taken.waiting) > len(told):
        print(f"and {len(taken.waiting) - len(told):,} more names are kept as typed")
    if told and not taken.dry_run:
        print("names that are not clear wait in the tray: crosspour tray, or Y on the first screen")
    for part in taken.unread:
        text = printable(part.text if len(part.text) <= 40 else part.text[:39] + "…")
        print(f"row {part.row}, {part.column}: “{text}” is kept as typed: it {part.reason}")
    for words in taken.warnings:
        print(f"note: {words}")
    if taken.intake is not None:
        print(
            f"this is import {taken.intake}: crosspour import --undo {taken.intake} takes it back"
        )


def print_left_out(taken: Taken) -> None:
    """On standard error, why an import that added the other rows does not end with 0."""
    left_out = len(taken.rejected)
    verb = "would be" if taken.dry_run else "was" if left_out == 1 else "were"
    print(
        f"crosspour: {count(left_out, 'row')} {verb} left out; once mended, import the file again",
        file=sys.stderr,
    )


def print_imports(found: Sequence[IntakeRecord]) -> None:
    """One line an import, the newest first."""
    if not found:
        print("nothing was imported yet")
    for one in found:
        when = one.made_at.astimezone()
        undone = ", taken back" if one.undone_at else ""
        source = printable(one.source)
        print(
            f"{one.id:>5}  {when:%Y-%m-%d %H:%M}  {count(one.pours, 'pour'):>12}  {source}{undone}"
        )


def print_taken_back(which: IntakeRecord, gone: int) -> None:
    """What was taken back."""
    print(f"{count(gone, 'pour')} of “{printable(which.source)}” taken out")


def print_exported(file: str, number: int) -> None:
    """What was exported."""
    print(f"{count(number, 'pour')} written to {printable(file)}")


@contextmanager
def waiting_for(words: str) -> Iterator[None]:
    """Say on a terminal what takes a second or two, and take it away again."""
    if not sys.stderr.isatty():
        yield
        return
    print(words, end="", file=sys.stderr, flush=True)
    try:
        yield
    finally:
        print("\r" + " " * len(words), end="\r", file=sys.stderr, flush=True)


class BarOnTerminal:
    """How far a long file has been read, on a terminal; silent anywhere else.

    `shows` is the size of the file in bytes, once it is known: a short one is read before a bar
    could be seen.
    """

    def __init__(self) -> None:
        self.shows = 0
        self._drawn = -1
        self._on = sys.stderr.isatty()

    def __enter__(self) -> BarOnTerminal:
        return self

    def __exit__(self, *_: object) -> None:
        if self._drawn >= 0:
            print("\r" + " " * (_BAR + 8), end="\r", file=sys.stderr, flush=True)

    def part(self, start: float, end: float) -> Callable[[float], None]:
        """Told of the share of one part of the work, from `start` to `end` of the whole."""

        def tell(share: float) -> None:
            self._draw(round(100 * (start + share * (end - start))))

        return tell

    def _draw(self, percent: int) -> None:
        if not self._on or percent == self._drawn or 0 < self.shows < _LONG:
            return
        self._drawn = percent
        full = "█" * (percent * _BAR // 100)
        print(f"\r{full:░<{_BAR}} {percent:3d}%", end="", file=sys.stderr, flush=True)


def report_json(report: TableReport) -> Json:
    """`{wines, descriptors, facts, by_basis, sourced_core, problems}`."""
    return {
        "wines": report.wines,
        "descriptors": report.descriptors,
        "facts": report.facts,
        "by_basis": dict(report.by_basis),
        "sourced_core": round(report.sourced_core, 4),
        "problems": list(report.problems),
    }


def print_report(report: TableReport) -> None:
    """Sizes, shares of each basis, and every problem."""
    print(f"{report.wines} wines, {report.descriptors} descriptors, {report.facts} facts")
    for basis, number in sorted(report.by_basis.items()):
        print(f"  {basis}: {number} ({number / max(report.facts, 1):.0%})")
    print(f"  alcohol, sugar and grapes from a published source: {report.sourced_core:.0%}")
    for problem in report.problems:
        print(problem)
    print("nothing is wrong" if not report.problems else count(len(report.problems), "problem"))
