"""Making a card of a contrast: its form, which glass is right, what is asked, all balanced."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

from cards.contrasts import Contrast
from cards.cues import BOTH_SIDES, SIDE_A, SIDE_B
from cards.errors import NoContrast
from cards.questions import Form, ask, choose_side
from drills.planner import Waiting, Why
from drills.service.choosing import FORMS
from drills.service.showing import Glass, Showing

if TYPE_CHECKING:
    from drills.service.desk import Desk


class Posing:
    """Makes the cards of one drill; a drill's number seeds it, so the same drill draws the same."""

    def __init__(self, desk: Desk, drill_id: int) -> None:
        self._desk = desk
        self.rng = random.Random(drill_id)
        told = desk.repository.last_side_counts(desk.taster.id)
        self._told = {SIDE_A: told.a, SIDE_B: told.b}
        self._stood = {"left": told.left, "right": told.right}

    def card(
        self, waiting: Waiting, contrast: Contrast, *, met: bool, reason: str
    ) -> Showing | None:
        """A card of the contrast that waits; None where the table no longer makes one.

        What was never `met` asks for the glass, and so does a check.
        """
        if not set(contrast.pair) <= self._desk.table.profiles.keys():
            return None
        side = choose_side(contrast, self.rng, (self._told[SIDE_A], self._told[SIDE_B]))
        stands_left = self.rng.random() < (self._stood["right"] + 1) / (
            sum(self._stood.values()) + 2
        )
        # The truth stands left when wine A is it and not swapped, or wine B is it and swapped.
        swapped = (side == SIDE_A) != stands_left
        form = Form.WHICH_GLASS
        if met and waiting.why is not Why.CHECK:
            form = self.rng.choices(list(FORMS), list(FORMS.values()))[0]
        try:
            question = ask(
                self._desk.cellar, contrast, self.rng, form=form, side=side, swapped=swapped
            )
        except NoContrast:
            return None
        if contrast.sides == BOTH_SIDES:
            self._told[side] += 1
        self._stood["left" if stands_left else "right"] += 1
        left, right = self._glass(question.left), self._glass(question.right)
        return Showing(question, waiting.why, left, right, reason)

    def _glass(self, wine: str) -> Glass:
        profile = self._desk.table.profiles[wine]
        return Glass(wine, profile.short, f"{profile.region}, {profile.country}")
