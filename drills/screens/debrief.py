"""The debrief of a pour: one sentence on what to check next time, then the evidence for it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from cards.errors import CardsError
from cards.explaining import CueStory
from cards.lexicon import ALCOHOL
from drills.errors import DrillsError
from drills.screens.base import DeskScreen
from drills.screens.tasting_flight import start_anew
from drills.screens.widgets.bars import side_names, story_lines
from drills.screens.widgets.key_line import KeyLine
from drills.screens.widgets.scale_row import SURENESS_LABELS
from drills.service.desk import Desk
from drills.service.tasting import DebriefedPour, debrief_flight, debrief_pours
from drills.storage.records import FlightRecord
from drills.tastings.cells import printable
from drills.tastings.debrief import Debrief
from drills.tastings.misread import Misread
from drills.tastings.notes import FullPour

_MOST_WIDTH = 108


class DebriefScreen(DeskScreen[str | None]):
    """Shows one pour after another; gives back “next” where the taster goes on with the flight."""

    ABOUT = (
        "What you noted, held against what it was. A bar to the right speaks for the wine that it "
        "was, a bar to the left for the other. Weights are in decibans (db): ten times the "
        "logarithm of how much likelier one wine makes what you noted."
    )
    DEFAULT_CSS = """
    DebriefScreen {
        #head { dock: top; height: 1; background: $panel; padding: 0 1; }
        #page { height: 1fr; padding: 0 1; scrollbar-size-vertical: 1; }
        #next-time { height: auto; margin: 1 0; padding: 0 1; text-style: bold;
                     border-left: thick $accent; }
        #told { height: auto; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("n,space,enter", "turn(1)", "next pour", id="next-pour"),
        Binding("p", "turn(-1)", "pour before", id="pour-before"),
        Binding(
            "d", "drill", "drill this pair", id="drill-pair", tooltip="drill the two wines now"
        ),
        Binding("w", "why", "why", id="why-cues", tooltip="causes, and where the facts are from"),
        Binding(
            "e", "correct", "correct", id="correct", tooltip="correct what is kept of this pour"
        ),
        Binding("escape,q", "back", "back", id="back", key_display="esc"),
    ]

    def __init__(
        self, pours: Sequence[DebriefedPour], *, flight: str = "", at: int = 0, live: bool = False
    ) -> None:
        """`live` says that the flight is still being entered: the next pour is on its page."""
        super().__init__()
        self.pours = list(pours)
        self.at = at
        self._flight = flight
        self._live = live
        self._why = False

    @classmethod
    def of_flight(cls, desk: Desk, flight: FlightRecord) -> DebriefScreen:
        """The debriefs of a kept flight; StorageError."""
        day = f"  {flight.tasted_on.isoformat()}" if flight.tasted_on else ""
        return cls(debrief_flight(desk, flight).pours, flight=f"{flight.name}{day}")

    def compose(self) -> ComposeResult:
        """The head, the sentence, and all the rest in one column."""
        yield Static("", id="head", markup=False)
        with VerticalScroll(id="page"):
            yield Static("", id="next-time", markup=False)
            yield Static("", id="told", markup=False)
        yield KeyLine("next-pour", "drill-pair", "why-cues", "correct", "help", "back")

    def on_mount(self) -> None:
        """Show the first pour."""
        self.query_one("#page").focus()

    def on_resize(self) -> None:
        """Draw the bars anew for another width."""
        self.show_pour()

    @property
    def shown(self) -> DebriefedPour:
        """The pour on the screen."""
        return self.pours[self.at]

    def show_pour(self) -> None:
        """Show the pour."""
        shown = self.shown
        of = f" of {len(self.pours)}" if len(self.pours) > 1 else ""
        place = shown.pour.position if self._live else self.at + 1
        self.query_one("#head", Static).update(
            Content.assemble(
                ("debrief  ", "bold $primary"),
                (f"pour {place}{of}  ", "bold"),
                (printable(self._flight), "dim"),
            )
        )
        found = shown.debrief
        sentence = found.next_time if found else f"No debrief: {shown.reason}."
        self.query_one("#next-time", Static).update(Content(printable(sentence)))
        lines = list(self._told(shown.pour, found)) if found else list(self._calls(shown.pour))
        self.query_one("#told", Static).update(Content("\n").join(lines))
        self.query_one("#page", VerticalScroll).scroll_home(animate=False)
        self.query_one(KeyLine).redraw()

    # ---- what is told

    def _told(self, pour: FullPour, found: Debrief) -> Iterator[Content]:
        yield from self._calls(pour)
        yield from self._standing(found)
        width = min(self.size.width - 4, _MOST_WIDTH)
        other, was = self.desk.short(found.other), self.desk.short(found.was)
        stories = (*found.speaks_for, *found.speaks_against)
        if stories:
            yield Content("")
            better, chance = (
                (was, found.chance) if found.balance >= 0 else (other, 1 - found.chance)
            )
            yield Content.assemble(
                ("what you noted", "bold $primary"),
                f"   {abs(found.balance):.1f} db for {better} ({_share(chance)} of the two)",
            )
            yield side_names(other, was, width)
            for story in sorted(stories, key=lambda one: -abs(one.weight)):
                yield story_lines(story, width)
                yield from self._because(story)
        else:
            yield Content("")
            if pour.note.readings:
                yield Content(f"Nothing that you noted tells {was} from {other}.")
            else:
                yield Content("Nothing was noted that a wine could be told by.")
        if found.missed:
            yield Content("")
            yield Content.styled(f"not checked, and would speak for {was}", "bold $primary")
            for missed in found.missed:
                yield Content.assemble(
                    f"  {missed.story.words:<26} ",
                    (f"{missed.story.weight:>5.1f} db", "bold"),
                    ("   would have settled it" if missed.settles else "", "$success"),
                )
                yield from self._because(missed.story)
        if found.misread:
            yield Content("")
            yield Content.styled(f"read otherwise than {was} shows it", "bold $primary")
            for misread in found.misread:
                yield _misread(misread)
        yield from self._rest(found)

    def _calls(self, pour: FullPour) -> Iterator[Content]:
        name = self._short
        parts: list[tuple[str, str]] = []
        if pour.final.text:
            sure = f", {SURENESS_LABELS[pour.final.sureness - 1]}" if pour.final.sureness else ""
            year = f" {pour.final.vintage}" if pour.final.vintage else ""
            parts += [
                ("called ", "dim"),
                (f"{name(pour.final.text, pour.final.wine)}{year}", "bold"),
                (f"{sure}   ", "dim"),
            ]
        else:
            parts.append(("no final call   ", "dim"))
        if pour.reveal.text:
            year = f" {pour.reveal_vintage}" if pour.reveal_vintage else ""
            parts += [
                ("was ", "dim"),
                (f"{name(pour.reveal.text, pour.reveal.wine)}{year}", "bold $success"),
            ]
        yield Content.assemble(*parts)

    def _standing(self, found: Debrief) -> Iterator[Content]:
        if found.rank is not None and found.probability is not None:
            told = (
                f"By your note it ranked {_nth(found.rank)} of {found.wines} wines, "
                f"{_share(found.probability)} probable"
            )
            if (
                found.pair is not None
                and found.called_rank is not None
                and found.called_probability is not None
            ):
                told += (
                    f"; {self.desk.short(found.pair[0])} {_nth(found.called_rank)}, "
                    f"{_share(found.called_probability)}"
                )
            yield Content(f"{told}.")
        if found.first is not None:
            yield Content(found.first.words)
        if found.struck:
            yield Content(f"It was among your candidates, struck off: “{printable(found.struck)}”.")
        elif found.considered and not found.right:
            yield Content("It was among your candidates.")
        if found.vintage_off:
            years = abs(found.vintage_off)
            side = "too young" if found.vintage_off > 0 else "too old"
            yield Content(f"The vintage you called is {years} year{'s' * (years > 1)} {side}.")

    def _rest(self, found: Debrief) -> Iterator[Content]:
        if found.likeliest:
            yield Content("")
            yield Content.styled("likeliest by your note alone", "bold $primary")
            for wine, chance in found.likeliest:
                yield Content(f"  {self.desk.short(wine):<26} {_share(chance):>8}")
        if found.unknown_words:
            words = ", ".join(f"“{printable(word)}”" for word in found.unknown_words)
            yield Content("")
            yield Content.styled(f"kept as typed, weighed as nothing: {words}", "dim")

    def _because(self, story: CueStory) -> Iterator[Content]:
        if not self._why:
            return
        basis = story.citation or story.basis
        words = f"{story.because} " if story.because else ""
        told = Content(f"{words}[{basis}]")
        for line in told.wrap(max(self.size.width - 8, 20)):
            yield Content.assemble("    ", line).stylize("italic dim")

    def _short(self, text: str, wine: str | None) -> str:
        return self.desk.short(wine) if wine else printable(text)

    # ---- what the taster does

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only what can be done stands at the foot."""
        found = self.shown.debrief
        if action == "drill":
            return found is not None and found.pair is not None
        if action == "why":
            return found is not None
        if action == "correct":
            return self.shown.pour_id is not None
        if action == "turn":
            by = parameters[0]
            assert isinstance(by, int)
            return (self._live and by > 0) or 0 <= self.at + by < len(self.pours)
        return super().check_action(action, parameters)

    def action_turn(self, by: int) -> None:
        """Go to another pour."""
        if self._live:
            self.dismiss("next")
        else:
            self.at += by
            self.show_pour()

    def action_why(self) -> None:
        """Show or hide causes and sources."""
        self._why = not self._why
        self.show_pour()

    def action_drill(self) -> None:
        """Drill the wine called and the wine it was."""
        from drills.screens.opening import drill_screen

        found = self.shown.debrief
        assert found is not None
        try:
            screen = drill_screen(self.desk, pair=found.pair)
        except (CardsError, DrillsError) as error:
            self.notify(str(error), severity="error", markup=False)
        else:
            start_anew(self, screen)

    def action_correct(self) -> None:
        """Correct the calls, or what it was."""
        from drills.screens.correct import CorrectScreen

        shown = self.shown
        assert shown.pour_id is not None
        self.app.push_screen(CorrectScreen(self.desk, shown.pour_id, shown.pour), self._corrected)

    def _corrected(self, after: FullPour | None) -> None:
        if after is None:
            return
        self.pours[self.at] = replace(
            debrief_pours(self.desk, [after])[0], pour_id=self.shown.pour_id
        )
        self.show_pour()
        self.notify(f"Pour {after.position} is corrected.", markup=False)

    def action_back(self) -> None:
        """Go back to where the debrief was asked for."""
        self.dismiss(None)


def _nth(rank: int) -> str:
    ending = "th" if 10 <= rank % 100 <= 20 else {1: "st", 2: "nd", 3: "rd"}.get(rank % 10, "th")
    return f"{rank}{ending}"


def _share(chance: float) -> str:
    return "under 1%" if chance < 0.01 else "over 99%" if chance > 0.99 else f"{chance:.0%}"


def _misread(one: Misread) -> Content:
    if one.off is None:
        off = ""
    elif one.attribute == ALCOHOL:
        off = f"{abs(one.off):g}% vol too {'high' if one.off > 0 else 'low'}"
    else:
        levels = round(abs(one.off))
        off = f"{levels} level{'s' * (levels > 1)} too {'high' if one.off > 0 else 'low'}"
    against = "the label says" if one.against == "label" else "it shows"
    cost = f"cost {one.cost:.1f} db" if one.cost >= 0.05 else ""
    parts: list[str | tuple[str, str]] = [
        "  you read ",
        (one.read, "bold"),
        f", {against} ",
        (one.shows, "bold"),
    ]
    if off or cost:
        parts += ["\n    ", (off, "$warning"), "   " if off and cost else "", (cost, "dim")]
    return Content.assemble(*parts)
