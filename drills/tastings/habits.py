"""What is known of how one taster reads a wine: bias, spread, what is caught and what is missed."""

from __future__ import annotations

from dataclasses import dataclass

from cards.evidence import AVERAGE_READER, Reader, Reading
from drills.statistics.agreement import Kappa
from drills.statistics.readings import ROTUNDONE_ANOSMIC
from drills.statistics.shares import Estimate

# A bias is said where it would matter, from pours enough and of wines enough that no single profile
# decides: a quarter of a level, or of a % vol.
LEAST_BIAS = 0.25
LEAST_POURS, LEAST_WINES = 8, 3


@dataclass(frozen=True, slots=True)
class ReadCount:
    """How often a cue was read so in pours of one wine."""

    wine: str
    attribute: str
    reading: Reading
    times: int = 1


@dataclass(frozen=True, slots=True)
class LevelBias:
    """How a taster calls one attribute, in levels, against an average taster on the same wines.

    `style` is empty for wines of all styles. `bias` above 0 means called too high; `spread` is the
    standard deviation of the calls about what was to be expected, the wines' own variation in it.
    `kappa` is how far the calls follow the wines' levels beyond chance, squared differences
    counting; None for one style alone, and where all wines or all calls are at one level.
    """

    attribute: str
    style: str
    pours: int
    wines: int
    bias: Estimate
    spread: Estimate
    sure: bool
    kappa: Kappa | None = None


@dataclass(frozen=True, slots=True)
class AlcoholBias:
    """Alcohol as called less what labels state, % vol."""

    labels: int
    bias: Estimate
    spread: Estimate
    sure: bool


@dataclass(frozen=True, slots=True)
class Caught:
    """How often a taster notes one descriptor in the wines that show it.

    `noted` in `pours` pours; `expected` is how often it would have been with this taster's own
    readiness to write words down and an average nose for this one. `factor` compares the two, 1
    being average.
    """

    descriptor: str
    noted: int
    expected: float
    pours: int
    factor: Estimate
    seldom: bool


@dataclass(frozen=True, slots=True)
class Insensitivity:
    """A smell that some people do not perceive: which words name it, how many do not, who says."""

    name: str
    descriptors: tuple[str, ...]
    share: float
    share_words: str
    source: str


# The one base rate among the table's sources.
INSENSITIVITIES = (
    Insensitivity(
        name="rotundone, the pepper of Syrah and Grüner Veltliner",
        descriptors=("white-pepper", "black-pepper"),
        share=ROTUNDONE_ANOSMIC,
        share_words="about one person in four to five",
        source="nutrients-2020-rotundone",
    ),
)


@dataclass(frozen=True, slots=True)
class NotSmelt:
    """A smell that this taster probably does not perceive, with the base rate it starts from."""

    smell: Insensitivity
    probability: float
    noted: int
    expected: float
    pours: int
    citation: str


@dataclass(frozen=True, slots=True)
class PersonalReading:
    """How one taster reads, as numbers, as a `reader` for the weights, and in plain sentences.

    `pours` is how many noted pours of known wines it rests on.
    """

    reader: Reader = AVERAGE_READER
    pours: int = 0
    levels: tuple[LevelBias, ...] = ()
    alcohol: AlcoholBias | None = None
    caught: tuple[Caught, ...] = ()
    not_smelt: tuple[NotSmelt, ...] = ()
    sentences: tuple[str, ...] = ()
