"""A flight while it is being entered: what stands on each page, as typed. Pure.

The sheet keeps every keystroke, readable or not, so that a draft loses nothing; tasting_reader.py
reads it into a full flight at the end. What a pour was stays shut in the sheet until its reveal is
opened.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, TypeVar

from cards.scale import Level
from drills.tastings.notes import LEVEL_ATTRIBUTES, SURENESS, Candidate, Plain

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
# A scale of this ending holds how sure a call is, every other one a level.
_SURE = "-sure"

_Value = TypeVar("_Value")


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
    def state(self) -> str:
        """What has become of the pour: revealed, called, begun, or nothing yet."""
        if self.opened:
            return "revealed"
        if self.called:
            return "called"
        return "begun" if self.begun else ""

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
        _keep(self.texts, name, text or None)
        self.picked.pop(name, None)

    def pick(self, name: str, text: str, wine: str) -> None:
        """Keep a wine that was taken from a list, under the name it has there."""
        self.texts[name] = text
        self.picked[name] = wine

    def write(self, name: str, text: str, wine: str | None) -> None:
        """Keep a line as it stands, and its wine where that was taken from a list."""
        if wine:
            self.pick(name, text, wine)
        else:
            self.type(name, text)

    def choose(self, name: str, value: str) -> None:
        """Keep a choice; an empty one clears it."""
        _keep(self.choices, name, value or None)

    def step(self, scale: str) -> int | None:
        """The step of a scale from 0: a level, or how sure a call is; None while it is open."""
        call = scale.removesuffix(_SURE)
        if call == scale:
            return self.levels.get(scale)
        return self.sureness[call] - 1 if call in self.sureness else None

    def place(self, scale: str, step: int | None) -> None:
        """Place a level, or how sure a call is (0 a guess, 1 leaning, 2 sure); None clears it."""
        call = scale.removesuffix(_SURE)
        if call == scale:
            _keep(self.levels, scale, None if step is None else Level(step))
        else:
            _keep(self.sureness, call, None if step is None else step + 1)

    # ---- candidates, by place from 0

    def consider(self, text: str, wine: str | None) -> None:
        """Take what was typed in the line of candidates as one more of them."""
        self.type("candidate", "")
        self.candidates.append(Candidate(text, wine))

    def strike(self, place: int, reason: str) -> None:
        """Strike a candidate off with a reason; an empty one lets it stand again."""
        self.candidates[place] = replace(self.candidates[place], struck=reason)

    def drop(self, place: int) -> None:
        """Take a candidate out of the row."""
        del self.candidates[place]

    def call(self, name: str, place: int) -> None:
        """Make a candidate the first call, the final one or the runner-up."""
        one = self.candidates[place]
        self.write(name, one.text, one.wine)

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
                if value in SURENESS
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
    def title(self) -> str:
        """What the flight is called."""
        return self.name.strip() or "flight"

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

    def add_pour(self) -> bool:
        """Add a blank page; False where the flight has as many pours as one can have."""
        if len(self.pours) >= MOST_POURS:
            return False
        self.pours.append(PourSheet())
        return True

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


def _keep(values: dict[str, _Value], name: str, value: _Value | None) -> None:
    if value is None:
        values.pop(name, None)
    else:
        values[name] = value


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
