"""What both forms of a flight share: the sheet, its draft, the clock, and keeping it at the end."""

from __future__ import annotations

from contextlib import suppress
from typing import Any

from textual import work
from textual.content import Content
from textual.events import Key
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import Static

from drills.errors import DrillsError
from drills.phrases import clock, count
from drills.screens.base import DeskScreen
from drills.screens.tasting_open import OpenFlight
from drills.screens.tasting_reader import Fault
from drills.screens.tasting_sheet import FlightSheet, usual_minutes
from drills.screens.twice import Twice
from drills.screens.widgets.completing_line import CompletingLine, PlainLine
from drills.screens.widgets.form import go
from drills.screens.widgets.offer_line import OfferLine

# A change is on disk after so many seconds at the latest, with time to spare for a slow disk.
SAVE_AFTER = 0.4
# The lid of a laptop may close between two ticks of the clock; such a gap is no tasting.
_LONGEST_TICK = 5.0
_LATEST = 1_000


class FlightScreen(DeskScreen[None]):
    """A form of a flight. Subclasses show the sheet and call `touch` after every change."""

    AUTO_FOCUS = ""

    def __init__(self, flight: OpenFlight) -> None:
        super().__init__()
        self.flight = flight
        # Kept at hand: looking them up costs more than painting them.
        self.title_words = Static("", id="title", markup=False)
        self.clock_words = Static("", id="clock", markup=False)
        self.offer_line = OfferLine()
        self._saving: Timer | None = None
        self._ticked: float | None = None
        self.twice = Twice()
        self._over = False

    @property
    def sheet(self) -> FlightSheet:
        """What stands on the pages."""
        return self.flight.sheet

    def offered(self, line: CompletingLine) -> None:
        """Show what is offered."""
        self.offer_line.offer(line.offers, line.at)

    def on_offer_line_taken(self, message: OfferLine.Taken) -> None:
        """A click on an offer."""
        if isinstance(self.focused, CompletingLine):
            self.focused.choose(message.offer)

    async def on_key(self, event: Key) -> None:
        """Let a key do its work now, for the widget that has the cursor now.

        Left to itself a key is looked up after the next one was sent on its way: what is typed
        faster than the screen can follow would land on the line, or the page, before.
        """
        # The library looks keys up in the app's queue only; this is the same look-up, done here.
        if await self.app._check_bindings(event.key):
            event.stop()
        elif event.is_printable and event.character and isinstance(self.focused, PlainLine):
            event.stop()
            self.focused.insert_text_at_cursor(event.character)

    def action_go(self, by: int) -> None:
        """Go to the next line or the one before."""
        go(self, by)

    # ---- the draft

    def touch(self) -> None:
        """Something was changed: it will be on disk within a second."""
        self.twice.forget()
        if self._saving is None:
            self._saving = self.set_timer(SAVE_AFTER, self._save)

    def _save(self) -> None:
        self._saving = None
        self._write(*self.flight.keeper.snapshot())

    @work(thread=True, group="draft")
    def _write(self, number: int, content: str) -> None:
        try:
            self.flight.keeper.save(number, content)
        except DrillsError as error:
            self.app.call_from_thread(self._unsaved, str(error))

    def _unsaved(self, words: str) -> None:
        self.notify(f"Not on disk yet: {words}", severity="warning", markup=False)
        # Nothing is lost while the screen stands: the next second tries again.
        if self._saving is None:
            self._saving = self.set_timer(1.0, self._save)

    def flush(self) -> None:
        """Bring what is not on disk yet there now."""
        if self._saving is None:
            return
        self._saving.stop()
        self._saving = None
        try:
            self.flight.keeper.save(*self.flight.keeper.snapshot())
        except DrillsError as error:
            self.app.notify(f"Not on disk: {error}", severity="error", markup=False)
            self.last_words(f"the last words of the flight are not on disk: {error}")

    def on_unmount(self) -> None:
        """However the screen is left, the draft is up to date."""
        self.flush()

    # ---- the clock

    def on_mount(self) -> None:
        """Start the ticking; whether it counts is the taster's to say."""
        self._ticked = self.desk.clock.stopwatch()
        self.set_interval(1.0, self.tick)
        self.set_timer(0.05, self._warm)

    @work(thread=True, group="warm")
    def _warm(self) -> None:
        # What takes a moment is made while the taster looks at the glass; what cannot be read now
        # is read, and told, when it is needed.
        from drills.service.tasting import reading

        with suppress(DrillsError):
            self.flight.wines.wine("Barolo")
            reading(self.desk)

    def counts(self) -> bool:
        """Whether time runs now; subclasses know."""
        return self.sheet.minutes is not None and self.is_current

    def tick(self) -> None:
        """Let the time run and show it; never more than that."""
        now = self.desk.clock.stopwatch()
        gone, self._ticked = now - (now if self._ticked is None else self._ticked), now
        sheet = self.sheet
        if self.counts():
            gone = min(gone, _LONGEST_TICK)
            before = int(sheet.seconds)
            sheet.seconds += gone
            sheet.pour.seconds = (sheet.pour.seconds or 0.0) + gone
            # The time alone is worth a write to disk only now and then.
            if before // 10 != int(sheet.seconds) // 10 and self._saving is None:
                self._saving = self.set_timer(SAVE_AFTER, self._save)
        self.show_clock()

    def show_clock(self) -> None:
        """Show the time of the pour and of the flight, where the clock is on."""
        sheet = self.sheet
        if sheet.minutes is None:
            self._say_time(Content(""))
            return
        narrow = self.size.width < 76
        parts: list[tuple[str, str]] = []
        for name, used, given in (
            ("pour", sheet.pour.seconds or 0.0, sheet.pour_seconds),
            ("flight", sheet.seconds, 60 * sheet.minutes),
        ):
            label = "" if narrow else f"{name} "
            style = "bold $warning" if used > given else ""
            over = "!" if used > given else ""
            parts += [(f" {label}{clock(used)}/{clock(given)}{over}", style), (" ", "")]
        self._say_time(Content.assemble(*parts))

    def _say_time(self, words: Content) -> None:
        # A second more is no reason to lay the screen out anew, but a figure more is.
        moved = words.cell_length != self.clock_words.size.width
        self.clock_words.update(words, layout=moved)

    def action_clock(self) -> None:
        """Turn the clock on or off."""
        sheet = self.sheet
        sheet.minutes = (
            None if sheet.minutes is not None else float(usual_minutes(len(sheet.pours)))
        )
        self._ticked = self.desk.clock.stopwatch()
        self.touch()
        self.show_clock()

    # ---- the end

    def show_fault(self, fault: Fault) -> None:
        """Lead the taster to a line that cannot be read; subclasses know where it stands."""
        raise NotImplementedError

    def action_keep(self) -> None:
        """Keep the flight for good; what looks forgotten is said once."""
        if self._over:
            return
        if found := self.flight.faults():
            self.show_fault(found[0])
            self.notify(found[0].words, severity="warning", markup=False)
            return
        sheet = self.sheet
        pours = [pour for pour in sheet.pours if not pour.empty]
        if not pours:
            self.notify("Nothing is entered yet.", markup=False)
            return
        missing = sum(not pour.text("was").strip() for pour in pours)
        if missing and not self.twice.again(("keep", missing)):
            told = count(missing, "pour is", "pours are")
            key = self.key_of("keep")
            then = "keeps the flight so" if sheet.planned is None else "opens the key and keeps it"
            self.notify(f"{told} not revealed. {key} again {then}.", markup=False)
            return
        self._log()

    def _log(self) -> None:
        from drills.screens.debrief import DebriefScreen

        self.flush()
        try:
            kept = self.flight.log()
        except DrillsError as error:
            self.notify(f"Not kept: {error}", severity="error", markup=False)
            return
        self._over = True
        if kept.sentence:
            self.app.notify(kept.sentence, markup=False)
        try:
            flights = self.desk.repository.flights(self.desk.taster.id, limit=_LATEST)
            flight = next(one for one in flights if one.id == kept.id)
            screen = DebriefScreen.of_flight(self.desk, flight)
        except (DrillsError, StopIteration):
            self.app.notify("The flight is kept.", markup=False)
            self.app.pop_screen()
        else:
            self.app.switch_screen(screen)

    def action_leave(self) -> None:
        """Leave the flight as it is; it can be taken up again."""
        self.flush()
        if self.flight.keeper.draft_id is not None and not self._over:
            self.app.notify("The flight is kept half entered.", markup=False)
        self.app.pop_screen()

    def action_cautions(self) -> None:
        """Show the cautions again."""
        from drills.screens.tasting_cautions import CautionsScreen

        self.app.push_screen(CautionsScreen())


def start_anew(screen: Screen[Any], after: Screen[None]) -> None:
    """Go on to `after` from the first screen, whatever lies between."""
    app = screen.app
    while len(app.screen_stack) > 1:
        app.pop_screen()
    app.push_screen(after)
