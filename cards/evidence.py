"""Weight of evidence: how far one reading speaks for one wine against another.

A wine's *picture* gives, for every cue, how probable each reading is when that wine is poured.
The weight of a reading for wine A against wine B is 10 log10 P(reading|A) / P(reading|B) decibans
(Good, Probability and the Weighing of Evidence, 1950); weights of independent cues add.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Protocol

from cards.lexicon import ALCOHOL, DEPTH, HUE, HUES, Lexicon
from cards.profiles import Profile
from cards.scale import Level, LevelRange, Typical

Reading = float | int | bool | str
Noise = tuple[tuple[float, ...], ...]
DECIBANS = 10 / math.log(10)

# The numbers below are the program's own assumptions about tasters, common practice at best; a
# taster's logged calls replace them.
ALCOHOL_READING_SD = 0.6
LEVEL_READING_SD = 0.6
BLUNDER = 0.05
OUTSIDE_RANGE = 0.10
NOTED: Mapping[Typical, float] = {
    Typical.SIGNATURE: 0.75,
    Typical.COMMON: 0.45,
    Typical.OCCASIONAL: 0.15,
    Typical.NEVER: 0.02,
}
# A profile lists what a wine is known for, not all that can be found in it.
UNLISTED = 0.06
# Intraclass correlation of descriptors of one family: lemon and lime are half one observation.
FAMILY_CORRELATION = 0.5

# Wines run from about 4 to 24% vol; a blunder may land anywhere there.
_ALCOHOL_SPAN = 20.0
# The central 80% of a normal distribution lies within this many standard deviations.
_CENTRAL_80 = 1.2815515655446004

SLIGHT = "slight"
STRONG = "strong"
DECISIVE = "decisive"


def band(decibans: float) -> str:
    """The name of a weight: slight below 5 decibans, strong to 10, decisive above."""
    size = abs(decibans)
    return SLIGHT if size < 5 else STRONG if size <= 10 else DECISIVE


def probability(decibans: float, prior: float = 0.5) -> float:
    """The probability that a weight of evidence leaves, from `prior` odds (even unless told)."""
    odds = prior / (1 - prior) * 10 ** (decibans / 10)
    return odds / (1 + odds)


def decibans(chance: float) -> float:
    """The weight of evidence that takes even odds to the probability `chance`, inside (0, 1)."""
    return DECIBANS * math.log(chance / (1 - chance))


class Likelihood(Protocol):
    """How probable each reading of one cue is for one wine."""

    def log(self, reading: Reading) -> float:
        """Natural logarithm of the probability (or density) of the reading."""
        ...


@dataclass(frozen=True, slots=True)
class Gaussian:
    """A number that spreads normally about `mean` with standard deviation `sd`.

    A share `blunder` of readings falls anywhere within `span` units instead, so that one misread
    number cannot outweigh everything else; 0 gives the plain normal.
    """

    mean: float
    sd: float
    blunder: float = 0.0
    span: float = 1.0

    def log(self, reading: Reading) -> float:
        z = (float(reading) - self.mean) / self.sd
        plain = -0.5 * z * z - math.log(self.sd) - 0.5 * math.log(2 * math.pi)
        if not self.blunder:
            return plain
        return math.log((1 - self.blunder) * math.exp(plain) + self.blunder / self.span)

    def divergence(self, other: Gaussian) -> float:
        """Half the Jeffreys divergence in nats: closed form for normals.

        With blunders it is held below the most that a single reading can weigh.
        """
        gap = (self.mean - other.mean) ** 2
        mine, theirs = self.sd**2, other.sd**2
        plain = 0.25 * ((mine + gap) / theirs + (theirs + gap) / mine - 2)
        if not (self.blunder and other.blunder):
            return plain
        if gap <= mine + theirs:
            return plain
        at_mine = self.log(self.mean) - other.log(self.mean)
        at_theirs = other.log(other.mean) - self.log(other.mean)
        return min(plain, 0.5 * (at_mine + at_theirs))


@dataclass(frozen=True, slots=True)
class Binary:
    """A descriptor that is noted with probability `noted`."""

    noted: float

    def log(self, reading: Reading) -> float:
        return math.log(self.noted if reading else 1 - self.noted)

    def divergence(self, other: Binary) -> float:
        """Half the Jeffreys divergence in nats."""
        return _binary_divergence(self.noted, other.noted)


@lru_cache(maxsize=4096)
def _binary_divergence(p: float, q: float) -> float:
    return 0.5 * (p - q) * (math.log(p / q) - math.log((1 - p) / (1 - q)))


@dataclass(frozen=True, slots=True)
class Categorical:
    """A reading among named categories, each with its probability."""

    chances: Mapping[Reading, float]

    def log(self, reading: Reading) -> float:
        return math.log(self.chances[reading])

    def divergence(self, other: Categorical) -> float:
        """Half the Jeffreys divergence in nats."""
        return 0.5 * sum(
            (p - other.chances[r]) * math.log(p / other.chances[r]) for r, p in self.chances.items()
        )


@dataclass(frozen=True)
class Reader:
    """How a taster reads: noise on each scale, and how often a present descriptor is caught.

    `alcohol_sd` and `alcohol_bias` (called less true) are in % vol, `level_sd` in levels.
    `detection` scales the chance of noting a descriptor, by key, 1 being an average taster.
    `noise` holds a taster's own P(reading | level) by attribute, a row for each level; it carries
    bias and spread alike. ValueError where it is no five rows of five chances that add to 1.
    """

    alcohol_sd: float = ALCOHOL_READING_SD
    alcohol_bias: float = 0.0
    level_sd: float = LEVEL_READING_SD
    blunder: float = BLUNDER
    detection: Mapping[str, float] = field(default_factory=dict)
    noise: Mapping[str, Noise] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for attribute, rows in self.noise.items():
            if len(rows) != len(Level) or any(
                len(row) != len(Level) or min(row) <= 0 or not math.isclose(sum(row), 1.0)
                for row in rows
            ):
                raise ValueError(f"the noise of {attribute} is no row of chances for each level")

    @cached_property
    def level_noise(self) -> Noise:
        """P(reading | level): a discretised normal on five levels, with a share of blunders."""
        return _noise(len(Level), self.level_sd, self.blunder)

    def noise_of(self, attribute: str) -> Noise:
        """P(reading | level) of one attribute: the taster's own where it is known."""
        return self.noise.get(attribute) or self.level_noise

    def noted(self, descriptor: str, chance: float) -> float:
        """The chance that this taster notes a descriptor which an average one notes at `chance`."""
        return min(max(chance * self.detection.get(descriptor, 1.0), 0.01), 0.99)


AVERAGE_READER = Reader()


def _noise(size: int, sd: float, blunder: float) -> Noise:
    rows = []
    for true in range(size):
        raw = [math.exp(-((true - read) ** 2) / (2 * sd * sd)) for read in range(size)]
        total = sum(raw)
        rows.append(tuple((1 - blunder) * value / total + blunder / size for value in raw))
    return tuple(rows)


def true_levels(typical: LevelRange) -> tuple[float, ...]:
    """P(level | wine) for a wine whose typical range is `typical`.

    The range's levels share 1 - OUTSIDE_RANGE evenly, the rest falls off by thirds with distance.
    """
    inside = list(typical)
    outside = {
        level: 3.0 ** -min(abs(level - typical.low), abs(level - typical.high))
        for level in Level
        if level not in typical
    }
    leak = OUTSIDE_RANGE if outside else 0.0
    spread = sum(outside.values()) or 1.0
    return tuple(
        leak * outside[level] / spread if level in outside else (1 - leak) / len(inside)
        for level in Level
    )


def level_chances(
    typical: LevelRange, reader: Reader = AVERAGE_READER, attribute: str = ""
) -> Categorical:
    """P(reading | wine) on the five levels for a wine whose typical range is `typical`.

    The taster's noise in this attribute is laid over the wine's own levels: P(r|w) = sum over
    levels P(level|w) P(r|level).
    """
    true, noise = true_levels(typical), reader.noise_of(attribute)
    return Categorical({read: sum(true[t] * noise[t][read] for t in Level) for read in Level})


def hue_chances(hues: Iterable[str], reader: Reader = AVERAGE_READER) -> Categorical:
    """P(hue read | wine): the usual hue counts twice, neighbours on its scale are taken for it."""
    listed = list(hues)
    raw = dict.fromkeys((hue for group in HUES.values() for hue in group), 0.0)
    for position, hue in enumerate(listed):
        share = (2.0 if position == 0 else 1.0) / (len(listed) + 1)
        group = next(group for group in HUES.values() if hue in group)
        noise = _noise(len(group), reader.level_sd, 0.0)
        for index, other in enumerate(group):
            raw[other] += share * noise[group.index(hue)][index]
    floor = reader.blunder / len(raw)
    return Categorical({hue: (1 - reader.blunder) * p + floor for hue, p in raw.items()})


def alcohol_likelihood(profile: Profile, reader: Reader = AVERAGE_READER) -> Gaussian:
    """The alcohol a taster reads, % vol: the wine's central 80% and the reading noise, added.

    A share of blunders lies anywhere, as on the scales of levels.
    """
    sd = (profile.alcohol.high - profile.alcohol.low) / 2 / _CENTRAL_80
    mean, sd = profile.alcohol.middle + reader.alcohol_bias, math.hypot(sd, reader.alcohol_sd)
    return Gaussian(mean, sd, reader.blunder, _ALCOHOL_SPAN)


@dataclass(frozen=True)
class Picture:
    """What a taster reads from one wine: a likelihood for every cue, by attribute.

    `typical` holds the readings that are true to the wine on each scale; `noted` the descriptors
    that the profile lists, as this taster catches them; `chance_noted` answers for all others too.
    """

    wine: str
    scales: Mapping[str, Likelihood]
    typical: Mapping[str, tuple[Reading, ...]] = field(default_factory=dict)
    noted: Mapping[str, float] = field(default_factory=dict)
    unlisted: float = UNLISTED
    kin: Mapping[str, float] = field(default_factory=dict)
    family_of: Mapping[str, str] = field(default_factory=dict)
    reader: Reader = AVERAGE_READER

    def chance_noted(self, descriptor: str) -> float:
        """The chance that the taster notes the descriptor when this wine is in the glass."""
        found = self.noted.get(descriptor)
        if found is not None:
            return found
        chance = self.kin.get(self.family_of.get(descriptor, ""), self.unlisted)
        # A word that this taster misses is missed in every wine; scaled in the listed ones alone,
        # its rare catch would speak against the very wine that is known for it.
        return self.reader.noted(descriptor, chance) if self.reader.detection else chance

    def likelihood(self, attribute: str) -> Likelihood | None:
        """The likelihood of a cue; None for a scale that this wine is not placed on."""
        scale = self.scales.get(attribute)
        if scale is None and attribute in self.family_of:
            return Binary(self.chance_noted(attribute))
        return scale


def picture_of(profile: Profile, lexicon: Lexicon, reader: Reader = AVERAGE_READER) -> Picture:
    """The picture that a taster has of the wine that a profile describes."""
    # A profile leaves tannin out where the glass has none worth a word.
    levels = {"tannin": LevelRange(Level.LOW, Level.LOW), **profile.structure, DEPTH: profile.depth}
    scales: dict[str, Likelihood] = {
        attribute: level_chances(typical, reader, attribute)
        for attribute, typical in levels.items()
    }
    scales[ALCOHOL] = alcohol_likelihood(profile, reader)
    scales[HUE] = hue_chances(profile.hues, reader)
    typical: dict[str, tuple[Reading, ...]] = {name: tuple(span) for name, span in levels.items()}
    # Labels state whole and half units, so a card does too.
    typical[ALCOHOL] = (round(profile.alcohol.middle * 2) / 2,)
    typical[HUE] = profile.hues
    noted = {key: reader.noted(key, NOTED[typical]) for key, typical in profile.descriptors.items()}
    # Who finds lime may write lemon: a family that the wine is known for lends its other members
    # an occasional note, so that a near word is no evidence against the wine.
    kin = {
        lexicon.family_of(key): NOTED[Typical.OCCASIONAL]
        for key, typical in profile.descriptors.items()
        if typical in (Typical.SIGNATURE, Typical.COMMON)
    }
    families = {key: descriptor.family for key, descriptor in lexicon.descriptors.items()}
    return Picture(profile.key, scales, typical, noted, kin=kin, family_of=families, reader=reader)


def weight(reading: Reading, attribute: str, a: Picture, b: Picture) -> float:
    """The weight of one reading for `a` against `b`, decibans; 0 where either has no such scale."""
    mine, theirs = a.likelihood(attribute), b.likelihood(attribute)
    if mine is None or theirs is None:
        return 0.0
    return DECIBANS * (mine.log(reading) - theirs.log(reading))


def divergence(attribute: str, a: Picture, b: Picture) -> float:
    """The weight that a reading of this cue is expected to give for the true wine, decibans.

    It is the mean of the two expected weights (half the Jeffreys divergence).
    """
    mine, theirs = a.likelihood(attribute), b.likelihood(attribute)
    if mine is None or theirs is None or type(mine) is not type(theirs):
        return 0.0
    return DECIBANS * mine.divergence(theirs)  # type: ignore[attr-defined, no-any-return]


def separation(a: Picture, b: Picture) -> float:
    """How far apart two wines are, decibans: the summed divergence of all cues.

    Descriptors of one family are damped: n equal ones count as n / (1 + (n - 1) r) with r the
    FAMILY_CORRELATION (Kish's design effect, Survey Sampling, 1965); n is the effective number
    (sum squared over sum of squares), so that one strong word among faint ones is not damped.
    """
    total = sum(divergence(attribute, a, b) for attribute in a.scales)
    families: dict[str, list[float]] = {}
    # A fixed order of adding makes the sum the same on every run.
    for key in sorted({*a.noted, *b.noted}):
        size = DECIBANS * _binary_divergence(a.chance_noted(key), b.chance_noted(key))
        if size:
            families.setdefault(a.family_of[key], []).append(size)
    for sizes in families.values():
        whole = sum(sizes)
        effective = whole * whole / sum(size * size for size in sizes)
        total += whole / (1 + (effective - 1) * FAMILY_CORRELATION)
    return total


def dampings(
    attributes: Iterable[str], picture: Picture, correlation: float = FAMILY_CORRELATION
) -> dict[str, float]:
    """By how much the weight of each cue of a note is divided, for the company it keeps.

    n descriptors of one family are each divided by 1 + (n - 1) `correlation` (Kish's design
    effect); a scale stands alone. Every picture of one lexicon gives the same answer.
    """
    families = {attribute: picture.family_of.get(attribute, attribute) for attribute in attributes}
    sizes = Counter(families.values())
    return {key: 1 + (sizes[family] - 1) * correlation for key, family in families.items()}


def posterior(
    pictures: Iterable[Picture],
    note: Mapping[str, Reading],
    *,
    prior: Mapping[str, float] | None = None,
    correlation: float = FAMILY_CORRELATION,
) -> dict[str, float]:
    """The probability of every wine given a whole note: naive Bayes, most probable first.

    `note` maps attributes to readings (True or False for descriptors that were checked). The
    log-likelihoods of n descriptors of one family are each divided by 1 + (n - 1) `correlation`
    (Kish's design effect); 0 gives plain naive Bayes. `prior` is even unless given.
    """
    wines = list(pictures)
    if not wines:
        return {}
    damping = dampings(note, wines[0], correlation)
    logs: dict[str, float] = {}
    for picture in wines:
        total = math.log(prior[picture.wine]) if prior else 0.0
        for attribute, reading in note.items():
            likelihood = picture.likelihood(attribute)
            if likelihood is not None:
                total += likelihood.log(reading) / damping[attribute]
        logs[picture.wine] = total
    top = max(logs.values())
    raw = {wine: math.exp(value - top) for wine, value in logs.items()}
    whole = sum(raw.values())
    return dict(sorted(((w, v / whole) for w, v in raw.items()), key=lambda item: -item[1]))
