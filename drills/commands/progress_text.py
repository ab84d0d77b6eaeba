"""Progress as a command prints it: lines for people, JSON for programs."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from drills.phrases import count

if TYPE_CHECKING:
    from drills.service.desk import Desk
    from drills.service.progress import Progress
    from drills.statistics.agreement import Kappa
    from drills.statistics.dprime import DPrime
    from drills.statistics.rindex import RIndex
    from drills.statistics.shares import Estimate

_DIGITS = 4


def progress_json(desk: Desk, found: Progress) -> dict[str, Any]:
    """All numbers of the progress screen; what nothing is known of is null or empty."""
    now, ahead = found.basics, found.forecast
    exam = desk.settings.exam
    return {
        "day": now.today.isoformat(),
        "exam": exam.isoformat() if exam else None,
        "minutes": desk.settings.minutes,
        "recall": {"today": _round(now.recall), "met": now.met, "unseen": now.unseen},
        "forecast": {
            "day": ahead.day.isoformat(),
            "is_exam": ahead.is_exam,
            "recall": _round(ahead.recall),
            "met": ahead.met,
            "of": ahead.of,
            "minutes_to_keep": _round(ahead.to_keep),
            "minutes_for_all": _round(ahead.for_all),
            "points": [
                {
                    "day": point.day.isoformat(),
                    "stop": _round(point.stop),
                    "practise": _round(point.practise),
                }
                for point in ahead.points
            ],
            "sentence": ahead.sentence,
        },
        "effort": {
            "lately": _round(now.effort.lately),
            "pace_seconds": _round(now.effort.pace),
            "forms": [
                {"form": form.value, "seconds": _round(seconds), "answers": now.pace.answers[form]}
                for form, seconds in now.pace.seconds.items()
            ],
            "days": [
                {"day": one.day.isoformat(), "minutes": _round(one.minutes), "answers": one.answers}
                for one in now.effort.days
            ],
        },
        "sureness": [
            {
                "form": form.form.value,
                "chance": form.chance,
                "words": [
                    {
                        "sureness": word.sureness.label,
                        "claimed": word.claimed,
                        "answers": word.n,
                        "right": word.right,
                        **_estimate(word.observed, "observed"),
                        "own": _round(word.own.value),
                    }
                    for word in form.words
                ],
                "brier": _round(form.brier.score),
                "reliability": _round(form.brier.reliability),
                "resolution": _round(form.brier.resolution),
                "uncertainty": _round(form.brier.uncertainty),
                "bias": _round(form.brier.bias),
                "d_prime": _interval(form.d_prime),
            }
            for form in found.sureness
        ],
        "r_index": _interval(found.r_index),
        "alcohol": None
        if found.alcohol is None
        else {
            "calls": found.alcohol.spread.n,
            **_estimate(found.alcohol.spread.bias, "bias"),
            "sd": None
            if found.alcohol.spread.sd is None
            else _round(found.alcohol.spread.sd.value),
            "within_half": _round(found.alcohol.within.value),
        },
        "structure": [
            {
                "attribute": one.attribute,
                "pours": one.pours,
                "wines": one.wines,
                **_estimate(one.bias, "bias"),
                "spread": _round(one.spread.value),
                "sure": one.sure,
                "kappa": _interval(one.kappa),
            }
            for one in found.structure
        ],
        "confusions": None
        if found.confusions is None
        else {
            "wines": list(found.confusions.wines),
            "counts": [list(row) for row in found.confusions.counts],
            "left_out": found.confusions.left_out,
        },
        "calls": None
        if found.calls is None
        else {
            "both_right": found.both_right,
            "lost": found.calls.lost,
            "gained": found.calls.gained,
            "both_wrong": found.both_wrong,
            "p": _round(found.calls.p_exact),
            **_estimate(found.calls.gain, "gain"),
        },
        "pairs": [
            {
                "wines": list(corner.wines),
                "theory": str(corner.verdict.theory),
                "glass": str(corner.verdict.glass),
                "state": str(corner.standing.state),
                "recall": _round(corner.theory.recall),
                "r_index": None
                if corner.theory.r_index is None
                else _round(corner.theory.r_index.value),
                "answers": corner.theory.answers,
                **_estimate(corner.glass.rate, "rate"),
                "d_prime": {
                    "glass": _interval(corner.standing.d_prime),
                    "cards": _interval(corner.theory.d_prime),
                },
                "right": corner.standing.right,
                "pours": corner.standing.n,
                "advice": str(corner.verdict.advice),
                "sentence": corner.verdict.sentence,
            }
            for corner in (*found.overview.corners, *found.overview.resolved)
        ],
        "missing": list(found.missing),
    }


def print_progress(found: Progress) -> None:
    """The numbers in a few lines."""
    now, ahead = found.basics, found.forecast
    if now.recall is not None:
        met = count(now.met, "contrast")
        print(f"recall today {now.recall:.0%} of {met} met, {now.unseen:,} unseen")
    print(ahead.sentence)
    print(
        f"minutes a day: {now.effort.lately:.1f} lately, {ahead.minutes} set, "
        f"{ahead.to_keep:.0f} to keep what is met"
    )
    paces = [
        f"{form} {seconds:.0f} ({now.pace.answers[form]})"
        for form, seconds in now.pace.seconds.items()
        if now.pace.answers[form]
    ]
    if paces:
        print(f"seconds a card (answers): {', '.join(paces)}")
    for form in found.sureness:
        words = ", ".join(
            f"{word.sureness.label} {word.observed.value:.0%} of {word.n} "
            f"(claims {word.claimed:.0%})"
            for word in form.words
        )
        print(f"sureness, {form.form}: {words}; Brier {form.brier.score:.3f}")
    if found.r_index is not None:
        print(f"R-index over all pairs {found.r_index.value:.2f}")
    if found.alcohol is not None:
        spread = found.alcohol.spread
        print(
            f"alcohol against label: {spread.bias.value:+.2f}% vol over {count(spread.n, 'call')}, "
            f"{found.alcohol.within.value:.0%} within 0.5"
        )
    for one in found.structure:
        sure = ", hardly luck" if one.sure else ""
        kappa = "" if one.kappa is None else f"; kappa {one.kappa.value:.2f}"
        print(
            f"{one.attribute}: {one.bias.value:+.2f} levels ({one.bias.low:+.2f} to "
            f"{one.bias.high:+.2f}) over {count(one.pours, 'pour')}{sure}{kappa}"
        )
    if found.calls is not None:
        print(
            f"changing the call: won {found.calls.gained}, lost {found.calls.lost}, "
            f"luck alone goes as far in {found.calls.p_exact:.1%} of tries"
        )
    weak, resolved = len(found.overview.corners), len(found.overview.resolved)
    print(f"pairs: {weak} still confused, {resolved} resolved in the glass")
    for words in found.missing:
        print(f"note: {words}")


def _round(value: float | None) -> float | None:
    """JSON has no infinity: an end that nothing is known of is null."""
    return None if value is None or not math.isfinite(value) else round(value, _DIGITS)


def _interval(one: DPrime | Kappa | RIndex | None) -> dict[str, float | None] | None:
    if one is None:
        return None
    return {"value": _round(one.value), "low": _round(one.low), "high": _round(one.high)}


def _estimate(one: Estimate, name: str) -> dict[str, float | None]:
    return {name: _round(one.value), "low": _round(one.low), "high": _round(one.high)}
