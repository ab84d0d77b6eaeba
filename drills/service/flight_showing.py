"""What a planned flight hands to whoever shows it: what was asked, what it covers, its glasses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from drills.phrases import count
from drills.storage.planned_records import Place

BOTTLES = 6


@dataclass(frozen=True, slots=True)
class Asked:
    """What a flight is asked to be; prices in the money of the cellar's list.

    `decoys` None: as many as usual. `usual_price` is what a bottle to be bought costs where nobody
    knows; None: the middle one of the cellar's prices. `tasters` by name; empty: the taster alone.
    With `shared` each of them tastes as many of the wines as a palate bears, else all in sittings.
    """

    bottles: int = BOTTLES
    budget: float | None = None
    dearest: float | None = None
    usual_price: float | None = None
    cellar_only: bool = False
    tasters: tuple[str, ...] = ()
    white_first: bool = False
    decoys: int | None = None
    seed: int | None = None
    shared: bool = False


@dataclass(frozen=True, slots=True)
class Coverage:
    """What a flight covers, told without naming a wine.

    `pairs` of the `weak` pairs that there are, with `expected` of `expected_all` confusions at the
    next flight; `laterals` are pairs never confused so far, covered as near laterals. `to_buy`
    bottles for about `cost`. `scarce_decoys` is how many decoys fitted where the usual number did
    not, else None. `worth` is the weighed confusions that the choice covers, `greedy` what taking
    the best pair in turn would cover (None where that finds no flight), and no flight covers more
    than `bound`; `exact` says that none covers more than this one. The gaps are those of `Serving`,
    None where one taster drinks alone, and for flights planned before they were kept.
    """

    weak: int
    pairs: int
    laterals: int
    expected: float
    expected_all: float
    to_buy: int
    cost: float
    sittings: int
    scarce_decoys: int | None = None
    worth: float = 0.0
    greedy: float | None = None
    bound: float = 0.0
    exact: bool = False
    position_gap: int | None = None
    carry_gap: int | None = None

    @property
    def balance(self) -> str:
        """How even the tasters' orders are among each other; empty where nothing is known."""
        if self.position_gap is None or self.carry_gap is None:
            return ""
        if not (self.position_gap or self.carry_gap):
            return "Every wine stands in each place, and follows every other, equally often."
        return (
            "Over all tasters, how often a wine stands in a place differs by "
            f"{self.position_gap} at most, and how often it follows another by {self.carry_gap}."
        )

    @property
    def sentence(self) -> str:
        """What is covered, in a line."""
        if not self.weak:
            said = f"no weak pair yet: {count(self.laterals, 'pair')} of near laterals instead"
        else:
            said = (
                f"covers {self.pairs} of {count(self.weak, 'weak pair')}, "
                f"{self.expected:.1f} of {self.expected_all:.1f} confusions to expect"
            )
            if self.laterals:
                said += f", and {count(self.laterals, 'pair')} of near laterals"
        if self.scarce_decoys is not None:
            few = self.scarce_decoys
            said += f"; {f'only {few}' if few else 'no'} decoy{'s' * (few > 1)} fitted"
        return said


UNTOLD = Coverage(0, 0, 0, 0.0, 0.0, 0, 0.0, 0)
"""Of a flight whose coverage a server keeps."""


@dataclass(frozen=True, slots=True)
class Contents:
    """What is in a glass and why: the wine by key, its label as listed, and one sentence.

    Role and sentence are empty where they would give away a glass that is sealed still.
    """

    wine: str
    text: str
    vintage: int | None
    price: float | None
    owned: bool
    stock: int | None
    role: str
    sentence: str


@dataclass(frozen=True, slots=True)
class PlannedGlass:
    """A glass by its code; `contents` is None while it is sealed."""

    code: int
    places: Mapping[str, Place]
    contents: Contents | None
    revealed_at: datetime | None


@dataclass(frozen=True, slots=True)
class PlannedFlight:
    """A planned flight as a taster may see it; its glasses in the first taster's order, then those
    that only others are served.

    `planner` is the name of another taster who planned it, empty where it is one's own.
    """

    id: int
    number: int
    made_at: datetime
    state: str
    asked: Asked
    coverage: Coverage
    tasters: tuple[str, ...]
    glasses: tuple[PlannedGlass, ...]
    planner: str = ""

    @property
    def name(self) -> str:
        """How the flight is called in the log."""
        return flight_name(self.number)

    @property
    def sentence(self) -> str:
        """What it covers; of another's flight, which covers their weak pairs, who planned it."""
        return f"planned by “{self.planner}”" if self.planner else self.coverage.sentence

    @property
    def coverage_told(self) -> bool:
        """Whether what it covers is known here; a server keeps that of another's flight."""
        return self.coverage != UNTOLD

    @property
    def sealed(self) -> int:
        """How many glasses are not revealed yet."""
        return sum(glass.revealed_at is None for glass in self.glasses)

    def in_order(self, taster: str) -> tuple[PlannedGlass, ...]:
        """The glasses as one taster is served, one sitting after the other."""
        return as_served(self.glasses, taster)

    def served_as(self, name: str) -> str:
        """The taster of the flight whom a name means; the first where there is none of the name."""
        folded = name.casefold()
        return next((one for one in self.tasters if one.casefold() == folded), self.tasters[0])


def as_served(glasses: Sequence[PlannedGlass], taster: str) -> tuple[PlannedGlass, ...]:
    """The glasses that a taster is served, in their order."""
    mine = [glass for glass in glasses if taster in glass.places]
    return tuple(sorted(mine, key=lambda glass: glass.places[taster].position))


def flight_name(number: int) -> str:
    """How a planned flight is called in the log."""
    return f"Flight {number}"
