"""A dispute: the taster says what the table should say of a cue, step by step, all by key."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from cards.errors import CardsError
from cards.lexicon import ALCOHOL, DEPTH, HUE, HUES
from cards.profiles import Profile, Span
from cards.scale import Level, LevelRange, Typical
from cards.wording import profile_words
from drills.errors import DrillsError
from drills.service.showing import Glass, Reveal
from drills.service.table_editing import Disputed, dispute

if TYPE_CHECKING:
    from drills.service.desk import Desk

# A step offers no more than the keys 1 to 9 can pick.
_MOST = 9
_HALF = 0.5
_LEAST_ALCOHOL, _MOST_ALCOHOL = 4.0, 24.0
_LONGEST_REASON = 200
_HOW_OFTEN = {
    Typical.SIGNATURE: "three glasses in four show it",
    Typical.COMMON: "nearly half do",
    Typical.OCCASIONAL: "one in seven",
    Typical.NEVER: "who finds it should doubt the wine",
}


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer of a step; `now` marks what the table says."""

    words: str
    value: Any
    now: bool = False
    more: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """A question of the dispute and what can be said to it."""

    asks: str
    choices: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class OneCue:
    """One cue of two wines, picked already where they are compared."""

    left: Glass
    right: Glass
    attribute: str


class Dispute:
    """What was picked so far, and what is asked next; knows no screen."""

    def __init__(self, desk: Desk, about: Reveal | OneCue) -> None:
        self._desk = desk
        self.picked: list[Any] = []
        if isinstance(about, OneCue):
            self._glasses = (about.left, about.right)
            self._cues = [about.attribute]
            self.picked.append(about.attribute)
        else:
            self._glasses = (about.showing.left, about.showing.right)
            story = about.explanation
            self._cues = list(dict.fromkeys(one.attribute for one in (*story.cues, *story.also)))
        self.given = len(self.picked)

    @property
    def attribute(self) -> str:
        """The disputed cue."""
        return str(self.picked[0])

    @property
    def glass(self) -> Glass:
        """The disputed wine."""
        glass: Glass = self.picked[1]
        return glass

    @property
    def profile(self) -> Profile:
        """The profile of the disputed wine."""
        return self._desk.table.profiles[self.glass.wine]

    def told(self) -> str:
        """What is disputed, as far as it is picked."""
        if len(self.picked) < 2:
            return self._name(self.attribute) if self.picked else ""
        now = profile_words(self.profile, self.attribute, self._desk.table.lexicon)
        return f"{self._name(self.attribute)} of {self.glass.name}; the table says: {now}"

    def step(self) -> Step | None:
        """The next question, or None when everything is picked."""
        match self.picked:
            case []:
                return Step("Which fact is wrong?", tuple(map(self._cue, self._cues)))
            case [_]:
                return Step("Of which wine?", tuple(map(self._wine, self._glasses)))
            case [str(cue), _, *rest]:
                if cue == ALCOHOL:
                    return self._alcohol(rest)
                if cue == HUE:
                    return self._hue(rest)
                if cue == DEPTH or self._is_level(cue):
                    return self._level(rest)
                return self._typical(rest)
        raise AssertionError(self.picked)

    def said(self) -> Disputed:
        """What the taster says instead."""
        first, *rest = self.picked[2:]
        if self.attribute == ALCOHOL:
            return Span(first, rest[0])
        if self.attribute == HUE:
            return (first, *rest[0])
        if self.attribute == DEPTH or self._is_level(self.attribute):
            return LevelRange(first, rest[0])
        said: Disputed = first
        return said

    def _name(self, cue: str) -> str:
        return "depth of colour" if cue == DEPTH else self._desk.table.lexicon.name_of(cue)

    def _is_level(self, cue: str) -> bool:
        return cue not in self._desk.table.lexicon.descriptors

    def _cue(self, cue: str) -> Choice:
        table = self._desk.table
        says = "; ".join(
            f"{glass.name}: {profile_words(table.profiles[glass.wine], cue, table.lexicon)}"
            for glass in self._glasses
        )
        return Choice(self._name(cue), cue, more=f"\n   {says}")

    def _wine(self, glass: Glass) -> Choice:
        table = self._desk.table
        says = profile_words(table.profiles[glass.wine], self.attribute, table.lexicon)
        return Choice(glass.name, glass, more=f"   {says}")

    def _level(self, picked: list[Level]) -> Step | None:
        # A wine whose profile leaves tannin out shows none worth a word.
        typical = self.profile.structure.get(self.attribute, LevelRange(Level.LOW, Level.LOW))
        if self.attribute == DEPTH:
            typical = self.profile.depth
        if not picked:
            choices = (Choice(level.label, level, level == typical.low) for level in Level)
            return Step("From which level?", tuple(choices))
        if len(picked) == 1:
            low = picked[0]
            return Step(
                "Up to which level?",
                tuple(
                    Choice(
                        f"{level.label} only" if level == low else f"{low.label} to {level.label}",
                        level,
                        (low, level) == (typical.low, typical.high),
                    )
                    for level in Level
                    if level >= low
                ),
            )
        return None

    def _alcohol(self, picked: list[float]) -> Step | None:
        typical = self.profile.alcohol
        if not picked:
            choices = _halves(typical.low - 2, typical.low)
            return Step("Four bottles in five lie between, % vol: from?", choices)
        if len(picked) == 1:
            low = picked[0]
            found = _halves(max(low, typical.high - 2), typical.high)
            choices = tuple(Choice(f"{low:g} to {c.words}", c.value, c.now) for c in found)
            return Step("Up to, % vol?", choices)
        return None

    def _hue(self, picked: list[Any]) -> Step | None:
        usual = self.profile.hues
        group = next(group for group in HUES.values() if usual[0] in group)
        if not picked:
            choices = (Choice(_words(hue), hue, hue == usual[0]) for hue in group)
            return Step("Which hue is the usual one?", tuple(choices))
        if len(picked) == 1:
            first = picked[0]
            others: list[tuple[str, ...]] = [(), *((hue,) for hue in group if hue != first)]
            choices = (
                Choice(
                    f"{_words(first)}, sometimes {_words(other[0])}" if other else "no other",
                    other,
                    (first, *other) == usual,
                )
                for other in others
            )
            return Step("Which other is seen?", tuple(choices))
        return None

    def _typical(self, picked: list[Typical | None]) -> Step | None:
        if picked:
            return None
        now = self.profile.descriptors.get(self.attribute)
        choices = [Choice(how, how, how is now, f"   {words}") for how, words in _HOW_OFTEN.items()]
        told = "   the wine is not known for it"
        choices.append(Choice("unlisted", None, now is None, told))
        return Step("How typical is it?", tuple(choices))


def _words(hue: str) -> str:
    return hue.replace("-", " ")


def _halves(start: float, now: float) -> tuple[Choice, ...]:
    """Values in steps of half a per cent from `start`, which labels can state."""
    first = max(round(start / _HALF) * _HALF, _LEAST_ALCOHOL)
    values = [first + _HALF * n for n in range(_MOST)]
    return tuple(
        Choice(f"{value:g}", value, abs(value - now) < _HALF / 2)
        for value in values
        if value <= _MOST_ALCOHOL
    )


class DisputeScreen(ModalScreen[bool]):
    """Asks for the dispute and writes it; its result says whether the table changed."""

    DEFAULT_CSS = """
    DisputeScreen { align: center middle; }
    DisputeScreen > Vertical {
        width: 76; max-width: 95%; height: auto; max-height: 90%;
        border: round $accent; background: $surface; padding: 0 1;
    }
    DisputeScreen #disputed { height: auto; color: $primary; text-style: bold; }
    DisputeScreen #asks { height: auto; }
    DisputeScreen OptionList {
        height: auto; max-height: 12; padding: 0; background: $surface;
        border: none; &:focus { border: none; }
    }
    DisputeScreen Input {
        height: 1; padding: 0 1; background: $boost; border: none; &:focus { border: none; }
    }
    DisputeScreen #refused { height: auto; color: $error; }
    DisputeScreen #keys { height: auto; color: $text-muted; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        *(
            Binding(str(n), f"pick({n - 1})", f"line {n}", id=f"line-{n}", show=False)
            for n in range(1, _MOST + 1)
        ),
        Binding("escape", "back", "back", id="dispute-back", tooltip="one step back"),
    ]

    def __init__(self, desk: Desk, about: Reveal | OneCue) -> None:
        super().__init__()
        self._desk = desk
        self._dispute = Dispute(desk, about)
        self._choices: tuple[Choice, ...] = ()
        self._keeping = False

    def compose(self) -> ComposeResult:
        """What is disputed, the question, its answers, and a line for the reason."""
        with Vertical() as panel:
            panel.border_title = "dispute a fact"
            panel.border_subtitle = "escape goes back"
            yield Static("", id="disputed", markup=False)
            yield Static("", id="asks", markup=False)
            yield OptionList(markup=False)
            yield Input(placeholder="may stay empty", max_length=_LONGEST_REASON)
            yield Static("", id="refused", markup=False)
            yield Static("", id="keys", markup=False)

    def on_mount(self) -> None:
        """Ask the first question."""
        self._ask()

    def _ask(self) -> None:
        step = self._dispute.step()
        self.query_one("#disputed", Static).update(Content(self._dispute.told()))
        self.query_one("#refused", Static).update("")
        lines, reason = self.query_one(OptionList), self.query_one(Input)
        lines.display, reason.display = step is not None, step is None
        if step is None:
            self._choices = ()
            self._tell("Why? It stays beside the fact as a note.", "enter keeps it")
            reason.focus()
            return
        self._choices = step.choices
        lines.clear_options()
        lines.add_options(
            Option(
                Content.assemble(
                    (f" {number} ", "bold"),
                    choice.words,
                    (choice.more, "dim"),
                    ("   ← now" if choice.now else "", "dim"),
                )
            )
            for number, choice in enumerate(step.choices, 1)
        )
        lines.highlighted = next((n for n, c in enumerate(step.choices) if c.now), 0)
        self._tell(step.asks, f"1 to {len(step.choices)}, or up, down and enter")
        lines.focus()

    def _tell(self, asks: str, keys: str) -> None:
        self.query_one("#asks", Static).update(Content(asks))
        self.query_one("#keys", Static).update(Content(keys))

    def action_pick(self, place: int) -> None:
        """Pick a line."""
        if place < len(self._choices):
            self._dispute.picked.append(self._choices[place].value)
            self._ask()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter, or a click."""
        event.stop()
        self.action_pick(event.option_index)

    def action_back(self) -> None:
        """One step back; from the first one back to where the taster came from."""
        if self._keeping:
            return
        if len(self._dispute.picked) == self._dispute.given:
            self.dismiss(False)
            return
        self._dispute.picked.pop()
        self._ask()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Keep the dispute."""
        event.stop()
        if not self._keeping:
            self._keeping = True
            self._tell("Keeping it; the cards follow…", "")
            # Choosing the contrasts anew takes about a second: say so before it begins.
            self.call_after_refresh(self._keep, event.value)

    def _keep(self, reason: str) -> None:
        asked = self._dispute
        try:
            changed = dispute(
                self._desk, asked.glass.wine, asked.attribute, asked.said(), reason.strip()
            )
        except (CardsError, DrillsError) as error:
            words = f"Not kept: {error}" if isinstance(error, CardsError) else str(error)
            self._keeping = False
            self._ask()
            self.query_one("#refused", Static).update(Content(words))
            return
        if not changed:
            self.notify("The table says so already.")
        self.dismiss(changed)
