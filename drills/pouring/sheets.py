"""The sheets of a flight, to print: key and shopping list for the helper, blank for a taster.

HTML, black on white, no script, nothing from elsewhere; every text passes through `html.escape`.
The pages leave the size of the paper to the printer, unless one is asked for: they fit A4 and
Letter. Pure.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from typing import Literal

from drills.cautions import CAUTIONS

Paper = Literal["a4", "letter"]

# What a taster notes, in the order in which a glass answers.
_SCALES = (
    *("intensity", "sweetness", "acid", "tannin", "body"),
    *("bitterness", "oak", "mineral", "finish"),
)
_LEVELS = ("low", "med-", "med", "med+", "high")
_SURENESS = ("guess", "leaning", "sure")
_STYLE = """
@page { margin: 11mm; PAPER }
* { box-sizing: border-box; }
body { font: 9.5pt/1.3 Georgia, "Times New Roman", serif; color: #000; background: #fff;
  margin: 0 auto; max-width: 190mm; }
h1 { font-size: 16pt; margin: 0 0 1mm; }
h2 { font-size: 11pt; margin: 4mm 0 1mm; break-after: avoid; } .begins { break-before: page; }
p { margin: 0 0 1.5mm; } .small { font-size: 8pt; }
table { border-collapse: collapse; width: 100%; break-inside: auto; }
tr { break-inside: avoid; }
td, th { text-align: left; vertical-align: top; padding: 0.8mm 2mm 0.8mm 0;
  border-bottom: 0.2mm solid #000; }
th { font-size: 8.5pt; } td.code, th.code { white-space: nowrap; }
td.code { font: bold 12pt Verdana, Arial, sans-serif; }
.top { display: flex; justify-content: space-between; gap: 4mm; align-items: baseline; }
.blank { display: inline-block; border-bottom: 0.2mm solid #000; min-width: 40mm; }
.glass { break-inside: avoid; border: 0.4mm solid #000; padding: 1.5mm 2.5mm; margin: 0 0 3mm; }
.glass > .number { float: left; font: bold 20pt Verdana, Arial, sans-serif; width: 22mm; }
.glass > .fields { margin-left: 23mm; }
.line { display: flex; gap: 3mm; margin-bottom: 1mm; align-items: flex-end; min-height: 5.4mm; }
.line > span { flex: 1; display: flex; align-items: flex-end; gap: 1.5mm; white-space: nowrap; }
.line i { flex: 1; border-bottom: 0.2mm solid #000; height: 4.6mm; }
.line .short { flex: 0 0 34mm; }
.scales { display: grid; grid-template-columns: 1fr 1fr 1fr; gap: 0.4mm 4mm; margin: 1mm 0; }
.scales div { display: flex; justify-content: space-between; font-size: 8.5pt; }
.marks { letter-spacing: 1.6mm; white-space: nowrap; }
.labels { display: grid; grid-template-columns: repeat(4, 1fr); margin-top: 2mm; }
.labels div { border: 0.2mm dashed #000; padding: 4mm 0; text-align: center;
  font: bold 22pt Verdana, Arial, sans-serif; break-inside: avoid; }
.care { break-inside: avoid; border-top: 0.4mm solid #000; margin-top: 3mm; padding-top: 1.5mm; }
"""


@dataclass(frozen=True, slots=True)
class KeyRow:
    """A glass as its helper must know it: code, wine, where the bottle is from, and why."""

    code: int
    wine: str
    source: str
    why: str


@dataclass(frozen=True, slots=True)
class OrderRow:
    """One taster's glasses, sitting by sitting."""

    taster: str
    sittings: Sequence[Sequence[int]]


@dataclass(frozen=True, slots=True)
class ShoppingRow:
    """A bottle to buy or to fetch: what it is called, what to look for, and its price if known."""

    wine: str
    look_for: str
    price: str
    owned: bool


def key_page(
    name: str,
    rows: Iterable[KeyRow],
    orders: Sequence[OrderRow],
    paper: Paper | None = None,
    balance: str = "",
) -> str:
    """The helper's page: which code is which wine, who gets which glass when, labels to cut out.

    `balance` says how even the orders are, where there are several.
    """
    listed = sorted(rows, key=lambda row: row.code)
    # Every taster has a glass of their own under each of their codes.
    poured = Counter(code for order in orders for sitting in order.sittings for code in sitting)
    labels = "".join(f"<div>{row.code}</div>" * poured[row.code] for row in listed)
    parts = [
        f"<h1>{escape(name)}: key, for the helper only</h1>",
        "<p>Pour out of sight, put the code on the glass and on nothing else, and let no bottle, "
        "cork or capsule be seen. Chill and decant all glasses of one colour alike.</p>",
        "<h2>Glasses</h2>",
        _table(
            ("code", "wine", "bottle", "why it is here"),
            [(str(row.code), row.wine, row.source, row.why) for row in listed],
        ),
        "<h2>Order of serving</h2>",
        _table(
            ("taster", "sitting", "glasses from first to last"),
            [
                (order.taster if not place else "", str(place + 1), " · ".join(map(str, sitting)))
                for order in orders
                for place, sitting in enumerate(order.sittings)
            ],
            code=None,
        ),
        f'<p class="small">{escape(balance)}</p>' if balance else "",
        "<h2>Labels to cut out</h2>",
        f'<div class="labels">{labels}</div>',
        _care(),
    ]
    return _page(f"{name}, key", parts, paper)


def shopping_page(name: str, rows: Sequence[ShoppingRow], paper: Paper | None = None) -> str:
    """What to buy and what to fetch; it names wines, so it is for the helper."""
    parts = [f"<h1>{escape(name)}: bottles, for the helper only</h1>"]
    for title, owned in (("To buy", False), ("From the cellar", True)):
        wanted = [row for row in rows if row.owned == owned]
        if wanted:
            parts.append(f"<h2>{title}</h2>")
            parts.append(
                _table(
                    ("", "wine", "what to look for", "price"),
                    [("☐", row.wine, row.look_for, row.price) for row in wanted],
                    code=None,
                )
            )
    parts.append(_care())
    return _page(f"{name}, bottles", parts, paper)


def taster_page(
    name: str, taster: str, sittings: Sequence[Sequence[int]], paper: Paper | None = None
) -> str:
    """A taster's blank page: a box for each glass, in the order of serving."""
    parts = [
        f'<div class="top"><h1>{escape(name)}</h1><span>{escape(taster)}</span>'
        '<span>date <span class="blank"></span></span></div>',
        '<p class="small">Taste from top to bottom. Scales run from low to high. Mark how sure a '
        "call is: a guess, leaning, or sure.</p>",
    ]
    for place, sitting in enumerate(sittings, 1):
        if len(sittings) > 1:
            begins = ' class="begins"' if place > 1 else ""
            parts.append(f"<h2{begins}>Sitting {place} of {len(sittings)}</h2>")
        parts += [_glass(code) for code in sitting]
    parts.append(_care())
    return _page(f"{name}, {taster}", parts, paper)


def _glass(code: int) -> str:
    scales = "".join(
        f'<div><span>{scale}</span><span class="marks">{"○" * len(_LEVELS)}</span></div>'
        for scale in _SCALES
    )
    return (
        f'<section class="glass"><div class="number">{code}</div><div class="fields">'
        + _line("appearance")
        + _line("nose")
        + _line("")
        + _line("palate")
        + f'<div class="scales">{scales}</div>'
        + '<div class="line"><span class="short">alcohol <i></i> % vol</span>'
        + "<span>○ old world &nbsp;○ new world</span>"
        + "<span>○ cool &nbsp;○ moderate &nbsp;○ warm &nbsp;○ hot</span></div>"
        + _line("candidates")
        + _call("first call")
        + _call("final call")
        + '<div class="line"><span>runner-up <i></i></span><span>note <i></i></span></div>'
        + "</div></section>"
    )


def _line(label: str) -> str:
    return f'<div class="line"><span>{label} <i></i></span></div>'


def _call(label: str) -> str:
    sure = " &nbsp;".join(f"○ {word}" for word in _SURENESS)
    return (
        f'<div class="line"><span>{label} <i></i></span>'
        f'<span class="short">vintage <i></i></span><span class="short">{sure}</span></div>'
    )


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]], *, code: int | None = 0) -> str:
    """A table of texts; the cells of column `code` are set large."""

    def cell(tag: str, place: int, text: str) -> str:
        mark = ' class="code"' if place == code else ""
        return f"<{tag}{mark}>{escape(text)}</{tag}>"

    lines = ["".join(cell("th", place, head) for place, head in enumerate(heads))]
    lines += ["".join(cell("td", place, text) for place, text in enumerate(row)) for row in rows]
    return f"<table>{''.join(f'<tr>{line}</tr>' for line in lines)}</table>"


def _care() -> str:
    said = "".join(f"<b>{escape(head)}</b> {escape(words)} " for head, words in CAUTIONS)
    return f'<div class="care small">{said.strip()}</div>'


def _page(title: str, parts: Iterable[str], paper: Paper | None) -> str:
    size = {None: "", "a4": "size: A4;", "letter": "size: letter;"}[paper]
    body = "\n".join(parts)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta http-equiv="Content-Security-Policy" '
        "content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{_STYLE.replace('PAPER', size)}</style>\n"
        f"</head>\n<body>\n{body}\n</body>\n</html>\n"
    )
