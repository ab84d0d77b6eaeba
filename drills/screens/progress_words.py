"""The numbers beside the pictures of progress, in words. `room` is how many columns there are."""

from __future__ import annotations

from collections.abc import Callable

from textual.content import Content

from drills.phrases import count
from drills.screens.widgets.pictures import about_zero, shades, stacked
from drills.service.progress import LATELY_DAYS, Basics, Progress

# As in `widgets.plots`, which is loaded only once the numbers stand.
WORD_MARKS = "gls"


def recall_and_forecast(found: Progress) -> Content:
    """Recall today, and what it will be."""
    last = found.forecast.points[-1]
    lines = [recall(found.basics)]
    if found.basics.met:
        lines.append(
            Content(
                f"on {found.forecast.day.isoformat()}:\n● {last.practise:4.0%} with daily "
                f"drills\n○ {last.stop:4.0%} without any"
            )
        )
    return Content("\n").join([*lines, Content(found.forecast.sentence)])


def minutes(now: Basics, wanted: int, found: Progress | None = None) -> Content:
    """Minutes done, set and needed, and what a card takes."""
    effort = now.effort
    lines = [
        f"today {effort.days[-1].minutes:.0f}, set {wanted}",
        f"mean of {LATELY_DAYS} days {effort.lately:.1f}",
        f"one card {count(round(effort.pace), 'second')}",
    ]
    answers = now.pace.answers
    lines += [
        f"{form} {seconds:.0f} s ({answers[form]})"
        for form, seconds in now.pace.seconds.items()
        if answers[form]
    ]
    if found is not None and found.basics.met:
        lines.append(f"needed to keep what is met: {found.forecast.to_keep:.0f}")
        if found.forecast.for_all is not None:
            lines.append(f"to meet all others too: {found.forecast.for_all:.0f}")
    return Content("\n".join(lines))


def alcohol(found: Progress, room: int) -> Content:
    """Alcohol called, against the label."""
    calls = found.alcohol
    if calls is None:
        return Content(_missing(found, "Alcohol"))
    bias, sd = calls.spread.bias, calls.spread.sd
    width = min(room - 14, 61)
    said = f"{count(calls.spread.n, 'call')}: bias {bias.value:+.2f}% vol"
    if calls.spread.n > 1:
        said += f" (95% interval {bias.low:+.2f} to {bias.high:+.2f})"
    if sd is not None:
        said += f", spread {sd.value:.2f}"
    return Content(
        f"{'-1.5':>5} {about_zero(bias, 1.5, width)} +1.5\n{said}; "
        f"{calls.within.value:.0%} within 0.5 of the label"
    )


def structure(found: Progress, room: int) -> Content:
    """Bias of each attribute, with its interval."""
    if not found.structure:
        return Content(_missing(found, "Structure"))
    width = min(room - 42, 41)
    lines = [f"{'':<11} {'-2 levels':<{width // 2}}0{'+2 levels':>{width // 2}}"]
    for one in found.structure:
        sure = "*" if one.sure else ""
        drawn = about_zero(one.bias, 2.0, width)
        lines.append(
            f"{one.attribute:<11} {drawn} {one.bias.value:+.2f} "
            f"({one.bias.low:+.2f} to {one.bias.high:+.2f}) {one.pours:>4}{sure}"
        )
    lines.append("bias in levels, its 90% interval, pours; * hardly luck")
    followed = [f"{one.attribute} {one.kappa.value:.2f}" for one in found.structure if one.kappa]
    if followed:
        lines.append(
            "kappa, how far your calls follow the wine (1 wholly, 0 as by chance): "
            + ", ".join(followed)
        )
    return Content("\n".join(lines))


def confusions(found: Progress, short: Callable[[str], str], room: int) -> Content:
    """Who is called whom."""
    if found.confusions is None:
        return Content(_missing(found, "No confusion"))
    lines = shades(found.confusions, short, room)
    lines.append(
        Content.styled("rows: what it was; columns: what it was called; underlined: right", "dim")
    )
    return Content("\n").join(lines)


def calls(found: Progress, room: int) -> Content:
    """What changing the call won and lost."""
    calls = found.calls
    if calls is None:
        return Content(_missing(found, "First calls"))
    parts = [
        ("█", found.both_right),
        ("▒", calls.gained),
        ("×", calls.lost),
        ("·", found.both_wrong),
    ]
    better = calls.better()
    verdict = {
        "first": "Your first call is right more often: trust it sooner.",
        "final": "Your final call is right more often: going on thinking pays.",
        None: "Which is right more often may be luck so far.",
    }[better]
    return Content(
        f"{stacked(parts, min(room, 70))}\n"
        f"█ both right {found.both_right}  ▒ won by changing {calls.gained}  "
        f"× lost by changing {calls.lost}  · both wrong {found.both_wrong}\n"
        f"gain {calls.gain.value:+.1%} of pours (95% interval {calls.gain.low:+.1%} to "
        f"{calls.gain.high:+.1%}); luck alone goes as far in {calls.p_exact:.1%} of tries. "
        f"{verdict}"
    )


def recall(now: Basics) -> Content:
    """Recall of what was met, today."""
    if now.recall is None:
        return Content("No card is answered yet: after the first drill recall stands here.")
    return Content.assemble(
        "recall today ",
        (f"{now.recall:.0%}", "bold"),
        f" of {count(now.met, 'contrast')} met, {now.unseen:,} unseen",
    )


def sureness(found: Progress) -> Content:
    """What each word of sureness claims, and what came of it."""
    if not found.sureness:
        return Content(_missing(found, "Sureness"))
    lines = []
    for place, form in enumerate(found.sureness):
        bias = form.brier.bias
        way = "too sure" if bias > 0 else "too modest"
        score = f"Brier {form.brier.score:.3f}, {abs(bias):.0%} {way}"
        if place:
            lines.append(f"{form.form}: {score}")
            continue
        lines.append(f"{form.form}, claimed→right")
        lines += [
            f"{WORD_MARKS[word.sureness - 1]} {word.sureness.label:<8}{word.claimed:4.0%}→"
            f"{word.observed.value:4.0%} of {word.n:,}"
            for word in form.words
        ]
        lines.append(score)
    if found.r_index is not None:
        lines.append(f"R-index of all pairs {found.r_index.value:.2f}")
    return Content("\n".join(lines))


def _missing(found: Progress, start: str) -> str:
    return next((one for one in found.missing if one.startswith(start)), "")
