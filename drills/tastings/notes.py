"""A full note of a pour: what was read, considered, called and revealed; a flight of them. Pure.

`to_plain` gives what JSON can hold, for the draft of a half-entered flight and for export;
`from_plain` reads it back and refuses what cannot be meant. What is empty is left out, so that a
plain note holds only what was entered.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, TypeAlias, TypeVar

from cards.evidence import Reading
from cards.lexicon import ALCOHOL, DEPTH, HUE, HUES, STRUCTURE
from cards.scale import Level
from drills.tastings.drafts import NOTHING, Named

Plain: TypeAlias = dict[str, Any]

LEVEL_ATTRIBUTES = frozenset({*STRUCTURE, DEPTH})
ALL_HUES = frozenset(hue for group in HUES.values() for hue in group)
SURENESS = (1, 2, 3)
# What a label or a guess may say; the strongest wines reach 24.
MOST_ALCOHOL = 30.0
# A glass older than the oldest vintage that is still poured is a slip of the pen.
VINTAGES = (1700, 2199)


@dataclass(frozen=True, slots=True)
class Note:
    """What was noted of one pour.

    `readings` by cue attribute: structure words and “depth” as Level, “alcohol” in % vol, “hue” as
    one of the hues, descriptors True (noted) or False (looked for and not there); a descriptor that
    is not in it was not looked for, as far as anyone knows. `typed` keeps what was typed for a
    reading where that was another word; `free` the words that no descriptor answers to; the three
    texts are as typed. `world` is “old” or “new”, `climate` a climate of the table, `age` the
    taster's words; empty where nothing was said.
    """

    readings: Mapping[str, Reading] = field(default_factory=dict)
    free: tuple[str, ...] = ()
    appearance: str = ""
    nose: str = ""
    palate: str = ""
    world: str = ""
    climate: str = ""
    age: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)

    def to_plain(self) -> Plain:
        """The note as JSON can hold it; levels by their labels."""
        plain: Plain = {
            "readings": {name: plain_reading(value) for name, value in self.readings.items()},
            "free": list(self.free),
            "typed": dict(self.typed),
        }
        for name in _NOTE_TEXTS:
            plain[name] = getattr(self, name)
        return _without_empty(plain)

    @classmethod
    def from_plain(cls, plain: object) -> Note:
        """Read what `to_plain` gave; ValueError names the field that cannot be meant."""
        given = _mapping(plain, "note")
        readings = _mapping(given.get("readings", {}), "readings")
        typed = _mapping(given.get("typed", {}), "typed")
        return cls(
            readings={name: read_reading(name, value) for name, value in readings.items()},
            free=tuple(_text(word, "free") for word in _list(given.get("free", []), "free")),
            typed={name: _text(word, f"typed.{name}") for name, word in typed.items()},
            **{name: _text(given.get(name, ""), name) for name in _NOTE_TEXTS},
        )


_NOTE_TEXTS = ("appearance", "nose", "palate", "world", "climate", "age")


@dataclass(frozen=True, slots=True)
class Candidate:
    """A wine that was considered: as typed, and the wine it stands for.

    `struck` is the reason for which it was struck off, empty while it stands.
    """

    text: str
    wine: str | None = None
    struck: str = ""

    def to_plain(self) -> Plain:
        """The candidate as JSON can hold it."""
        return _without_empty({"text": self.text, "wine": self.wine, "struck": self.struck})

    @classmethod
    def from_plain(cls, plain: object) -> Candidate:
        """Read what `to_plain` gave; ValueError names the field that cannot be meant."""
        given = _mapping(plain, "candidate")
        return cls(
            _text(given.get("text", ""), "text"),
            _key(given.get("wine"), "wine"),
            _text(given.get("struck", ""), "struck"),
        )


@dataclass(frozen=True, slots=True)
class Verdict:
    """A call: the wine as typed and as understood, its vintage, and how sure the taster was.

    `sureness` is 1 a guess, 2 leaning, 3 sure.
    """

    text: str = ""
    wine: str | None = None
    vintage: int | None = None
    sureness: int | None = None

    @property
    def named(self) -> Named:
        """The wine of the call."""
        return Named(self.text, self.wine)

    def to_plain(self) -> Plain:
        """The call as JSON can hold it."""
        return _without_empty(
            {
                "text": self.text,
                "wine": self.wine,
                "vintage": self.vintage,
                "sureness": self.sureness,
            }
        )

    @classmethod
    def from_plain(cls, plain: object) -> Verdict:
        """Read what `to_plain` gave; ValueError names the field that cannot be meant."""
        given = _mapping(plain, "call")
        return cls(
            _text(given.get("text", ""), "text"),
            _key(given.get("wine"), "wine"),
            read_vintage(given.get("vintage"), "vintage"),
            _sureness(given.get("sureness")),
        )


NO_CALL = Verdict()


@dataclass(frozen=True, slots=True)
class FullPour:
    """One pour of a flight with all that was entered; `position` counts from 1.

    `label_alcohol` is % vol as the label states it, `seconds` what the pour took, `price` and
    `remark` are as typed. A pour that is not revealed yet has an empty `reveal`.
    """

    position: int
    note: Note = field(default_factory=Note)
    candidates: tuple[Candidate, ...] = ()
    first: Verdict = NO_CALL
    final: Verdict = NO_CALL
    runner_up: Named = NOTHING
    reveal: Named = NOTHING
    reveal_vintage: int | None = None
    label_alcohol: float | None = None
    price: str = ""
    seconds: float | None = None
    remark: str = ""

    def to_plain(self) -> Plain:
        """The pour as JSON can hold it."""
        return {"position": self.position} | _without_empty(
            {
                "note": self.note.to_plain(),
                "candidates": [one.to_plain() for one in self.candidates],
                "first": self.first.to_plain(),
                "final": self.final.to_plain(),
                "runner_up": _plain_named(self.runner_up),
                "reveal": _plain_named(self.reveal),
                "reveal_vintage": self.reveal_vintage,
                "label_alcohol": self.label_alcohol,
                "price": self.price,
                "seconds": self.seconds,
                "remark": self.remark,
            }
        )

    @classmethod
    def from_plain(cls, plain: object) -> FullPour:
        """Read what `to_plain` gave; ValueError names the field that cannot be meant."""
        given = _mapping(plain, "pour")
        return cls(
            position=_position(given.get("position")),
            note=_inside("note", Note.from_plain, given.get("note", {})),
            candidates=tuple(
                _inside(f"candidates.{place}", Candidate.from_plain, one)
                for place, one in enumerate(_list(given.get("candidates", []), "candidates"), 1)
            ),
            first=_inside("first", Verdict.from_plain, given.get("first", {})),
            final=_inside("final", Verdict.from_plain, given.get("final", {})),
            runner_up=_inside("runner_up", _named, given.get("runner_up", {})),
            reveal=_inside("reveal", _named, given.get("reveal", {})),
            reveal_vintage=read_vintage(given.get("reveal_vintage"), "reveal_vintage"),
            label_alcohol=_optional_number(given.get("label_alcohol"), "label_alcohol"),
            price=_text(given.get("price", ""), "price"),
            seconds=_optional_number(given.get("seconds"), "seconds", most=1e7),
            remark=_text(given.get("remark", ""), "remark"),
        )


@dataclass(frozen=True, slots=True)
class FullFlight:
    """A flight with its pours in the order of tasting; `tasted_on` None where nobody knows."""

    name: str = ""
    tasted_on: date | None = None
    pours: tuple[FullPour, ...] = ()

    def to_plain(self) -> Plain:
        """The flight as JSON can hold it."""
        return _without_empty(
            {
                "name": self.name,
                "tasted_on": None if self.tasted_on is None else self.tasted_on.isoformat(),
                "pours": [pour.to_plain() for pour in self.pours],
            }
        )

    @classmethod
    def from_plain(cls, plain: object) -> FullFlight:
        """Read what `to_plain` gave; ValueError names the field that cannot be meant."""
        given = _mapping(plain, "flight")
        return cls(
            name=_text(given.get("name", ""), "name"),
            tasted_on=_date(given.get("tasted_on")),
            pours=tuple(
                _inside(f"pours.{place}", FullPour.from_plain, one)
                for place, one in enumerate(_list(given.get("pours", []), "pours"), 1)
            ),
        )


def plain_reading(reading: Reading) -> str | float | bool:
    """A reading as JSON can hold it: a level by its label, else as it is."""
    return reading.label if isinstance(reading, Level) else reading


def read_reading(attribute: str, value: object) -> Reading:
    """The reading of a cue from its plain form; ValueError says what the cue takes."""
    if attribute == ALCOHOL:
        found = _optional_number(value, attribute)
        if found is None:
            raise ValueError(f"{attribute}: should be a number, % vol")
        return found
    if attribute == HUE:
        if not isinstance(value, str) or value not in ALL_HUES:
            raise ValueError(f"{attribute}: should be a hue, such as “ruby”")
        return value
    if attribute in LEVEL_ATTRIBUTES:
        if not isinstance(value, str):
            raise ValueError(f"{attribute}: should be a level, such as “med+”")
        try:
            return Level.from_label(value)
        except ValueError as error:
            raise ValueError(f"{attribute}: {error}") from None
    if not isinstance(value, bool):
        raise ValueError(f"{attribute}: should be true (noted) or false (not there)")
    return value


def read_vintage(value: object, name: str = "vintage") -> int | None:
    """A vintage as a year, None where there is none; ValueError where it cannot be one."""
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int):
        raise ValueError(f"{name}: should be a year")
    if not VINTAGES[0] <= value <= VINTAGES[1]:
        raise ValueError(f"{name}: should lie between {VINTAGES[0]} and {VINTAGES[1]}")
    return value


_T = TypeVar("_T")


def _without_empty(plain: Plain) -> Plain:
    # 0 seconds and 0% are something that was entered.
    return {name: value for name, value in plain.items() if value not in (None, "", [], {})}


def _plain_named(named: Named) -> Plain:
    return _without_empty({"text": named.text, "wine": named.wine})


def _named(plain: object) -> Named:
    given = _mapping(plain, "wine")
    return Named(_text(given.get("text", ""), "text"), _key(given.get("wine"), "wine"))


def _inside(name: str, read: Callable[[object], _T], value: object) -> _T:
    try:
        return read(value)
    except ValueError as error:
        raise ValueError(f"{name}.{error}") from None


def _mapping(value: object, name: str) -> Mapping[str, Any]:
    if not isinstance(value, Mapping) or not all(isinstance(key, str) for key in value):
        raise ValueError(f"{name}: should be an object")
    return value


def _list(value: object, name: str) -> Sequence[object]:
    if not isinstance(value, list | tuple):
        raise ValueError(f"{name}: should be a list")
    return value


def _text(value: object, name: str) -> str:
    if not isinstance(value, str):
        raise ValueError(f"{name}: should be text")
    return value


def _key(value: object, name: str) -> str | None:
    return None if value is None else _text(value, name)


def _position(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 1:
        raise ValueError("position: should be a whole number from 1")
    return value


def _optional_number(value: object, name: str, *, most: float = MOST_ALCOHOL) -> float | None:
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{name}: should be a number")
    # The comparison also refuses what is no number at all (NaN).
    if not 0 <= value <= most:
        raise ValueError(f"{name}: should lie between 0 and {most:g}")
    return float(value)


def _sureness(value: object) -> int | None:
    if value is None:
        return None
    if isinstance(value, bool) or value not in SURENESS:
        raise ValueError("sureness: should be 1 (a guess), 2 (leaning) or 3 (sure)")
    assert isinstance(value, int | float)
    return int(value)


def _date(value: object) -> date | None:
    if value is None:
        return None
    try:
        return date.fromisoformat(_text(value, "tasted_on"))
    except ValueError:
        raise ValueError("tasted_on: should be a date as 2026-03-14") from None
