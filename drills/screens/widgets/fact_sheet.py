"""Facts of a profile as lines: a label, the words, a scale where there is one, and the basis."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from textual.content import Content
from textual.events import Resize
from textual.widgets import Static

from cards.scale import Level, LevelRange, Typical
from drills.service.profile import Fact, Section

_MOST_LABEL = 25
_BASIS = 10
_LEAST_WORDS = 24
_TYPICAL: Mapping[Typical, tuple[str, str]] = {
    Typical.SIGNATURE: ("", "bold"),
    Typical.COMMON: ("often ", ""),
    Typical.OCCASIONAL: ("at times ", "dim"),
    Typical.NEVER: ("", ""),
}


def scale(levels: LevelRange) -> str:
    """A range of levels as five steps, low on the left: “· · ■ ■ ·”."""
    return " ".join("■" if level in levels else "·" for level in Level)


class FactSheet(Static):
    """One section of a profile; `number` gives the mark of a basis in the list of sources."""

    DEFAULT_CSS = """
    FactSheet { height: auto; margin-bottom: 1; padding-right: 1; }
    """

    def __init__(self, section: Section, marks: Mapping[str, str]) -> None:
        super().__init__(markup=False)
        self.section = section
        self._marks = marks
        self._width = 0
        self._bases = False

    def show_bases(self, shown: bool) -> None:
        """Show or hide the column of bases; with it each descriptor has a line of its own."""
        self._bases = shown
        self._draw()

    def on_resize(self, event: Resize) -> None:
        """Break the lines anew for another width."""
        width = event.size.width - 1
        if width != self._width:
            self._width = width
            self._draw()

    def _draw(self) -> None:
        if self._width:
            self.update(Content("\n").join(self._lines()))

    def _lines(self) -> Iterator[Content]:
        yield Content.styled(self.section.title, "bold $primary")
        for fact in self.section.facts:
            if fact.notes:
                yield from self._notes(fact)
            else:
                drawn = (f"{scale(fact.levels)}  ", "$accent") if fact.levels else ""
                yield from self._line(fact.label, Content.assemble(drawn, fact.words), fact.basis)
                yield from self._because(fact.because)

    def _notes(self, fact: Fact) -> Iterator[Content]:
        if self._bases:
            label = fact.label
            for note in fact.notes:
                told = "signature" if note.typical is Typical.SIGNATURE else str(note.typical)
                words = Content.assemble(
                    (note.name, _TYPICAL[note.typical][1]), (f", {told}", "dim")
                )
                yield from self._line(label, words, note.basis)
                yield from self._because(note.because)
                label = ""
            return
        groups = []
        for typical, (before, style) in _TYPICAL.items():
            names = ", ".join(note.name for note in fact.notes if note.typical is typical)
            if names:
                groups.append(Content.styled(f"{before}{names}", style))
        yield from self._line(fact.label, Content("; ").join(groups), "")
        for note in fact.notes:
            name = f"{note.name}: " if len(fact.notes) > 1 else ""
            yield from self._because(f"{name}{note.because}" if note.because else "")

    @property
    def _label(self) -> int:
        longest = max(len(fact.label) for fact in self.section.facts) + 2
        return min(max(longest, 12), _MOST_LABEL)

    def _line(self, label: str, words: Content, basis: str) -> Iterator[Content]:
        """A label and words that hang beside it, with the mark of the basis at the right edge."""
        room = max(self._width - self._label - (_BASIS if self._bases else 0), _LEAST_WORDS)
        mark = f"{self._marks.get(basis, ''):>{_BASIS}}" if self._bases else ""
        for line in words.wrap(room):
            edge = " " * (room - line.cell_length) + mark if mark else ""
            yield Content.assemble((f"{label:<{self._label}}", "dim"), line, (edge, "dim"))
            label = mark = ""

    def _because(self, because: str) -> Iterator[Content]:
        if because:
            room = max(self._width - self._label - 2, _LEAST_WORDS)
            for line in Content(because).wrap(room):
                yield Content.assemble(" " * (self._label + 2), line).stylize("italic dim")
