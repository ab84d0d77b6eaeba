"""The drill screen: two glasses, six keys, the reveal. Built once, updated in place."""

from __future__ import annotations

from contextlib import suppress
from textwrap import shorten
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.events import Click
from textual.geometry import Size
from textual.message import Message
from textual.widgets import Static

from cards.explaining import Explanation
from cards.questions import Form
from drills.errors import DrillsError
from drills.grading import Sureness
from drills.phrases import clock, count, days
from drills.screens.base import DeskScreen
from drills.screens.in_place import blank, keep_or_put, put, put_within
from drills.screens.widgets.bars import side_names, story_lines, story_width
from drills.screens.widgets.glass import GlassPanel
from drills.screens.widgets.key_line import KeyLine
from drills.service.drilling import DrillSession, Reveal, Showing

# A scale of levels is the longest list of options.
OPTIONS = 5
# From so many columns on, the verdict is said in full.
_WORDY = 72
# From so many lines on, the reveal has room for the causes.
_ROOMY = 30
_ASKING = ("undo", "finish", "help")
_REVEALED = ("next", "undo", "why", "dispute", "finish", "help")


def _answer_bindings() -> list[BindingType]:
    rows = (
        ("a", "left", Sureness.SURE),
        ("s", "left", Sureness.LEANING),
        ("d", "left", Sureness.GUESS),
        ("j", "right", Sureness.GUESS),
        ("k", "right", Sureness.LEANING),
        ("l", "right", Sureness.SURE),
    )
    return [
        Binding(
            key,
            f"answer('{side}', {int(sureness)})",
            f"{side}, {sureness.label}",
            id=f"{side}-{sureness.label}",
            show=False,
            tooltip=f"{side} glass, {sureness.label}",
        )
        for key, side, sureness in rows
    ]


class OptionLine(Static):
    """One answer of a card that offers several; a click picks it."""

    class Picked(Message):
        """The taster clicked the option."""

        def __init__(self, place: int) -> None:
            super().__init__()
            self.place = place

    def __init__(self, place: int) -> None:
        super().__init__(markup=False, classes="option")
        self.place = place

    def on_click(self, event: Click) -> None:
        """Pick it."""
        event.stop()
        self.post_message(self.Picked(self.place))


class DrillScreen(DeskScreen[None]):
    """Runs one drill."""

    ABOUT = (
        "Two wines, one contrast. Answer with one key that says which and how sure. "
        "Where several answers stand, pick one with 1 to 5; the six keys then say how sure. "
        "A right guess is not counted as known. Weights are in decibans (db): ten times the "
        "logarithm of how much likelier one wine makes the cue."
    )
    DEFAULT_CSS = """
    DrillScreen {
        #status { dock: top; height: 1; background: $panel; padding: 0 1; }
        #why-now { height: 1; color: $text-muted; text-align: center; margin-top: 1; }
        #question { height: 1; text-align: center; }
        #cues { height: auto; min-height: 1; text-align: center; text-style: bold;
                color: $primary; margin: 0 2 1 2; }
        #glasses { height: 7; max-width: 110; }
        #middle { align-horizontal: center; height: 7; }
        .option { height: 1; padding: 0 1; }
        .option.-picked { background: $boost; text-style: bold; }
        .option:hover { background: $boost; }
        #reveal { height: 1fr; align-horizontal: center; scrollbar-size-vertical: 1;
                  scrollbar-gutter: stable; }
        #verdict { height: 1; text-align: center; }
        #stories { height: auto; }
    }
    """
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
        self._picked: int | None = None
        self._shown_at = 0.0
        self._ahead: tuple[Showing, Size, Content] | None = None

    def compose(self) -> ComposeResult:
        """Everything there will ever be on this screen."""
        yield Static("", id="status", markup=False)
        yield Static("", id="why-now", markup=False)
        yield Static("", id="question", markup=False)
        yield Static("", id="cues", markup=False)
        with Horizontal(id="middle"), Horizontal(id="glasses"):
            yield GlassPanel("left")
            yield GlassPanel("right")
        with VerticalScroll(id="reveal", can_focus=False):
            for place in range(OPTIONS):
                yield OptionLine(place)
            yield Static("", id="verdict", markup=False)
            yield Static("", id="stories", markup=False)
        yield KeyLine(*_ASKING)

    def on_mount(self) -> None:
        """Show the first card and start the clock."""
        for panel in self.query(GlassPanel):
            panel.show_keys({s: self.key_of(f"{panel.side}-{s.label}") for s in Sureness})
        self.set_interval(1.0, self._tick)
        self._next()

    def on_resize(self) -> None:
        """Give the bars their width: a fixed one, so that a reveal needs no new layout."""
        self.query_one("#stories", Static).styles.width = story_width(self._wide)

    @property
    def _wide(self) -> int:
        """The columns that a reveal may take."""
        return max(min(self.size.width - 4, 108), 1)

    # ---- what is shown

    def _tick(self) -> None:
        session = self.session
        left = f"{clock(session.left)} left" if session.left > 0 else "time is up: last card"
        right = sum(done.correct for done in session.reveals)
        told = count(session.answered, "answer")
        self.query_one("#status", Static).update(
            Content.assemble(("crosspour  ", "bold $primary"), f"{left}    {told}, {right} right"),
            layout=False,
        )

    def _next(self) -> None:
        try:
            showing = self.session.next()
        except DrillsError as error:
            # Nothing is lost: going on tries again.
            self.notify(str(error), severity="error", markup=False)
            return
        if showing is None:
            self._finish()
        else:
            self._show(showing)

    def _show(self, showing: Showing) -> None:
        self.showing, self.reveal, self._picked = showing, None, None
        question = showing.question
        self._make_bare(False)
        why = f"{showing.why.value}: {showing.reason}" if showing.reason else showing.why.value
        keep_or_put(self.query_one("#why-now", Static), Content(why))
        for side, glass in (("left", showing.left), ("right", showing.right)):
            panel = self.query_one(f"#{side}", GlassPanel)
            if question.form is Form.NAME_IT:
                # The names would halve the choice; the keys below them are still needed.
                panel.pour("how sure?", "")
            else:
                panel.pour(glass.name, glass.place)
        if question.form in (Form.WHICH_CUE, Form.WHICH_LEVEL):
            self._panel(question.truth).mark("this one is poured", true=True)
        words, cues = self._asked(showing)
        keep_or_put(self.query_one("#question", Static), Content(words))
        put(self.query_one("#cues", Static), Content(cues))
        for line in self.query(OptionLine):
            wanted = line.place < len(question.options)
            if wanted or line.display:
                line.display = wanted
                line.remove_class("-picked")
            if wanted:
                words = question.options[line.place].words
                told = Content.assemble((f" {line.place + 1} ", "bold"), words)
                line.update(told, layout=False)
        self.query_one("#verdict", Static).update("", layout=False)
        blank(self.query_one("#stories", Static))
        self.query_one(KeyLine).show(_ASKING)
        self._tick()
        self._ahead = None
        self.call_after_refresh(self._explain_ahead)
        self._shown_at = self.desk.clock.stopwatch()

    def _make_bare(self, bare: bool) -> None:
        """Take the glasses off the screen, or put them back; nothing else is styled anew for it."""
        self.set_class(bare, "-bare", update=False)
        self.query_one("#middle").display = not bare

    @staticmethod
    def _asked(showing: Showing) -> tuple[str, str]:
        """The question, and the line of cues below it."""
        question = showing.question
        names = {glass.wine: glass.name for glass in (showing.left, showing.right)}
        true, other = names[question.truth], names[question.other]
        cues = "  +  ".join(reading.words for reading in question.readings)
        pick = f"pick 1 to {len(question.options)}, then say how sure"
        if question.form is Form.WHICH_CUE:
            return f"{true} is poured. Which cue tells it from {other}?", pick
        if question.form is Form.WHICH_LEVEL:
            return f"{true}: where does its {cues} stand?", pick
        if question.form is Form.NAME_IT:
            return "Which wine is this?", cues.replace("  +  ", ", ")
        return "Which of these two?", cues

    def _panel(self, wine: str) -> GlassPanel:
        assert self.showing is not None
        side = "left" if self.showing.question.left == wine else "right"
        return self.query_one(f"#{side}", GlassPanel)

    # ---- what the taster does

    def action_pick(self, place: int) -> None:
        """Pick one of the options."""
        showing = self.showing
        if showing is None or self.reveal is not None:
            return
        if place < len(showing.question.options):
            self._picked = place
            for line in self.query(OptionLine):
                line.set_class(line.place == place, "-picked")
            if showing.question.form is not Form.NAME_IT:
                put(self.query_one("#cues", Static), Content("how sure?"))

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
            reveal = self.session.answer(given, Sureness(sureness), seconds)
        except DrillsError as error:
            # The card stays open, so nothing is lost: the same key tries again.
            self.notify(f"Not kept: {error}", severity="error", markup=False)
            return
        self._reveal(reveal, given)
        self.call_after_refresh(self._prepare)

    def _prepare(self) -> None:
        # What cannot be read now is read, and told, when the taster goes on.
        with suppress(DrillsError):
            self.session.prepare()

    def _reveal(self, reveal: Reveal, given: str | int) -> None:
        self.reveal = reveal
        question = reveal.showing.question
        truth = self._panel(question.truth)
        if isinstance(given, str):
            self._panel(given).mark("your answer", said=True)
            truth.mark("this one, as you said" if reveal.correct else "it was this", true=True)
        else:
            for line, option in zip(self.query(OptionLine), question.options, strict=False):
                sign = "✓" if option.distance == 0 else "✗" if line.place == given else " "
                told = Content.assemble((f" {sign} {line.place + 1} ", "bold"), option.words)
                line.update(told, layout=False)
            # The options and the reveal share the lines that the glasses took.
            self._make_bare(self.size.height < _ROOMY or question.form is Form.NAME_IT)
        area = self.query_one("#reveal", VerticalScroll)
        verdict, stories = self.query_one("#verdict", Static), self.query_one("#stories", Static)
        verdict.update(self._verdict(reveal), layout=False)
        put_within(
            stories,
            self._stories(reveal.showing, reveal.explanation),
            area.size.height - verdict.size.height,
        )
        if area.scroll_y:
            area.scroll_home(animate=False)
        self.query_one(KeyLine).show(_REVEALED)
        self._tick()

    def _verdict(self, reveal: Reveal) -> Content:
        story = reveal.explanation
        if reveal.correct:
            head = ("✓ right", "bold $success")
        elif reveal.near:
            head = ("≈ one level off", "bold $warning")
        elif reveal.dangerous:
            head = ("✗ wrong, though sure", "bold $error")
        else:
            head = ("✗ wrong", "bold $error")
        if reveal.back_in is None:
            after = "a check, not counted"
        else:
            after = f"back {days(reveal.back_in)}"
            if reveal.correct and reveal.sureness is Sureness.GUESS:
                after += ", as a guess"
        sure = "over 99%" if story.probable > 0.99 else f"{story.probable:.0%}"
        # One line, whatever it says: another height would lay the screen out anew.
        told = f"   {sure} probable" + (" by these cues" if self._wide >= _WORDY else "")
        if reveal.showing.question.form is Form.WHICH_LEVEL:
            told = ""
        return Content.assemble(head, told, (f"   {after}", "dim"))

    def _explain_ahead(self) -> None:
        """Work out what the reveal will say while the taster thinks: the answer comes sooner."""
        showing = self.showing
        if showing is not None and self.reveal is None and not showing.question.options:
            told = self._stories(showing, self.session.explanation(showing))
            self._ahead = (showing, self.size, told)

    def _stories(self, showing: Showing, story: Explanation) -> Content:
        if self._ahead is not None and self._ahead[:2] == (showing, self.size):
            return self._ahead[2]
        width = self._wide
        parts = []
        if self.has_class("-bare"):
            parts.append(side_names(showing.left.name, showing.right.name, width))
        for one in story.cues:
            parts.append(story_lines(one, width))
            if self.size.height >= _ROOMY and one.because:
                words = shorten(one.because, story_width(width), placeholder=" …")
                parts.append(Content.styled(words.center(story_width(width)), "dim"))
        if story.also:
            words = "also worth checking".center(story_width(width))
            parts.append(Content.styled(words, "dim"))
            parts += [story_lines(one, width, faint=True) for one in story.also]
        return Content("\n").join(parts)

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
            self.call_after_refresh(self.session.prepare)

    def action_longer(self) -> None:
        """Go on for two minutes more."""
        self.session.extend()
        self._tick()

    def action_finish(self) -> None:
        """End the drill here."""
        self._finish()

    def _finish(self) -> None:
        try:
            summary = self.session.end()
        except DrillsError as error:
            self.notify(f"{error}", severity="error", markup=False)
            return
        from drills.screens.summary import SummaryScreen

        self.app.switch_screen(SummaryScreen(summary))

    def on_glass_panel_chosen(self, message: GlassPanel.Chosen) -> None:
        """A click under a glass."""
        self.action_answer(message.side, int(message.sureness))

    def on_option_line_picked(self, message: OptionLine.Picked) -> None:
        """A click on a cue."""
        self.action_pick(message.place)

    def on_click(self) -> None:
        """A click anywhere else goes on once the answer is out."""
        self.action_next()
