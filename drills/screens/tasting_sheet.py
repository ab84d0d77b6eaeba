"""A flight while it is being entered: what stands on each page, as typed. Pure.

The sheet keeps every keystroke, readable or not, so that a draft loses nothing; `to_pour` reads it
into a full pour at the end. What a pour was stays shut in the sheet until its reveal is opened.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from cards.evidence import Reading
from cards.lexicon import ALCOHOL, DEPTH, HUE
from cards.scale import Level
from drills.service.completing import WineBook, WordBook, year_in
from drills.tastings.drafts import NOTHING, Named
from drills.tastings.notes import (
    ALL_HUES,
    LEVEL_ATTRIBUTES,
    MOST_ALCOHOL,
    VINTAGES,
    Candidate,
    FullFlight,
    FullPour,
    Note,
    Plain,
    Verdict,
)

# What a flight of six takes, from which the time of a flight of any size follows.
MINUTES, USUAL_POURS = 25, 6
MOST_POURS = 60
# Lines of text on a page, by name.
TEXTS = (
    "appearance",
    "nose",
    "palate",
    "alcohol",
    "candidate",
    "first",
    "first-vintage",
    "final",
    "final-vintage",
    "runner-up",
)
REVEAL_TEXTS = ("was", "was-vintage", "label", "price", "remark")
# Those of them that hold the name of a wine.
WINES = ("first", "final", "runner-up", "was")
CHOICES = (HUE, "world", "climate", "age")
_NUMBER = re.compile(r"\s*([0-9]{1,2}(?:[.,][0-9]{0,2})?)\s*%?\s*")


@dataclass
class PourSheet:
    """One page. `levels` by structure word, `choices` by name, `sureness` by call.

    `picked` holds the wines that were taken from a list, by line of text. `opened` says that the
    reveal was opened, `skipped` that it was opened without a final call. `code` is the glass of a
    planned flight, whose key stays sealed until then.
    """

    texts: dict[str, str] = field(default_factory=dict)
    picked: dict[str, str] = field(default_factory=dict)
    levels: dict[str, Level] = field(default_factory=dict)
    choices: dict[str, str] = field(default_factory=dict)
    sureness: dict[str, int] = field(default_factory=dict)
    candidates: list[Candidate] = field(default_factory=list)
    seconds: float | None = None
    opened: bool = False
    skipped: bool = False
    code: int | None = None

    @property
    def called(self) -> bool:
        """Whether a final call is given."""
        return bool(self.text("final").strip())

    @property
    def begun(self) -> bool:
        """Whether the taster entered anything; an identity that is not opened does not count."""
        names = (*TEXTS, *REVEAL_TEXTS) if self.opened else TEXTS
        return bool(
            any(self.text(name).strip() for name in names)
            or self.levels
            or self.choices
            or self.sureness
            or self.candidates
        )

    @property
    def empty(self) -> bool:
        """Whether the page holds nothing at all."""
        return not self.begun and not any(text.strip() for text in self.texts.values())

    def text(self, name: str) -> str:
        """What was typed in a line; empty where nothing was."""
        return self.texts.get(name, "")

    def type(self, name: str, text: str) -> None:
        """Keep what was typed in a line; another text is no longer the wine that was picked."""
        if text == self.text(name):
            return
        if text:
            self.texts[name] = text
        else:
            self.texts.pop(name, None)
        self.picked.pop(name, None)

    def pick(self, name: str, text: str, wine: str) -> None:
        """Keep a wine that was taken from a list, under the name it has there."""
        self.texts[name] = text
        self.picked[name] = wine

    def choose(self, name: str, value: str) -> None:
        """Keep a choice; an empty one clears it."""
        if value:
            self.choices[name] = value
        else:
            self.choices.pop(name, None)

    def place(self, attribute: str, level: int | None) -> None:
        """Keep a level; None clears it."""
        if level is None:
            self.levels.pop(attribute, None)
        else:
            self.levels[attribute] = Level(level)

    def be_sure(self, call: str, sureness: int | None) -> None:
        """Keep how sure a call is: 1 a guess, 2 leaning, 3 sure; None clears it."""
        if sureness is None:
            self.sureness.pop(call, None)
        else:
            self.sureness[call] = sureness

    def to_plain(self) -> Plain:
        """The page as JSON can hold it."""
        plain: Plain = {
            "texts": dict(self.texts),
            "picked": dict(self.picked),
            "levels": {name: level.label for name, level in self.levels.items()},
            "choices": dict(self.choices),
            "sureness": dict(self.sureness),
            "candidates": [one.to_plain() for one in self.candidates],
            "seconds": self.seconds,
            "opened": self.opened,
            "skipped": self.skipped,
            "code": self.code,
        }
        return {name: value for name, value in plain.items() if value}

    @classmethod
    def from_plain(cls, plain: object) -> PourSheet:
        """Read what `to_plain` gave; ValueError where it is something else."""
        given = _mapping(plain)
        seconds = given.get("seconds")
        return cls(
            texts=_texts(given.get("texts", {})),
            picked=_texts(given.get("picked", {})),
            levels={
                name: Level.from_label(label)
                for name, label in _texts(given.get("levels", {})).items()
                if name in LEVEL_ATTRIBUTES
            },
            choices=_texts(given.get("choices", {})),
            sureness={
                name: value
                for name, value in _mapping(given.get("sureness", {})).items()
                if value in (1, 2, 3)
            },
            candidates=[Candidate.from_plain(one) for one in _list(given.get("candidates", []))],
            seconds=float(seconds) if isinstance(seconds, int | float) else None,
            opened=given.get("opened") is True,
            skipped=given.get("skipped") is True,
            code=_whole(given.get("code")),
        )


@dataclass
class FlightSheet:
    """A flight while it is being entered; `at` is the page that lies open, from 0.

    `minutes` is the time for the whole flight, None while the clock is off; `seconds` what was
    used of it. `quick` is the short form, `planned` the number of the planned flight it is.
    """

    name: str = ""
    tasted_on: date | None = None
    pours: list[PourSheet] = field(default_factory=list)
    at: int = 0
    minutes: float | None = None
    seconds: float = 0.0
    quick: bool = False
    planned: int | None = None

    @property
    def pour(self) -> PourSheet:
        """The page that lies open."""
        return self.pours[self.at]

    @property
    def pour_seconds(self) -> float:
        """An even share of the flight's time for one pour, in seconds."""
        return 60 * (self.minutes or 0) / max(len(self.pours), 1)

    @property
    def codes(self) -> dict[int, int]:
        """The glasses of a planned flight by place from 1."""
        pours = enumerate(self.pours, 1)
        return {place: pour.code for place, pour in pours if pour.code is not None}

    @property
    def begun(self) -> int:
        """How many pages the taster has begun."""
        return sum(pour.begun for pour in self.pours)

    def to_plain(self) -> Plain:
        """The sheet as JSON can hold it."""
        return {
            "name": self.name,
            "tasted_on": self.tasted_on.isoformat() if self.tasted_on else None,
            "pours": [pour.to_plain() for pour in self.pours],
            "at": self.at,
            "minutes": self.minutes,
            "seconds": round(self.seconds, 1),
            "quick": self.quick,
            "planned": self.planned,
        }

    @classmethod
    def from_plain(cls, plain: object) -> FlightSheet:
        """Read what `to_plain` gave; ValueError where it is something else."""
        given = _mapping(plain)
        pours = [PourSheet.from_plain(one) for one in _list(given.get("pours", []))]
        day, at, minutes, seconds = (
            given.get(name) for name in ("tasted_on", "at", "minutes", "seconds")
        )
        name = given.get("name", "")
        if not pours or not isinstance(name, str):
            raise ValueError("no half-entered flight")
        return cls(
            name=name,
            tasted_on=date.fromisoformat(day) if isinstance(day, str) else None,
            pours=pours,
            at=at if isinstance(at, int) and 0 <= at < len(pours) else 0,
            minutes=float(minutes) if isinstance(minutes, int | float) else None,
            seconds=float(seconds) if isinstance(seconds, int | float) else 0.0,
            quick=given.get("quick") is True,
            planned=_whole(given.get("planned")),
        )


def usual_minutes(pours: int) -> int:
    """The time for a flight of so many pours: 25 minutes for six, others in proportion."""
    return max(round(MINUTES * pours / USUAL_POURS), 1)


@dataclass(frozen=True, slots=True)
class Fault:
    """A line that cannot be read: its page from 0, its name, and what it should be."""

    at: int
    name: str
    words: str


def number(text: str) -> float | None:
    """A strength in % vol, written with a point or a comma; None where it is none."""
    match = _NUMBER.fullmatch(text)
    found = float(match[1].replace(",", ".")) if match else None
    return found if found is not None and found <= MOST_ALCOHOL else None


def vintage(text: str, this_year: int) -> int | None:
    """A vintage in four figures or two; None where it is none, such as NV."""
    plain = text.strip().strip("'’")
    if not (plain.isascii() and plain.isdecimal()) or len(plain) not in (2, 4):
        return None
    year = int(plain)
    if len(plain) == 2:
        year += 2000 if 2000 + year <= this_year else 1900
    return year if VINTAGES[0] <= year <= VINTAGES[1] else None


def fault_in(name: str, text: str, this_year: int) -> str:
    """What is wrong with a line, in words; empty where nothing is."""
    plain = text.strip()
    if not plain:
        return ""
    if name in ("alcohol", "label") and number(plain) is None:
        return f"“{plain}” should be % vol, as 13.5"
    vintage_line = name.endswith("-vintage") and plain.casefold() not in ("nv", "n/v")
    if vintage_line and vintage(plain, this_year) is None:
        return f"“{plain}” should be a year, or NV"
    return ""


def faults(flight: FlightSheet, this_year: int) -> list[Fault]:
    """Every line of a flight that cannot be read."""
    return [
        Fault(at, name, words)
        for at, pour in enumerate(flight.pours)
        for name, text in pour.texts.items()
        if (pour.opened or name not in REVEAL_TEXTS) and (words := fault_in(name, text, this_year))
    ]


class Reader:
    """Reads sheets into full pours with the words and names of the table."""

    def __init__(self, words: WordBook, wines: WineBook, this_year: int) -> None:
        self._words = words
        self._wines = wines
        self._this_year = this_year

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
        alcohol = number(sheet.text("alcohol"))
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
            label_alcohol=number(sheet.text("label")),
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


def _mapping(value: object) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise ValueError("should be an object")
    return value


def _whole(value: object) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) else None


def _list(value: object) -> Iterable[object]:
    if not isinstance(value, list):
        raise ValueError("should be a list")
    return value


def _texts(value: object) -> dict[str, str]:
    given = _mapping(value)
    if not all(isinstance(one, str) for pair in given.items() for one in pair):
        raise ValueError("should be texts")
    return dict(given)
