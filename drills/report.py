"""Progress as one page to print: HTML with pictures in SVG, no script, nothing from elsewhere.

Every text passes through `html.escape`. Shapes and fillings tell what colours do, for a printer
may have none.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from typing import TYPE_CHECKING

from drills.paths import expanded
from drills.phrases import count
from drills.report_pictures import (
    bias_svg,
    confusions_svg,
    corners_svg,
    forecast_svg,
    minutes_svg,
    shares_svg,
    sureness_svg,
)
from drills.service.writing import WriteError

if TYPE_CHECKING:
    from drills.service.desk import Desk
    from drills.service.progress import Progress
    from drills.service.weak import Corner

_STYLE = """
@page { size: A4; margin: 10mm; }
* { box-sizing: border-box; }
body { font: 9pt/1.3 Georgia, "Times New Roman", serif; color: #222; margin: 0 auto;
  max-width: 190mm; padding: 4mm; }
h1 { font-size: 16pt; margin: 0 0 1mm; } h2 { font-size: 10.5pt; margin: 0 0 1mm; color: #7a1f33; }
p { margin: 0 0 1.5mm; } .small { font-size: 8pt; color: #444; }
main { display: grid; grid-template-columns: 1fr 1fr; gap: 2mm 6mm; }
section { break-inside: avoid; } .wide { grid-column: 1 / -1; }
.both { display: flex; gap: 5mm; align-items: flex-start; }
.both > section:first-child { flex: 52; } .both > section:last-child { flex: 48; }
svg { width: 100%; height: auto; display: block; overflow: visible; }
svg text { font: 9px Verdana, Arial, sans-serif; fill: #222; }
table { border-collapse: collapse; width: 100%; font-size: 8pt; line-height: 1.2; }
td, th { text-align: left; padding: 0.4mm 1.5mm 0.4mm 0; border-bottom: 0.2mm solid #ccc; }
td.n, th.n { text-align: right; white-space: nowrap; }
svg text.mark { font-weight: bold; font-size: 11px; }
@media print { body { padding: 0; } }
@media (max-width: 640px) { main { grid-template-columns: 1fr; } .both { display: block; } }
"""
_LISTED = 10


def write_report(desk: Desk, found: Progress, file: str) -> None:
    """Write the page; WriteError says why it cannot be written."""
    page = report_page(desk, found)
    path = expanded(file)
    try:
        path.write_text(page, encoding="utf-8")
    except OSError as error:
        raise WriteError(f"{file} cannot be written: {error.strerror}") from error


def report_page(desk: Desk, found: Progress) -> str:
    """The page as HTML."""
    title = f"crosspour, {found.basics.today.isoformat()}"
    parts = "\n".join(_parts(desk, found))
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta http-equiv="Content-Security-Policy" '
        "content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n"
        f"<h1>Where you stand, {escape(found.basics.today.isoformat())}</h1>\n"
        f"<p>{escape(found.forecast.sentence)}</p>\n<main>\n{parts}\n</main>\n"
        '<p class="small">A forecast is the memory model\'s, not a promise. Spitting does not make '
        "driving safe.</p>\n</body>\n</html>\n"
    )


def _parts(desk: Desk, found: Progress) -> Iterator[str]:
    now, ahead = found.basics, found.forecast
    if now.recall is not None:
        last = ahead.points[-1]
        yield _section(
            "Recall, and its forecast",
            forecast_svg(ahead),
            f"Recall today {now.recall:.0%} of {count(now.met, 'contrast')} met, "
            f"{now.unseen:,} unseen. On {last.day.isoformat()}: {last.practise:.0%} with daily "
            f"drills (full marks), {last.stop:.0%} without any (open marks).",
        )
    yield _section(
        "Minutes a day",
        minutes_svg(now.effort, ahead.minutes),
        f"{now.effort.lately:.1f} a day lately, {ahead.minutes} set, about {ahead.to_keep:.0f} "
        "needed to keep what is met; one card takes "
        f"{now.effort.pace:.0f} seconds.",
    )
    if found.sureness:
        form = found.sureness[0]
        words = "; ".join(
            f"{word.sureness.label} {word.observed.value:.0%} right of {word.n:,}, claims "
            f"{word.claimed:.0%}"
            for word in form.words
        )
        bias = form.brier.bias
        yield _section(
            "Sureness against outcome",
            sureness_svg(form),
            f"{form.form}: {words}. Brier score {form.brier.score:.3f}, {abs(bias):.0%} "
            f"{'too sure' if bias > 0 else 'too modest'}.",
        )
    if found.overview.corners or found.overview.resolved:
        yield _section(
            "Theory against glass",
            corners_svg(found.overview),
            "Letters as in the list of pairs; on a middle line not enough is known.",
        )
    if found.alcohol is not None or found.structure:
        yield _section(
            "Calls less truth", bias_svg(found), "Bias with its interval; alcohol in % vol."
        )
    if found.calls is not None:
        calls = found.calls
        yield _section(
            "First call against final call",
            shares_svg(
                [
                    ("both right", found.both_right),
                    ("won by changing", calls.gained),
                    ("lost by changing", calls.lost),
                    ("both wrong", found.both_wrong),
                ]
            ),
            f"Gain {calls.gain.value:+.1%} of pours (95% interval {calls.gain.low:+.1%} to "
            f"{calls.gain.high:+.1%}); luck alone goes as far in {calls.p_exact:.1%} of tries "
            "(exact McNemar test).",
        )
    confused = []
    if found.confusions is not None:
        confused.append(
            _section(
                "Who is called whom",
                confusions_svg(found.confusions, [desk.short(w) for w in found.confusions.wines]),
                "Rows: what it was; columns: what it was called. Laterals stand together."
                + (
                    f" {found.confusions.left_out} more confused wines found no room."
                    if found.confusions.left_out
                    else ""
                ),
            )
        )
    if found.overview.corners:
        confused.append(_section("Weak pairs", _pairs(desk, found.overview.corners), ""))
    if confused:
        yield f'<div class="wide both">{"".join(confused)}</div>'
    if found.missing:
        said = "".join(f"<p>{escape(words)}</p>" for words in found.missing)
        yield f'<section class="wide small">{said}</section>'


def _section(title: str, picture: str, words: str) -> str:
    below = f"<p>{escape(words)}</p>" if words else ""
    return f"<section><h2>{escape(title)}</h2>{picture}{below}</section>"


def _pairs(desk: Desk, corners: Sequence[Corner]) -> str:
    from drills.service.picturing import MARKS

    rows = []
    for mark, corner in zip(MARKS, corners[:_LISTED], strict=False):
        one, other = map(desk.short, corner.wines)
        rate = corner.glass.rate
        rows.append(
            f"<tr><td>{mark}</td><td>{escape(one)} / {escape(other)}</td>"
            f'<td class="n">{corner.standing.times}</td><td class="n">{rate.value:.0%} '
            f"({100 * rate.low:.0f}–{100 * rate.high:.0f})</td>"
            f"<td>{escape(corner.verdict.advice)}</td></tr>"
        )
    more = len(corners) - len(rows)
    after = f'<p class="small">and {count(more, "pair")} more</p>' if more > 0 else ""
    return (
        '<table><thead><tr><th></th><th>pair</th><th class="n">times</th>'
        '<th class="n">rate, 90%</th><th>what to do</th></tr></thead><tbody>'
        f"{''.join(rows)}</tbody></table>{after}"
    )
