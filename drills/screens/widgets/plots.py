"""Plots of the progress screen. The only module that imports the plotting widget.

Loading it takes 60 ms and numpy 90 more, so the screen does that once its numbers stand. Every
line has marks of its own, so that none is told by its colour.
"""

from __future__ import annotations

from collections.abc import Callable

from textual.reactive import reactive
from textual.theme import Theme
from textual_plot import HiResMode, PlotWidget

from drills.service.forecast import Forecast
from drills.service.progress import Effort, FormSureness

# Marks of the two lines of the forecast, and of the words of sureness, least sure first.
STOP, PRACTISE = "○", "●"
WORDS = "gls"


class Plot(PlotWidget, can_focus=False):
    """A plot that only shows: the mouse wheel scrolls the screen, and keys stay the screen's."""

    DEFAULT_CSS = """
    Plot {
        & > .plot--axis { color: $text-muted; }
        & > .plot--tick { color: $foreground; text-style: none; }
        & > .plot--label { color: $text-muted; text-style: none; }
    }
    """

    # The library's own margins would leave a small plot no room.
    margin_top, margin_bottom, margin_left = reactive(1), reactive(3), reactive(6)

    def __init__(self) -> None:
        super().__init__(allow_pan_and_zoom=False)
        self._drawing: Callable[[], None] | None = None

    def on_mount(self) -> None:
        """Draw what was asked for before: the library clears a plot when it is mounted."""
        self.call_later(self._draw)

    def _draw(self) -> None:
        if self._drawing is not None and self.is_mounted:
            self.clear()
            self._drawing()

    def show(self, drawing: Callable[[], None]) -> None:
        """Draw, now or as soon as the plot stands."""
        self._drawing = drawing
        self._draw()

    def _ink(self, name: str) -> str:
        theme: Theme = self.app.current_theme
        return str(getattr(theme, name) or theme.foreground)

    def draw_forecast(self, found: Forecast) -> None:
        """Recall from today on, without any more answers and with daily drills."""
        start = found.points[0].day
        days = [(point.day - start).days for point in found.points]
        for style, mark, values in (
            (self._ink("secondary"), STOP, [100 * point.stop for point in found.points]),
            (self._ink("accent"), PRACTISE, [100 * point.practise for point in found.points]),
        ):
            self.plot(days, values, line_style=style, hires_mode=HiResMode.BRAILLE)
            self.scatter(days, values, marker=mark, marker_style=style)
        self.set_xlimits(0, max(days[-1], 1))
        self.set_ylimits(0, 100)
        self.set_yticks([0, 50, 100])
        self.set_xlabel("days from today")
        self.set_ylabel("recall %")

    def draw_minutes(self, effort: Effort, wanted: int) -> None:
        """Minutes of each day as bars, and the minutes that were set as a line."""
        first = 1 - len(effort.days)
        # A bar of no height would still fill a line.
        done = [(first + n, one.minutes) for n, one in enumerate(effort.days) if one.minutes]
        minutes = [height for _, height in done]
        if done:
            days = [day for day, _ in done]
            self.bar(days, minutes, width=0.6, bar_style=self._ink("accent"))
        self.plot(
            [first - 0.5, 0.5],
            [wanted, wanted],
            line_style=self._ink("foreground"),
            hires_mode=HiResMode.BRAILLE,
        )
        self.set_xlimits(first - 0.5, 0.5)
        self.set_ylimits(0, max([*minutes, wanted]) * 1.1)
        self.set_xticks([-21, -14, -7, 0])
        self.set_xlabel("days, today 0")
        self.set_ylabel("minutes")

    def draw_sureness(self, found: FormSureness) -> None:
        """Claimed against right: on the diagonal a word means what it claims."""
        least = 100 * found.chance
        # Nobody is right much less often than by guessing, so the room goes to what lies above.
        floor = max(least - 20, 0)
        self.plot(
            [least, 100],
            [least, 100],
            line_style=self._ink("secondary"),
            hires_mode=HiResMode.BRAILLE,
        )
        ink = self._ink("foreground")
        for word in found.words:
            x = 100 * word.claimed
            low, high = max(100 * word.observed.low, floor), 100 * word.observed.high
            self.plot([x, x], [low, high], line_style=ink, hires_mode=HiResMode.BRAILLE)
            self.scatter(
                [x],
                [max(100 * word.observed.value, floor)],
                marker=WORDS[word.sureness - 1],
                marker_style=ink,
            )
        self.set_xlimits(least - 5, 100)
        self.set_ylimits(floor, 100)
        self.set_yticks([least, (least + 100) / 2, 100])
        self.set_xticks([100 * word.claimed for word in found.words])
        self.set_xlabel("claimed %")
        self.set_ylabel("right %")
