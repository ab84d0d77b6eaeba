"""What commands print: plain lines for people, JSON for programs."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from cards.evidence import band
from drills.phrases import count

if TYPE_CHECKING:
    from cards.checking import TableReport
    from drills.confusions import WeakPair
    from drills.service.desk import Desk
    from drills.service.intake import Taken
    from drills.service.wines import Lateral, PairView

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


def print_intake(taken: Taken) -> None:
    """What an intake added, and what it could not make out."""
    verb = "would be added" if taken.dry_run else "added"
    print(f"{count(taken.pours, 'pour')} {verb}, {count(taken.confusions, 'confusion')} among them")
    if taken.already_known:
        print(f"{count(taken.already_known, 'pour')} known already")
    for row in taken.rejected:
        print(f"row {row.row}, {row.column}: left out: {row.reason}")
    for one in taken.unresolved:
        hint = f"; perhaps {', '.join(one.suggestions)}" if one.suggestions else ""
        print(f"row {one.row}, {one.column}: “{one.text}” is kept as typed{hint}")
    for words in taken.warnings:
        print(f"note: {words}")


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
    print("nothing is wrong" if not report.problems else f"{len(report.problems)} problems")
