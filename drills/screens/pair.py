"""One pair: what was confused when, which cues were missed, how its cards stand, what to do."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from cards.errors import CardsError
from drills.errors import DrillsError
from drills.phrases import count, days
from drills.screens.base import DeskScreen
from drills.screens.weak import interval
from drills.screens.widgets.key_line import KeyLine
from drills.service.weak import Corner, PairPage, pair_page

# So many pours stand in the strip and in the list below it.
_STRIP, _LISTED = 40, 8
_BAR = 10


class PairScreen(DeskScreen[None]):
    """Shows all that is known of two wines."""

    ABOUT = (
        "What the log and the cards say of two wines. In the strip a filled mark is a pour called "
        "rightly, a cross one called the other wine, the oldest first."
    )
    DEFAULT_CSS = """
    PairScreen {
        VerticalScroll { padding: 0 2; scrollbar-size-vertical: 1; }
        #names { dock: top; height: 1; background: $panel; padding: 0 1; text-style: bold; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("d", "drill_pair", "drill", id="drill-pair", tooltip="drill this pair"),
        Binding("c", "compare", "compare", id="compare-pair", tooltip="the two side by side"),
        Binding("escape", "app.pop_screen", "back", id="back"),
    ]

    def __init__(self, one: str, other: str) -> None:
        super().__init__()
        self._wines = (one, other)
        self.page: PairPage | None = None

    def compose(self) -> ComposeResult:
        """The names, then one column."""
        yield Static("", id="names", markup=False)
        with VerticalScroll():
            yield Static("counting…", id="told", markup=False)
        yield KeyLine("drill-pair", "compare-pair", "help", "back")

    def on_mount(self) -> None:
        """Count in the background."""
        one, other = map(self.desk.short, self._wines)
        self.query_one("#names", Static).update(Content(f"{one} / {other}"))
        self.query_one(VerticalScroll).focus()
        self._count()

    @work(thread=True, exclusive=True)
    def _count(self) -> None:
        try:
            page = pair_page(self.desk, *self._wines)
        except (CardsError, DrillsError) as error:
            self.app.call_from_thread(self._say, Content(str(error)))
        else:
            self.app.call_from_thread(self._show, page)

    def _say(self, words: Content) -> None:
        self.query_one("#told", Static).update(words)

    def _show(self, page: PairPage) -> None:
        self.page = page
        self._say(Content("\n").join(self._told(page)))

    def _told(self, page: PairPage) -> Iterator[Content]:
        yield Content("")
        if page.corner is None:
            yield Content("You have not confused these two in a logged tasting.")
        else:
            verdict, standing = page.corner.verdict, page.corner.standing
            yield Content.styled(verdict.sentence, "bold")
            yield Content("")
            rate = page.corner.glass.rate
            luck = f"{standing.p_value:{'.0%' if standing.p_value >= 0.1 else '.1%'}}"
            yield Content(
                f"glass: {verdict.glass} ({standing.state}); {standing.right} of the last "
                f"{standing.n} pours right, and luck alone does as well in "
                f"{luck} of tries; one is called the other in {rate.value:.0%} of "
                f"pours (90% interval {rate.low:.0%} to {rate.high:.0%})"
            )
            if standing.resolved_before:
                times = "once" if standing.resolved_before == 1 else f"{standing.resolved_before} x"
                yield Content(f"       resolved {times} before, and confused again since")
            yield Content(f"theory: {verdict.theory}; {self._theory(page)}")
            yield from self._apart(page.corner)
        yield from self._both_ways(page)
        yield from self._history(page)
        yield from self._missed(page)
        yield from self._cards(page)

    @staticmethod
    def _theory(page: PairPage) -> str:
        assert page.corner is not None
        theory = page.corner.theory
        said = [count(theory.answers, "answer")]
        if theory.recall is not None:
            said.append(f"recall {theory.recall:.0%}")
        if theory.r_index is not None:
            r = theory.r_index
            said.append(f"R-index {r.value:.2f} (95% interval {r.low:.2f} to {r.high:.2f})")
        return ", ".join(said)

    @staticmethod
    def _apart(corner: Corner) -> Iterator[Content]:
        """How far apart the two stand, on one scale for glass and cards."""
        found = {"in the glass": corner.standing.d_prime, "on the cards": corner.theory.d_prime}
        told = [
            f"{one.value:.1f} {where} (95% interval {one.low:.1f} to {one.high:.1f})"
            for where, one in found.items()
            if one is not None
        ]
        if told:
            yield Content(
                f"apart: d-prime {', '.join(told)}; at 0 you cannot tell them apart, from 3 on you "
                "hardly ever mix them up"
            )

    def _both_ways(self, page: PairPage) -> Iterator[Content]:
        if page.ways:
            yield _title("confused, each way")
        for way in page.ways:
            yield Content(
                f"  {self.desk.short(way.was)} called {self.desk.short(way.called)}: "
                f"{way.times} x, rate {way.rate:.0%}\n  0% {interval(way)} 100%  90% interval "
                f"{way.low:.0%} to {way.high:.0%}"
            )

    def _history(self, page: PairPage) -> Iterator[Content]:
        if not page.history:
            return
        yield _title(f"in the glass, {count(len(page.history), 'pour')}")
        recent = page.history[-_STRIP:]
        strip = [("●", "$success") if p.was == p.called else ("✗", "bold $error") for p in recent]
        yield Content.assemble("  ", *strip)
        for pour in reversed(page.history[-_LISTED:]):
            day = pour.tasted_on.isoformat() if pour.tasted_on else "no date   "
            right = pour.was == pour.called
            call = "rightly called" if right else f"called {self.desk.short(pour.called)}"
            mark = "●" if right else "✗"
            yield Content(f"  {mark} {day}  {self.desk.short(pour.was)}, {call}  {pour.flight}")

    def _missed(self, page: PairPage) -> Iterator[Content]:
        if not any(pour.was != pour.called for pour in page.history):
            return
        yield _title("cues that were missed")
        if not page.noted:
            yield Content("  No full note of a confused pour is kept, so nobody can tell.")
        elif not page.missed:
            yield Content("  None: what tells the two apart was looked at each time.")
        for cue in page.missed:
            yield Content(f"  {cue.words}: in {cue.times} of {count(page.noted, 'confused pour')}")

    def _cards(self, page: PairPage) -> Iterator[Content]:
        yield _title("cards")
        if not page.cards:
            yield Content("  No cue of the table tells these two apart on a card.")
        wide = max((len(card.cues) for card in page.cards), default=0)
        for card in page.cards:
            if card.recall is None:
                said = "unseen"
            else:
                full = round(card.recall * _BAR)
                said = (
                    f"{'█' * full}{'░' * (_BAR - full)} recall {card.recall:4.0%}  "
                    f"{card.wrong} wrong of {card.answers}, due {days(card.due_in or 0)}"
                )
            yield Content(f"  {card.cues:<{wide}}  {said}")

    def action_drill_pair(self) -> None:
        """Drill these two wines."""
        from drills.screens.opening import drill_screen, go_drilling

        try:
            screen = drill_screen(self.desk, pair=self._wines)
        except (CardsError, DrillsError) as error:
            self.notify(str(error), severity="error", markup=False)
        else:
            go_drilling(self.app, screen)

    def action_compare(self) -> None:
        """Set the two side by side."""
        from drills.screens.compare import CompareScreen

        self.app.push_screen(CompareScreen(*self._wines))


def _title(words: str) -> Content:
    return Content.assemble("\n", (words, "bold $primary"))
