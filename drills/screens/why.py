"""Why the answer is the answer: causes and bases of the cues on a card."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from cards.explaining import CueStory
from drills.screens.widgets.bars import strength
from drills.service.showing import Reveal

_BASES = {
    "practice": "common practice, no source",
    "memory": "a value from memory, still to be checked",
    "own": "your own note",
}


class WhyScreen(ModalScreen[bool]):
    """Shows a reveal in full; its result says whether a fact of it is disputed."""

    DEFAULT_CSS = """
    WhyScreen { align: center middle; }
    WhyScreen > VerticalScroll {
        width: 76; max-width: 95%; height: auto; max-height: 90%;
        border: round $accent; background: $surface; padding: 0 1;
    }
    WhyScreen .within { padding-left: 2; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,w,enter,space,q", "dismiss(False)", "close", id="close-why"),
        Binding(
            "x", "dismiss(True)", "dispute", id="dispute", tooltip="dispute a fact of the card"
        ),
    ]

    def __init__(self, reveal: Reveal) -> None:
        super().__init__()
        self._reveal = reveal

    def compose(self) -> ComposeResult:
        """One paragraph a cue."""
        showing, story = self._reveal.showing, self._reveal.explanation
        truth = showing.left if showing.question.truth == showing.left.wine else showing.right
        with VerticalScroll() as panel:
            panel.border_title = "why"
            panel.border_subtitle = "x disputes a fact, escape closes"
            yield Static(
                Content.assemble((f"{truth.name}: ", "bold"), f"{story.telling}\n"), markup=False
            )
            for one in (*story.cues, *story.also):
                yield from self._paragraph(one)

    def _paragraph(self, story: CueStory) -> Iterator[Static]:
        showing = self._reveal.showing
        toward = showing.left.name if story.weight < 0 else showing.right.name
        basis = _BASES.get(story.basis, story.citation or story.basis)
        yield Static(
            Content.assemble((story.words, "bold"), f": {strength(story.weight)} for {toward}"),
            markup=False,
        )
        lines = [
            Content(f"{showing.left.name}: {story.left}; {showing.right.name}: {story.right}"),
        ]
        if story.because:
            lines.append(Content(story.because))
        lines.append(Content.styled(f"{basis}\n", "dim"))
        yield Static(Content("\n").join(lines), classes="within", markup=False)
