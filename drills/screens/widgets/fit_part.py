"""Whose numbers the memory model goes by: the usual ones, or those fitted to the taster."""

from __future__ import annotations

from textual.content import Content

from drills.fitting import Fit, available
from drills.phrases import how_to_add
from drills.screens.widgets.part import Part
from drills.service.fitting import Step, comparison

_WIDE = 20


class FitPart(Part):
    """Shows which numbers are in use, a fit that runs, and what came of it."""

    def __init__(self, name: str, title: str) -> None:
        super().__init__(name, title)
        self.running = False

    def tell_use(self, kept: Fit | None, fit_key: str, undo_key: str) -> None:
        """Say which numbers are in use, and how they were judged."""
        if kept is not None:
            used = f"Your own numbers are in use; {undo_key} goes back to the usual ones."
            self.tell(Content("\n".join([used, *comparison(kept)])))
        elif available():
            self.tell(
                Content(
                    f"The usual numbers are in use. {fit_key} fits them to your own answers, and "
                    "keeps them only where they foretell your later answers better."
                )
            )
        else:
            self.tell(
                Content(
                    "The usual numbers are in use. To fit them to your own answers install the "
                    f"extra: {how_to_add('fit')}"
                )
            )

    def tell_step(self, step: Step) -> None:
        """Say where the fit is."""
        done = round(_WIDE * (step.nth - 1) / step.of)
        bar = "█" * done + "░" * (_WIDE - done)
        self.tell(Content(f"{bar} step {step.nth} of {step.of}: {step.words}"))

    def tell_found(self, found: Fit, undo_key: str) -> None:
        """Say what came of a fit."""
        verdict = (
            f"Kept: your numbers are in use. {undo_key} goes back to the usual ones."
            if found.better
            else "Not kept: they foretell no better, so the usual numbers stay in use."
        )
        self.tell(Content("\n".join([*comparison(found), verdict])))
