"""From a sheet to a full flight: what was typed is read with the words and names of the table."""

from __future__ import annotations

from dataclasses import dataclass

from cards.evidence import Reading
from cards.lexicon import ALCOHOL, DEPTH, HUE
from drills.screens.tasting_lines import fault_in, strength, vintage
from drills.screens.tasting_sheet import REVEAL_TEXTS, FlightSheet, PourSheet
from drills.service.completing import WineBook, WordBook, year_in
from drills.tastings.drafts import NOTHING, Named
from drills.tastings.notes import ALL_HUES, Candidate, FullFlight, FullPour, Note, Verdict


@dataclass(frozen=True, slots=True)
class Fault:
    """A line that cannot be read: its page from 0, its name, and what it should be."""

    at: int
    name: str
    words: str


class SheetReader:
    """Reads sheets into full pours with the words and names of the table."""

    def __init__(self, words: WordBook, wines: WineBook, this_year: int) -> None:
        self._words = words
        self._wines = wines
        self._this_year = this_year

    def faults(self, flight: FlightSheet) -> list[Fault]:
        """Every line of a flight that cannot be read; what is not revealed yet is not looked at."""
        return [
            Fault(at, name, words)
            for at, pour in enumerate(flight.pours)
            for name, text in pour.texts.items()
            if (pour.opened or name not in REVEAL_TEXTS)
            and (words := fault_in(name, text, self._this_year))
        ]

    def named(self, sheet: PourSheet, name: str) -> Named:
        """The wine in a line: as typed, and what it stands for."""
        text = sheet.text(name).strip()
        if not text:
            return NOTHING
        return Named(text, sheet.picked.get(name) or self._wines.wine(text))

    def note(self, sheet: PourSheet) -> Note:
        """All that was noted on a page."""
        heard = self._words.hear(sheet.text("nose"), sheet.text("palate"))
        readings: dict[str, Reading] = {}
        typed = dict(heard.typed)
        if (hue := sheet.choices.get(HUE, "")) in ALL_HUES:
            readings[HUE] = hue
        if DEPTH in sheet.levels:
            readings[DEPTH] = sheet.levels[DEPTH]
        alcohol = strength(sheet.text("alcohol"))
        if alcohol is not None:
            readings[ALCOHOL] = alcohol
        readings |= {name: level for name, level in sheet.levels.items() if name != DEPTH}
        readings |= heard.noted
        return Note(
            readings=readings,
            free=heard.free,
            appearance=sheet.text("appearance").strip(),
            nose=sheet.text("nose").strip(),
            palate=sheet.text("palate").strip(),
            world=sheet.choices.get("world", ""),
            climate=sheet.choices.get("climate", ""),
            age=sheet.choices.get("age", ""),
            typed=typed,
        )

    def pour(self, sheet: PourSheet, position: int) -> FullPour:
        """A page as a full pour, with what it was; never asked for before the reveal."""
        candidates = list(sheet.candidates)
        if waiting := sheet.text("candidate").strip():
            candidates.append(Candidate(waiting, self._wines.wine(waiting)))
        return FullPour(
            position=position,
            note=self.note(sheet),
            candidates=tuple(candidates),
            first=self.call(sheet, "first"),
            final=self.call(sheet, "final"),
            runner_up=self.named(sheet, "runner-up"),
            reveal=self.named(sheet, "was"),
            reveal_vintage=self._vintage(sheet, "was"),
            label_alcohol=strength(sheet.text("label")),
            price=sheet.text("price").strip(),
            seconds=sheet.seconds,
            remark=sheet.text("remark").strip(),
        )

    def flight(self, flight: FlightSheet) -> FullFlight:
        """The whole flight; pages on which nothing stands are left out."""
        return FullFlight(
            name=flight.name.strip(),
            tasted_on=flight.tasted_on,
            pours=tuple(
                self.pour(sheet, position)
                for position, sheet in enumerate(flight.pours, 1)
                if not sheet.empty
            ),
        )

    def call(self, sheet: PourSheet, name: str) -> Verdict:
        """The first or the final call of a page."""
        named = self.named(sheet, name)
        return Verdict(named.text, named.wine, self._vintage(sheet, name), sheet.sureness.get(name))

    def _vintage(self, sheet: PourSheet, name: str) -> int | None:
        typed = sheet.text(f"{name}-vintage").strip()
        return vintage(typed, self._this_year) if typed else year_in(sheet.text(name))
