"""What the program should hold, as lists and dictionaries: answers, pours, which cards are in use.

Which cards a table makes is asked of `cards`, which knows no database. What becomes of those that
were met before is worked out here.
"""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass, field

from cards.cellar import Cellar
from cards.contrasts import Contrast, ordered_pair
from drills.grading import Grade
from drills.memory import MemoryModel, Trace

Pair = tuple[str, str]


@dataclass
class Given:
    """One answer."""

    drill: int
    contrast: int
    grade: Grade
    day: int
    counts: bool
    undone: bool = False


@dataclass
class Card:
    """A contrast that was ever in use; answers before number `since` are to another question."""

    contrast: Contrast
    in_use: bool = True
    since: int = 0


@dataclass
class PlainModel:
    """All that is kept."""

    given: list[Given] = field(default_factory=list)
    imports: dict[int, list[Pair]] = field(default_factory=dict)
    cards: dict[int, Card] = field(default_factory=dict)

    def copy(self) -> PlainModel:
        """The same, of its own."""
        return deepcopy(self)

    def history(self, contrast: int) -> list[tuple[Grade, int]]:
        """The answers that make the memory of a card: grade and day."""
        return [
            (one.grade, one.day)
            for one in self.given[self.cards[contrast].since :]
            if one.contrast == contrast and one.counts and not one.undone
        ]

    def traces(self, model: MemoryModel) -> dict[int, Trace]:
        """The memory of every card that has one, also of those that rest."""
        answered = {one.contrast for one in self.given}
        found = {card: model.replay(self.history(card)) for card in answered}
        return {card: trace for card, trace in found.items() if trace is not None}

    @property
    def in_use(self) -> set[int]:
        """The cards that may be asked."""
        return {key for key, card in self.cards.items() if card.in_use}

    def confused(self) -> set[Pair]:
        """The pairs that are mixed up in the tastings kept."""
        pours = [pour for pours in self.imports.values() for pour in pours]
        return {ordered_pair(called, was) for called, was in pours if called != was}

    def follow(self, cellar: Cellar) -> set[int]:
        """Go on with another table; returns the cards whose answer turned.

        In use is what the table makes, what was mixed up, and what was learnt and can be asked
        still. What was at rest comes back with its memory, unless its answer turned meanwhile.
        """
        known = cellar.table.profiles.keys()
        makes = cellar.all_contrasts()
        for pair in self.confused():
            if set(pair) <= known:
                makes += cellar.contrasts(*pair)
        wanted = {one.id: one for one in makes}
        for key in self.in_use - wanted.keys():
            old = self.cards[key].contrast
            if self.history(key) and set(old.pair) <= known:
                stands = cellar.contrast(*old.pair, old.cues)
                wanted |= {} if stands is None else {key: stands}
        turned = {
            key
            for key, new in wanted.items()
            if key in self.cards and self.cards[key].contrast.bearing != new.bearing
        }
        for key, card in self.cards.items():
            card.in_use = key in wanted
        for key, new in wanted.items():
            since = self.cards[key].since if key in self.cards else 0
            self.cards[key] = Card(new, since=len(self.given) if key in turned else since)
        return turned
