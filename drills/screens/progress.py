"""Progress in pictures: recall towards the exam, minutes, sureness, calls held against truth."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, VerticalScroll
from textual.content import Content
from textual.events import Resize
from textual.theme import Theme
from textual.widgets import Static

from drills.errors import DrillsError
from drills.phrases import count
from drills.screens.ask import AskScreen
from drills.screens.base import DeskScreen
from drills.screens.widgets.key_line import KeyLine
from drills.screens.widgets.pictures import about_zero, shades, stacked
from drills.service.progress import LATELY_DAYS, Basics, Progress, basics, progress, set_plan
from drills.settings import read_exam, read_minutes

_PARTS = {
    "recall": "recall, and its forecast",
    "minutes": "minutes a day",
    "sureness": "sureness against outcome",
    "alcohol": "alcohol called less label",
    "structure": "structure called less profile",
    "confusions": "who is called whom",
    "calls": "first call against final call",
}
# The parts whose picture is a plot; the others are drawn with characters.
_PLOTTED = ("recall", "minutes", "sureness")
# As in `widgets.plots`, which is loaded only once the numbers stand.
WORD_MARKS = "gls"
_SIDE_BY_SIDE, _TWO_COLUMNS = 76, 150


class Part(Container):
    """One part: a title, a picture and the numbers beside or below it."""

    DEFAULT_CSS = """
    Part {
        height: auto; layout: vertical; padding: 0 1; margin-bottom: 1;
        .title { height: 1; text-style: bold; color: $primary; }
        .body { height: auto; layout: vertical; }
        .picture { height: auto; width: 1fr; }
        .picture.plot { height: 13; }
        .numbers { height: auto; width: 1fr; }
        &.beside .body { layout: horizontal; }
        &.beside.plotted .numbers { width: 32; padding-left: 2; }
    }
    """

    def __init__(self, name: str) -> None:
        super().__init__(id=name, classes="plotted" if name in _PLOTTED else None)
        self._title = _PARTS[name]
        self._plotted = name in _PLOTTED

    def compose(self) -> ComposeResult:
        """Title, picture, numbers."""
        yield Static(self._title, classes="title", markup=False)
        with Container(classes="body"):
            if self._plotted:
                yield Container(classes="picture plot")
            yield Static("counting…", classes="numbers", markup=False)

    def tell(self, words: Content) -> None:
        """Show the numbers."""
        self.query_one(".numbers", Static).update(words)


class ProgressScreen(DeskScreen[None]):
    """Shows progress, the numbers first and the pictures after."""

    ABOUT = (
        "How you stand: each picture has its numbers beside it. In the first, ● is recall with "
        "daily drills and ○ without any; a forecast is the memory model's, not a promise."
    )
    DEFAULT_CSS = """
    ProgressScreen {
        VerticalScroll { scrollbar-size-vertical: 1; }
        #columns, .column { height: auto; layout: vertical; }
        &.two #columns { layout: horizontal; }
        &.two .column { width: 1fr; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("e", "exam", "exam", id="exam", tooltip="set the date of the exam"),
        Binding("m", "minutes", "minutes", id="minutes", tooltip="set the minutes of a drill"),
        Binding("n", "next_part", "next", id="next-part", tooltip="go to the next picture"),
        Binding("b", "last_part", "before", id="last-part", tooltip="go to the picture before"),
        Binding("w", "weak", "weak", id="weak-pairs", tooltip="pairs still confused"),
        Binding("escape", "app.pop_screen", "back", id="back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.found: Progress | None = None
        self._at = 0

    def compose(self) -> ComposeResult:
        """The parts below one another, or in two columns."""
        with VerticalScroll(), Container(id="columns"):
            with Container(classes="column"):
                for name in _PLOTTED:
                    yield Part(name)
            with Container(classes="column"):
                for name in _PARTS:
                    if name not in _PLOTTED:
                        yield Part(name)
        yield KeyLine("exam", "minutes", "next-part", "last-part", "weak-pairs", "help", "back")

    def on_mount(self) -> None:
        """Count in the background."""
        self.query_one(VerticalScroll).focus()
        self.app.theme_changed_signal.subscribe(self, self._recolour)
        self._arrange(self.size.width)
        self._count()

    def on_resize(self, event: Resize) -> None:
        """Share the width out anew."""
        self._arrange(event.size.width)
        if self.found is not None:
            self._tell(self.found)

    def _arrange(self, width: int) -> None:
        two = width >= _TWO_COLUMNS
        self.set_class(two, "two")
        for part in self.query(Part):
            part.set_class(width // (2 if two else 1) >= _SIDE_BY_SIDE - 2, "beside")

    @property
    def _room(self) -> int:
        """Columns for a picture of characters."""
        return max(self.size.width // (2 if self.has_class("two") else 1) - 4, 30)

    @work(thread=True, exclusive=True)
    def _count(self) -> None:
        call = self.app.call_from_thread
        try:
            call(self._tell_basics, basics(self.desk))
            found = progress(self.desk)
        except DrillsError as error:
            call(self._fail, str(error))
            return
        call(self._show, found)
        # Loaded here, where nothing waits for it.
        import drills.screens.widgets.plots  # noqa: F401

        call(self._draw)

    def _fail(self, words: str) -> None:
        for part in self.query(Part):
            part.tell(Content(words))

    def _show(self, found: Progress) -> None:
        self.found = found
        self._tell(found)

    def _draw(self) -> None:
        """Put the plots into their places."""
        from drills.screens.widgets.plots import Plot

        for name in _PLOTTED:
            place = self.query_one(f"#{name} .plot", Container)
            if not place.query(Plot):
                place.mount(Plot())
        self._redraw()

    def _recolour(self, _: Theme) -> None:
        if self.found is not None:
            self._redraw()

    def _redraw(self) -> None:
        from drills.screens.widgets.plots import Plot

        found = self.found
        if found is None or not self.query(Plot):
            return
        effort, minutes = found.basics.effort, self.desk.settings.minutes
        recall, done = self.query_one("#recall Plot", Plot), self.query_one("#minutes Plot", Plot)
        recall.show(lambda: recall.draw_forecast(found.forecast))
        done.show(lambda: done.draw_minutes(effort, minutes))
        sureness = self.query_one("#sureness .plot", Container)
        sureness.display = bool(found.sureness)
        if found.sureness:
            sure = self.query_one("#sureness Plot", Plot)
            sure.show(lambda: sure.draw_sureness(found.sureness[0]))

    # ---- numbers

    def _tell_basics(self, now: Basics) -> None:
        self.query_one("#recall", Part).tell(_recall(now))
        self.query_one("#minutes", Part).tell(self._minutes(now))

    def _tell(self, found: Progress) -> None:
        parts = {
            "recall": self._recall_and_forecast(found),
            "minutes": self._minutes(found.basics, found),
            "sureness": _sureness(found),
            "alcohol": self._alcohol(found),
            "structure": self._structure(found),
            "confusions": self._confusions(found),
            "calls": self._calls(found),
        }
        for name, words in parts.items():
            self.query_one(f"#{name}", Part).tell(words)

    def _recall_and_forecast(self, found: Progress) -> Content:
        last = found.forecast.points[-1]
        lines = [_recall(found.basics)]
        if found.basics.met:
            lines.append(
                Content(
                    f"on {found.forecast.day.isoformat()}:\n● {last.practise:4.0%} with daily "
                    f"drills\n○ {last.stop:4.0%} without any"
                )
            )
        return Content("\n").join([*lines, Content(found.forecast.sentence)])

    def _minutes(self, now: Basics, found: Progress | None = None) -> Content:
        effort = now.effort
        lines = [
            f"today {effort.days[-1].minutes:.0f}, set {self.desk.settings.minutes}",
            f"mean of {LATELY_DAYS} days {effort.lately:.1f}",
            f"one card {effort.pace:.0f} seconds",
        ]
        if found is not None and found.basics.met:
            lines.append(f"needed to keep what is met: {found.forecast.to_keep:.0f}")
            if found.forecast.for_all is not None:
                lines.append(f"to meet all others too: {found.forecast.for_all:.0f}")
        return Content("\n".join(lines))

    def _alcohol(self, found: Progress) -> Content:
        calls = found.alcohol
        if calls is None:
            return Content(_missing(found, "Alcohol"))
        bias, sd = calls.spread.bias, calls.spread.sd
        width = min(self._room - 14, 61)
        said = f"{count(calls.spread.n, 'call')}: bias {bias.value:+.2f}% vol"
        if calls.spread.n > 1:
            said += f" (95% interval {bias.low:+.2f} to {bias.high:+.2f})"
        if sd is not None:
            said += f", spread {sd.value:.2f}"
        return Content(
            f"{'-1.5':>5} {about_zero(bias, 1.5, width)} +1.5\n{said}; "
            f"{calls.within.value:.0%} within 0.5 of the label"
        )

    def _structure(self, found: Progress) -> Content:
        if not found.structure:
            return Content(_missing(found, "Structure"))
        width = min(self._room - 42, 41)
        lines = [f"{'':<11} {'-2 levels':<{width // 2}}0{'+2 levels':>{width // 2}}"]
        for one in found.structure:
            sure = "*" if one.sure else ""
            drawn = about_zero(one.bias, 2.0, width)
            lines.append(
                f"{one.attribute:<11} {drawn} {one.bias.value:+.2f} "
                f"({one.bias.low:+.2f} to {one.bias.high:+.2f}) {one.pours:>4}{sure}"
            )
        lines.append("bias in levels, its 90% interval, pours; * hardly luck")
        return Content("\n".join(lines))

    def _confusions(self, found: Progress) -> Content:
        if found.confusions is None:
            return Content(_missing(found, "No confusion"))
        lines = shades(found.confusions, self.desk.short, self._room)
        lines.append(
            Content.styled(
                "rows: what it was; columns: what it was called; underlined: right", "dim"
            )
        )
        return Content("\n").join(lines)

    def _calls(self, found: Progress) -> Content:
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
            f"{stacked(parts, min(self._room, 70))}\n"
            f"█ both right {found.both_right}  ▒ won by changing {calls.gained}  "
            f"× lost by changing {calls.lost}  · both wrong {found.both_wrong}\n"
            f"gain {calls.gain.value:+.1%} of pours (95% interval {calls.gain.low:+.1%} to "
            f"{calls.gain.high:+.1%}), exact p {calls.p_exact:.3f}. {verdict}"
        )

    # ---- keys

    def action_exam(self) -> None:
        """Ask for the exam date."""
        exam = self.desk.settings.exam
        self.app.push_screen(
            AskScreen(
                "The date of the exam, as 2027-03-14; nothing for none",
                exam.isoformat() if exam else "",
                read_exam,
            ),
            self._set_exam,
        )

    def _set_exam(self, text: str | None) -> None:
        if text is not None:
            self._set(self.desk.settings.minutes, read_exam(text))

    def action_minutes(self) -> None:
        """Ask for the minutes of a drill."""
        minutes = str(self.desk.settings.minutes)
        self.app.push_screen(
            AskScreen("Minutes of a drill, every day", minutes, read_minutes), self._set_minutes
        )

    def _set_minutes(self, text: str | None) -> None:
        if text is not None:
            self._set(read_minutes(text), self.desk.settings.exam)

    def _set(self, minutes: int, exam: date | None) -> None:
        try:
            set_plan(self.desk, minutes=minutes, exam=exam)
        except DrillsError as error:
            self.notify(str(error), severity="error", markup=False)
        else:
            self._count()

    def action_next_part(self) -> None:
        """Go to the next picture."""
        self._go(self._at + 1)

    def action_last_part(self) -> None:
        """Go to the picture before."""
        self._go(self._at - 1)

    def _go(self, place: int) -> None:
        parts = list(self.query(Part))
        self._at = place % len(parts)
        parts[self._at].scroll_visible(top=True, animate=False)

    def action_weak(self) -> None:
        """Show the weak pairs."""
        from drills.screens.weak import WeakScreen

        self.app.push_screen(WeakScreen())


def _recall(now: Basics) -> Content:
    if now.recall is None:
        return Content("No card is answered yet: after the first drill recall stands here.")
    return Content.assemble(
        "recall today ",
        (f"{now.recall:.0%}", "bold"),
        f" of {now.met:,} contrasts met, {now.unseen:,} unseen",
    )


def _sureness(found: Progress) -> Content:
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
