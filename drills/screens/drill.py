"""The drill screen: two glasses, six keys, the reveal. Built once, updated in place."""

from __future__ import annotations

from contextlib import suppress
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.events import Click
from textual.geometry import Size

from cards.explaining import Explanation
from cards.questions import Form
from drills.answer_keys import ANSWER_KEYS
from drills.errors import DatabaseCorrupt, DrillsError
from drills.grading import Sureness
from drills.phrases import clock, count
from drills.screens.base import DeskScreen
from drills.screens.card_face import Face, Layout, in_place_of_a_card, lay_out
from drills.screens.card_words import Stories, answered, asking, stories, verdict
from drills.screens.widgets.key_line import KeyLine
from drills.screens.widgets.ready_lines import ReadyLines
from drills.service.drilling import DrillSession
from drills.service.showing import Reveal, Showing

# A scale of levels is the longest list of options.
OPTIONS = 5
# Bars are no longer than this, however wide the terminal.
_WIDEST_STORY = 108
# From so many lines below the status on, the reveal has room for the causes.
_ROOMY = 28
_ASKING = ("undo", "finish", "help")
_REVEALED = ("next", "undo", "why", "dispute", "finish", "help")


def _answer_bindings() -> list[BindingType]:
    return [
        Binding(
            key,
            f"answer('{side}', {int(sureness)})",
            f"{side}, {sureness.label}",
            id=f"{side}-{sureness.label}",
            show=False,
            tooltip=f"{side} glass, {sureness.label}",
        )
        for key, side, sureness in ANSWER_KEYS
    ]


class DrillScreen(DeskScreen[None]):
    """Runs one drill."""

    ABOUT = (
        "Two wines, one contrast. Answer with one key that says which and how sure. "
        "Where several answers stand, pick one with 1 to 5; the six keys then say how sure. "
        "A right guess is not counted as known. Weights are in decibans (db): ten times the "
        "logarithm of how much likelier one wine makes the cue."
    )
    DEFAULT_CSS = "DrillScreen #card { height: 1fr; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        *_answer_bindings(),
        *(
            Binding(
                str(n),
                f"pick({n - 1})",
                f"option {n}",
                id=f"option-{n}",
                show=False,
                tooltip="pick that option, then say how sure",
            )
            for n in range(1, OPTIONS + 1)
        ),
        Binding("space,enter", "next", "next card", id="next"),
        Binding("u", "undo", "undo", id="undo", tooltip="take the last answer back"),
        Binding("e", "longer", "longer", id="longer", show=False, tooltip="two minutes more"),
        Binding("w", "why", "why", id="why", tooltip="why: causes, and where each fact is from"),
        Binding("x", "dispute", "dispute", id="dispute", tooltip="dispute a fact of the card"),
        Binding("escape", "finish", "finish", id="finish", tooltip="finish this drill"),
    ]

    def __init__(self, session: DrillSession) -> None:
        super().__init__()
        self.session = session
        self.showing: Showing | None = None
        self.reveal: Reveal | None = None
        self.card = ReadyLines(id="card")
        self.keys: dict[str, tuple[str, str, str]] = {}
        self._face: Face | None = None
        self.laid_out: Layout | None = None
        self._room_then = Size(0, 0)
        self._picked: int | None = None
        self._given: str | int | None = None
        self._shown_at = 0.0
        self._told_unended = False
        # Why there is no first card.
        self._trouble = ""
        self._ahead: tuple[Showing, Size, Stories] | None = None

    def compose(self) -> ComposeResult:
        """Everything there will ever be on this screen."""
        yield self.card
        yield KeyLine(*_ASKING)

    def on_mount(self) -> None:
        """Show the first card and start the clock."""
        for side in ("left", "right"):
            sure, leaning, guess = (
                self.key_of(f"{side}-{one.label}")
                for one in (Sureness.SURE, Sureness.LEANING, Sureness.GUESS)
            )
            self.keys[side] = (sure, leaning, guess)
        self.set_interval(1.0, self._put_on)
        self._next()

    def on_ready_lines_resized(self) -> None:
        """Draw the card for the room that it has now."""
        if self._room_then == self._room:
            return
        if self.reveal is not None and self._given is not None:
            self._reveal(self.reveal, self._given)
        elif self._face is not None:
            self._lay_out(self._face)
        else:
            self._put_on()

    # ---- what is shown

    @property
    def _room(self) -> Size:
        """Columns and lines for a card below the status; guessed until the screen is laid out."""
        width, height = self.card.size or (self.app.size.width, self.app.size.height - 1)
        return Size(width, height - 1)

    def _lay_out(self, face: Face) -> None:
        self._face = face
        self._room_then = self._room
        self.laid_out = lay_out(face, *self._room)
        self._put_on()

    def _put_on(self) -> None:
        """Put the card on the terminal, with the time that is left."""
        if self.laid_out is not None:
            self.card.show([self._status(), *self.laid_out.lines])
        elif self._trouble:
            keys = f"{self.key_of('next')} tries again, {self.key_of('finish')} leaves the drill"
            told = in_place_of_a_card(f"{self._trouble}. {keys}.", self._room.width)
            self.card.show([self._status(), *told])

    def _status(self) -> Content:
        session = self.session
        left = f"{clock(session.left)} left" if session.left > 0 else "time is up: last card"
        right = sum(done.correct for done in session.reveals)
        told = f"{left}    {count(session.answered, 'answer')}, {right} right"
        if session.waiting:
            told += f"    server away: {session.waiting} wait here"
        line = Content.assemble((" crosspour  ", "bold $primary"), told)
        return line.pad_right(max(self._room.width - line.cell_length, 0)).stylize("on $panel")

    def _next(self) -> None:
        try:
            showing = self.session.next()
        except DrillsError as error:
            # Nothing is lost: going on tries again.
            words = str(error) if self.session.kept else f"Not kept yet: {error}"
            if self.showing is None:
                self._trouble = words
                self._put_on()
            else:
                self.notify(words, severity="error", markup=False)
            return
        self._trouble = ""
        if showing is None:
            self._finish()
        else:
            self._show(showing)

    def _show(self, showing: Showing) -> None:
        self.showing, self.reveal, self._picked, self._given = showing, None, None, None
        self._lay_out(asking(showing, self.keys, None))
        self.query_one(KeyLine).show(_ASKING)
        self.call_after_refresh(self._tell_ahead)
        self._shown_at = self.desk.clock.stopwatch()

    # ---- what the taster does

    def action_pick(self, place: int) -> None:
        """Pick one of the options."""
        showing = self.showing
        if showing is None or self.reveal is not None:
            return
        if place < len(showing.question.options):
            self._picked = place
            self._lay_out(asking(showing, self.keys, place))

    def action_answer(self, side: str, sureness: int) -> None:
        """Answer, and how sure."""
        showing = self.showing
        if showing is None or self.reveal is not None:
            return
        given: str | int
        if showing.question.options:
            if self._picked is None:
                return
            given = self._picked
        else:
            given = showing.question.left if side == "left" else showing.question.right
        seconds = self.desk.clock.stopwatch() - self._shown_at
        try:
            reveal = self.session.judge(given, Sureness(sureness), seconds)
        except DrillsError as error:
            # The card stays open, so nothing is lost: the same key tries again.
            self.notify(str(error), severity="error", markup=False)
            return
        self._reveal(reveal, given)
        # The taster need not wait for the disk, or for a group's server; the next card does.
        self.call_after_refresh(self._keep)

    def _keep(self) -> None:
        try:
            self.session.keep()
        except DrillsError as error:
            self.notify(
                f"Not kept yet: {error}. Going on tries again.", severity="error", markup=False
            )
            return
        if self.session.waiting:
            self._put_on()
        self._prepare()

    def on_unmount(self) -> None:
        """Keep what was answered just before the program is told to end."""
        try:
            self.keep_now()
        except DrillsError as error:
            self.last_words(f"the last answer is not kept: {error}")

    def keep_now(self) -> None:
        """Keep the answer that is not kept yet.

        Raises:
            DrillsError: it cannot be kept.
        """
        self.session.keep()

    def _prepare(self) -> None:
        # What cannot be read now is read, and told, when the taster goes on.
        with suppress(DrillsError):
            self.session.prepare()
        if self.session.upcoming is not None:
            self._make_ready(asking(self.session.upcoming, self.keys, None))

    def _tell_ahead(self) -> None:
        """Work out what the reveal will say while the taster thinks: the answer comes sooner."""
        showing, face = self.showing, self._face
        if showing is None or face is None or self.reveal is not None:
            return
        # What cannot be read now is read with the answer.
        with suppress(DrillsError):
            self.session.read_ahead()
        told = self._stories(showing, self.session.explanation(showing))
        self._ahead = (showing, self._room, told)
        for given in (showing.question.left, showing.question.right):
            if not showing.question.options:
                self._make_ready(answered(face, showing, given, Content(""), told, bare=False))

    def _make_ready(self, face: Face) -> None:
        self.card.make_ready(lay_out(face, *self._room).lines)

    def _reveal(self, reveal: Reveal, given: str | int) -> None:
        self.reveal, self._given = reveal, given
        face, showing = asking(reveal.showing, self.keys, None), reveal.showing
        self._lay_out(
            answered(
                face,
                showing,
                given,
                verdict(reveal, self._room.width),
                self._stories(showing, reveal.explanation),
                bare=self._bare(showing),
            )
        )
        self.query_one(KeyLine).show(_REVEALED)

    def _bare(self, showing: Showing) -> bool:
        """Whether options and reveal need the lines of the glasses."""
        form, options = showing.question.form, showing.question.options
        return bool(options) and (self._room.height < _ROOMY or form is Form.NAME_IT)

    def _stories(self, showing: Showing, story: Explanation) -> Stories:
        if self._ahead is not None and self._ahead[:2] == (showing, self._room):
            return self._ahead[2]
        return stories(
            showing,
            story,
            max(min(self._room.width - 4, _WIDEST_STORY), 1),
            causes=self._room.height >= _ROOMY,
            names=self._bare(showing),
        )

    def action_next(self) -> None:
        """Go on to the next card."""
        if self.reveal is not None or self.showing is None:
            self._next()

    def action_undo(self) -> None:
        """Take the last answer back and ask again."""
        try:
            showing = self.session.undo()
        except DrillsError as error:
            self.notify(f"Not undone: {error}", severity="error", markup=False)
            return
        if showing is None:
            self.notify("There is no answer to take back.")
        else:
            self._show(showing)

    def action_why(self) -> None:
        """Explain the reveal in full."""
        if self.reveal is not None:
            from drills.screens.why import WhyScreen

            self.app.push_screen(WhyScreen(self.reveal), self._after_why)

    def _after_why(self, dispute: bool | None) -> None:
        if dispute:
            self.action_dispute()

    def action_dispute(self) -> None:
        """Say what the table should say of a cue of this card."""
        if self.reveal is not None:
            from drills.screens.dispute import DisputeScreen

            self.app.push_screen(DisputeScreen(self.desk, self.reveal), self._after_dispute)

    def _after_dispute(self, changed: bool | None) -> None:
        """Go on with the changed table, from the next card."""
        if not changed:
            return
        try:
            taken_back = self.session.table_changed()
        except DrillsError as error:
            self.notify(f"{error}", severity="error", markup=False)
            return
        if taken_back:
            self.notify("Kept. Your answer is taken back: its card no longer stands.")
            self._next()
        else:
            self.notify("Kept. The cards follow from the next one.")
            self.call_after_refresh(self._prepare)

    def action_longer(self) -> None:
        """Go on for two minutes more."""
        self.session.extend()
        self._put_on()

    def action_finish(self) -> None:
        """End the drill here."""
        self._finish()

    def _finish(self) -> None:
        try:
            summary = self.session.end()
        except DatabaseCorrupt as error:
            from drills.screens.backups import BackupsScreen

            self.app.push_screen(BackupsScreen(str(error)))
            return
        except DrillsError as error:
            self._leave_unended(error)
            return
        from drills.screens.summary import SummaryScreen

        self.app.switch_screen(SummaryScreen(summary))

    def _leave_unended(self, error: DrillsError) -> None:
        """Say why the end cannot be kept; told once, the same key leaves all the same."""
        if not self._told_unended:
            self._told_unended = True
            kept = "Your answers" if self.session.kept else "All answers but the last"
            words = f"{error}. {kept} are kept; once more leaves without the summary."
            self.notify(words, severity="error", markup=False)
            return
        from drills.screens.opening import go_home

        go_home(self.app)

    def on_click(self, event: Click) -> None:
        """Answer or pick what was clicked; anywhere else goes on once the answer is out."""
        if self.reveal is not None:
            self.action_next()
        elif event.widget is self.card and self.laid_out is not None:
            # Above the layout stands the status.
            place = event.y - 1
            if (answer := self.laid_out.answer_at(event.x, place)) is not None:
                self.action_answer(answer[0], int(answer[1]))
            elif (option := self.laid_out.option_at(place)) is not None:
                self.action_pick(option)
