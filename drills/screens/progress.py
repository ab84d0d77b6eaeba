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

from drills.errors import DrillsError
from drills.fitting import Fit
from drills.screens import progress_words as words
from drills.screens.ask import AskScreen
from drills.screens.base import DeskScreen
from drills.screens.widgets.fit_part import FitPart
from drills.screens.widgets.key_line import KeyLine
from drills.screens.widgets.part import Part
from drills.service.fitting import fit_taster, keep, kept
from drills.service.progress import Basics, Progress, basics, progress, set_plan
from drills.settings import read_exam, read_minutes

_PARTS = {
    "recall": "recall, and its forecast",
    "minutes": "minutes a day",
    "sureness": "sureness against outcome",
    "alcohol": "alcohol called less label",
    "structure": "structure called less profile",
    "confusions": "who is called whom",
    "calls": "first call against final call",
    "numbers": "numbers of the memory model",
}
# The parts whose picture is a plot; the others are drawn with characters.
_PLOTTED = ("recall", "minutes", "sureness")
_SIDE_BY_SIDE, _TWO_COLUMNS = 76, 150


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
        Binding("f", "fit", "fit", id="fit", tooltip="fit the memory model to your own answers"),
        Binding(
            "g",
            "usual",
            "usual numbers",
            id="usual-numbers",
            show=False,
            tooltip="go back to the usual numbers of the memory model",
        ),
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
                    yield Part(name, _PARTS[name], plotted=True)
            with Container(classes="column"):
                for name in _PARTS:
                    if name not in (*_PLOTTED, "numbers"):
                        yield Part(name, _PARTS[name])
                yield FitPart("numbers", _PARTS["numbers"])
        yield KeyLine("exam", "minutes", "next-part", "last-part", "weak-pairs", "help", "back")

    def on_mount(self) -> None:
        """Count in the background."""
        self.query_one(VerticalScroll).focus()
        self.app.theme_changed_signal.subscribe(self, self._recolour)
        self._arrange(self.size.width)
        self._tell_use()
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

    def _fail(self, told: str) -> None:
        for part in self.query(Part):
            if not isinstance(part, FitPart):
                part.tell(Content(told))

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
        self.query_one("#recall", Part).tell(words.recall(now))
        wanted = self.desk.settings.minutes
        self.query_one("#minutes", Part).tell(words.minutes(now, wanted))

    def _tell(self, found: Progress) -> None:
        room, desk = self._room, self.desk
        parts = {
            "recall": words.recall_and_forecast(found),
            "minutes": words.minutes(found.basics, desk.settings.minutes, found),
            "sureness": words.sureness(found),
            "alcohol": words.alcohol(found, room),
            "structure": words.structure(found, room),
            "confusions": words.confusions(found, desk.short, room),
            "calls": words.calls(found, room),
        }
        for name, told in parts.items():
            self.query_one(f"#{name}", Part).tell(told)

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

    # ---- the memory model's numbers

    @property
    def _fit_part(self) -> FitPart:
        return self.query_one(FitPart)

    def _tell_use(self) -> None:
        try:
            used = kept(self.desk)
        except DrillsError as error:
            self._fit_part.tell(Content(str(error)))
        else:
            self._fit_part.tell_use(used, self.key_of("fit"), self.key_of("usual-numbers"))

    def action_fit(self) -> None:
        """Fit the memory model to the taster's own answers, in a process of its own."""
        if not self._fit_part.running:
            self._fit_part.running = True
            self._fit_part.scroll_visible(animate=False)
            self._fit()

    @work(thread=True, group="fit")
    def _fit(self) -> None:
        call = self.app.call_from_thread
        try:
            found = fit_taster(self.desk, lambda step: call(self._fit_part.tell_step, step))
        except DrillsError as error:
            call(self._fitted, str(error))
        else:
            call(self._fitted, found)

    def _fitted(self, found: Fit | str) -> None:
        part = self._fit_part
        part.running = False
        if isinstance(found, str):
            part.tell(Content(f"Not fitted: {found}."))
            return
        part.tell_found(found, self.key_of("usual-numbers"))
        if found.better:
            self._count()

    def action_usual(self) -> None:
        """Go back to the usual numbers of the memory model."""
        if self._fit_part.running:
            return
        try:
            had = kept(self.desk) is not None
            if had:
                keep(self.desk, None)
        except DrillsError as error:
            self.notify(str(error), severity="error", markup=False)
            return
        self.notify("Back to the usual numbers." if had else "The usual numbers are in use.")
        self._tell_use()
        if had:
            self._count()

    # ---- ways

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
