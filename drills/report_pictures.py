"""Pictures of the report, in SVG: shapes and fillings tell what colours do."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drills.service.forecast import Forecast
    from drills.service.progress import ConfusionTable, Effort, FormSureness, Progress
    from drills.service.weak import Overview
    from drills.statistics.shares import Estimate

_INK, _SOFT, _RED, _BLUE = "#222", "#bbb", "#8a2238", "#1f6a5e"


class Drawing:
    """A picture in SVG under way: a plot area with margins, from data to places."""

    def __init__(
        self,
        label: str,
        *,
        width: float = 360,
        height: float = 120,
        x: tuple[float, float] = (0, 1),
        y: tuple[float, float] = (0, 1),
        margins: tuple[float, float, float, float] = (10, 10, 26, 34),
    ) -> None:
        self._label = label
        self._size = (width, height)
        self._x, self._y = x, y
        top, right, bottom, left = margins
        self._area = (left, top, width - right, height - bottom)
        self._drawn: list[str] = []

    def at(self, x: float, y: float) -> tuple[float, float]:
        """The place of a value; what lies outside the axes is put on their end."""
        left, top, right, bottom = self._area
        across = min(max((x - self._x[0]) / (self._x[1] - self._x[0]), 0.0), 1.0)
        up = min(max((y - self._y[0]) / (self._y[1] - self._y[0]), 0.0), 1.0)
        return left + across * (right - left), bottom - up * (bottom - top)

    def add(self, element: str, inner: str = "", **attributes: object) -> None:
        """Add an element; `_` in a name stands for `-`."""
        named = "".join(
            f' {name.rstrip("_").replace("_", "-")}="{escape(_number(value))}"'
            for name, value in attributes.items()
        )
        self._drawn.append(f"<{element}{named}>{inner}</{element}>")

    def text(self, place: tuple[float, float], words: str, anchor: str = "middle") -> None:
        """Write words at a place of the picture."""
        self.add("text", escape(words), x=place[0], y=place[1], text_anchor=anchor)

    def line(
        self,
        one: tuple[float, float],
        other: tuple[float, float],
        colour: str = _INK,
        wide: float = 1,
        dashes: str = "none",
    ) -> None:
        """A straight line between two values."""
        (x1, y1), (x2, y2) = self.at(*one), self.at(*other)
        self.add(
            "line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=colour, stroke_width=wide,
            stroke_dasharray=dashes,
        )  # fmt: skip

    def dot(self, x: float, y: float, *, full: bool = True, colour: str = _INK) -> None:
        """A round mark, full or open."""
        cx, cy = self.at(x, y)
        self.add(
            "circle", cx=cx, cy=cy, r=3, fill=colour if full else "#fff", stroke=colour,
            stroke_width=1.2,
        )  # fmt: skip

    def axes(
        self,
        x_ticks: Iterable[tuple[float, str]],
        y_ticks: Iterable[tuple[float, str]],
    ) -> None:
        """A frame with ticks."""
        left, top, right, bottom = self._area
        self.add(
            "rect", x=left, y=top, width=right - left, height=bottom - top, fill="none",
            stroke=_SOFT,
        )  # fmt: skip
        for value, words in x_ticks:
            self.text((self.at(value, self._y[0])[0], bottom + 12), words)
        for value, words in y_ticks:
            self.text((left - 4, self.at(self._x[0], value)[1] + 3), words, "end")

    def below(self, words: str) -> None:
        """What the horizontal axis means."""
        left, _, right, _ = self._area
        self.text(((left + right) / 2, self._size[1] - 3), words)

    def svg(self) -> str:
        """The finished picture."""
        width, height = self._size
        return (
            f'<svg viewBox="0 0 {_number(width)} {_number(height)}" role="img" '
            f'aria-label="{escape(self._label)}">{"".join(self._drawn)}</svg>'
        )


def _number(value: object) -> str:
    return f"{value:.1f}".removesuffix(".0") if isinstance(value, float) else str(value)


def forecast_svg(found: Forecast) -> str:
    """Recall from today on, with daily drills and without any."""
    start = found.points[0].day
    days = [(point.day - start).days for point in found.points]
    last = max(days[-1], 1)
    drawing = Drawing("Forecast of recall", x=(0, last), y=(0, 1))
    ticks = sorted({0, last // 2, last})
    drawing.axes(
        [(day, str(day)) for day in ticks], [(share, f"{share:.0%}") for share in (0.0, 0.5, 1.0)]
    )
    for values, full, colour in (
        ([point.stop for point in found.points], False, _RED),
        ([point.practise for point in found.points], True, _BLUE),
    ):
        places = list(zip(days, values, strict=True))
        for one, other in pairwise(places):
            drawing.line(one, other, colour, 1.5, "none" if full else "4 3")
        for place in places:
            drawing.dot(*place, full=full, colour=colour)
    drawing.below("days from today")
    return drawing.svg()


def minutes_svg(effort: Effort, wanted: int) -> str:
    """Minutes of each day, and those that were set."""
    most = max([wanted, *(one.minutes for one in effort.days)]) * 1.1
    first = 1 - len(effort.days)
    drawing = Drawing("Minutes a day", x=(first - 0.5, 0.5), y=(0, most))
    drawing.axes([(day, str(day)) for day in (-21, -14, -7, 0)], [(0, "0"), (wanted, str(wanted))])
    for number, one in enumerate(effort.days):
        if one.minutes:
            left, top = drawing.at(first + number - 0.35, one.minutes)
            right, bottom = drawing.at(first + number + 0.35, 0)
            drawing.add("rect", x=left, y=top, width=right - left, height=bottom - top, fill=_BLUE)
    drawing.line((first - 0.5, wanted), (0.5, wanted), _INK, 1, "4 3")
    drawing.below("days, today 0")
    return drawing.svg()


def sureness_svg(form: FormSureness) -> str:
    """Claimed against right, with intervals; on the diagonal a word means what it claims."""
    low = max(form.chance - 0.2, 0.0)
    drawing = Drawing("Calibration of sureness", x=(form.chance - 0.05, 1), y=(low, 1))
    drawing.axes(
        [(word.claimed, f"{word.claimed:.0%}") for word in form.words],
        [(share, f"{share:.0%}") for share in (form.chance, (1 + form.chance) / 2, 1.0)],
    )
    drawing.line((form.chance, form.chance), (1, 1), _SOFT, 1, "4 3")
    for word in form.words:
        drawing.line((word.claimed, word.observed.low), (word.claimed, word.observed.high))
        drawing.dot(word.claimed, word.observed.value)
        x, y = drawing.at(word.claimed, word.observed.value)
        drawing.text((x - 6, y - 5), word.sureness.label, "end")
    drawing.below("claimed; upwards the share that was right")
    return drawing.svg()


def corners_svg(found: Overview) -> str:
    """Pairs as letters between theory and glass."""
    from drills.service.picturing import MARKS, cells_apart

    drawing = Drawing("Theory against glass", height=132, margins=(10, 10, 16, 10))
    drawing.axes([], [])
    drawing.line((0.5, 0), (0.5, 1), _SOFT, 1, "3 3")
    drawing.line((0, 0.5), (1, 0.5), _SOFT, 1, "3 3")
    for x, y, anchor, words in (
        (0.02, 0.93, "start", "cards lag behind"),
        (0.98, 0.93, "end", "resolved"),
        (0.02, 0.03, "start", "more cards"),
        (0.98, 0.03, "end", "pour side by side"),
    ):
        drawing.text(drawing.at(x, y), words, anchor)
    shown = (*found.corners, *found.resolved)[: len(MARKS)]
    wide, high = 36, 9
    for mark, (column, row) in zip(MARKS, cells_apart(shown, wide, high, 1.1), strict=False):
        x, y = drawing.at((column + 0.5) / wide, 1 - (row + 0.5) / high)
        drawing.add("text", mark, x=x, y=y + 4, text_anchor="middle", class_="mark")
    drawing.below("theory: known on the cards → (upwards: told apart in the glass)")
    return drawing.svg()


def bias_svg(found: Progress) -> str:
    """Alcohol and structure called less what they were held against, with intervals."""
    rows: list[tuple[str, Estimate, float]] = []
    if found.alcohol is not None:
        rows.append(("alcohol, % vol", found.alcohol.spread.bias, 1.5))
    rows += [(f"{one.attribute}, levels", one.bias, 2.0) for one in found.structure]
    drawing = Drawing(
        "Bias of calls",
        height=12 * len(rows) + 22,
        x=(-1, 1),
        y=(len(rows) - 0.5, -0.5),
        margins=(4, 60, 16, 92),
    )
    drawing.axes([], [(number, words) for number, (words, *_) in enumerate(rows)])
    drawing.line((0, -0.5), (0, len(rows) - 0.5), _SOFT)
    for number, (_, bias, reach) in enumerate(rows):
        drawing.line((bias.low / reach, number), (bias.high / reach, number), _INK, 1.5)
        drawing.dot(bias.value / reach, number)
        _, y = drawing.at(0, number)
        drawing.text((306, y + 3), f"{bias.value:+.2f}", "start")
    drawing.below("called too low ← 0 → called too high")
    return drawing.svg()


def shares_svg(parts: Sequence[tuple[str, int]]) -> str:
    """Shares of all pours as one bar, each with a filling of its own and its number below."""
    whole = sum(number for _, number in parts) or 1
    drawing = Drawing("First call against final call", height=62, margins=(6, 6, 36, 6))
    start = 0.0
    fills = (_BLUE, "#9cc7bd", "#d9a0ab", "#fff")
    for place, ((words, number), fill) in enumerate(zip(parts, fills, strict=True)):
        end = start + number / whole
        (left, top), (right, bottom) = drawing.at(start, 1), drawing.at(end, 0)
        drawing.add(
            "rect", x=left, y=top, width=right - left, height=bottom - top, fill=fill, stroke=_INK
        )
        x = 8 + 176 * (place % 2)
        y = 38 + 14 * (place // 2)
        drawing.add("rect", x=x, y=y - 8, width=9, height=9, fill=fill, stroke=_INK)
        drawing.text((x + 14, y), f"{words} {number}", "start")
        start = end
    return drawing.svg()


def confusions_svg(table: ConfusionTable, names: Sequence[str]) -> str:
    """Who is called whom: a darker field is a more frequent confusion, and holds its number."""
    size, left, top = 22, 130, 84
    number = len(names)
    drawing = Drawing(
        "Confusions",
        width=left + size * number + 10,
        height=top + size * number + 4,
    )
    off = [
        table.counts[row][column] for row in range(number) for column in range(number)
        if row != column
    ]  # fmt: skip
    most = max(off, default=0) or 1
    for row, name in enumerate(names):
        y = top + size * row
        drawing.text((left - 5, y + 14), name, "end")
        x = left + size * row + 14
        drawing.add(
            "text", escape(name), x=x, y=top - 5, text_anchor="start",
            transform=f"rotate(-50 {x} {top - 5})",
        )  # fmt: skip
        for column, times in enumerate(table.counts[row]):
            share = times / most if row != column else 0.0
            grey = round(255 - 170 * min(share, 1.0))
            drawing.add(
                "rect", x=left + size * column, y=y, width=size, height=size,
                fill=f"rgb(255,{grey},{grey})" if share else "#eef4f2" if row == column else "#fff",
                stroke=_SOFT,
            )  # fmt: skip
            if times:
                drawing.text((left + size * (column + 0.5), y + 14), str(times))
    return drawing.svg()
