"""How one taster reads: bias and spread of levels and alcohol, descriptors caught and missed. Pure.

Estimated from noted pours whose wine was revealed, against what an average taster would have
noted of the same wines; every estimate starts from the average taster and moves as pours come in.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from cards.evidence import (
    ALCOHOL_READING_SD,
    AVERAGE_READER,
    BLUNDER,
    NOTED,
    Noise,
    Reader,
    level_chances,
    true_levels,
)
from cards.lexicon import DEPTH, STRUCTURE
from cards.profiles import STYLES, Profile
from cards.scale import Level, LevelRange, Typical
from cards.tables import Table
from drills.statistics.agreement import Kappa, kappa, table_of
from drills.statistics.readings import (
    alcohol_reading,
    average_prior,
    chance_not_perceived,
    detection_factor,
    noise_from_ranges,
)
from drills.statistics.shares import Estimate
from drills.tastings.habit_words import sentences
from drills.tastings.habits import (
    INSENSITIVITIES,
    LEAST_BIAS,
    LEAST_POURS,
    LEAST_WINES,
    AlcoholBias,
    Caught,
    Insensitivity,
    LevelBias,
    NotSmelt,
    PersonalReading,
    ReadCount,
)

__all__ = ["LATEST", "LEAST_POURS", "LevelBias", "PersonalReading", "ReadCount", "personal_reading"]

# Older pours say little of today's nose: so many of the latest noted pours are looked at.
LATEST = 5000
# Intervals that are shown hold the true value with this probability; a sentence is said only
# where even the stricter one leaves no doubt of the direction, for there are some seventy to look
# at. Of invented average tasters with 100 to 400 pours about one in six then hears one untrue thing
# (at 0.99 it is one in four); half a level is found in about 30 pours.
SHOWN, SAID = 0.90, 0.995
# A missed descriptor is named once the taster would have noted it so often, and did so less than
# half as often as that, all but certainly.
LEAST_EXPECTED = 3.0
SELDOM = 0.5
# So probable must it be that a smell is not perceived before it is said.
NOT_SMELT = 0.95
# The average taster's readiness to write words down counts as so many expected notes.
_READINESS_NOTES = 20.0
# The average taster's spread is worth so many calls of a level.
_LEVEL_CALLS = 4.0
# Nobody catches more than nearly all: a signature is noted at 0.75 by an average taster.
_MOST_FACTOR = 1.25
# So many pours settle whether a smell is perceived.
_ENOUGH_POURS = 200
_EM_ROUNDS = 12
_LEVELS = (*STRUCTURE, DEPTH)
_HALVES = 2 * len(Level) - 1


def personal_reading(
    table: Table,
    readings: Iterable[ReadCount],
    noted: Mapping[str, int],
    alcohol: Iterable[tuple[float, float, int]] = (),
) -> PersonalReading:
    """Estimate how a taster reads.

    Args:
        table: what the wines are like.
        readings: cues as read in pours of known wines; those the table has no longer are left out.
        noted: in how many pours of each wine any descriptor was noted or looked for.
        alcohol: (called, label, how many times), % vol.

    Levels: the noise of each attribute by expectation and maximisation from the profiles' ranges,
    the average taster's noise as prior (`drills.statistics.readings.noise_from_ranges`); bias and
    spread as a normal with a prior worth a few calls. Descriptors: a gamma posterior about the
    average taster's chance, scaled by this taster's readiness to write words down.
    """
    known = [one for one in readings if one.wine in table.profiles]
    scales: defaultdict[str, list[ReadCount]] = defaultdict(list)
    words: list[ReadCount] = []
    for one in known:
        if isinstance(one.reading, bool):
            words.append(one)
        elif one.attribute in _LEVELS:
            scales[one.attribute].append(one)
    here = {wine: pours for wine, pours in noted.items() if wine in table.profiles}
    levels = tuple(_level_biases(table, scales))
    alcohol_bias, alcohol_reader = _alcohol(alcohol)
    caught, readiness = _caught(table, words, here)
    not_smelt = tuple(
        lacking
        for smell in INSENSITIVITIES
        if (lacking := _not_smelt(table, smell, words, here, readiness)) is not None
    )
    reader = Reader(
        alcohol_sd=alcohol_reader[1],
        alcohol_bias=alcohol_reader[0],
        detection=_detection(caught, not_smelt),
        noise={name: _noise(table, name, counts) for name, counts in sorted(scales.items())},
    )
    if not (known or alcohol_bias):
        reader = AVERAGE_READER
    found = PersonalReading(
        reader=reader,
        pours=_pours(scales, here),
        levels=levels,
        alcohol=alcohol_bias,
        caught=caught,
        not_smelt=not_smelt,
    )
    return replace(found, sentences=tuple(sentences(table, found)))


def _pours(scales: Mapping[str, Sequence[ReadCount]], noted: Mapping[str, int]) -> int:
    """Pours that the estimates rest on; of each wine those of its most noted cue."""
    most: dict[str, int] = dict(noted)
    for counts in scales.values():
        of_wine: defaultdict[str, int] = defaultdict(int)
        for one in counts:
            of_wine[one.wine] += one.times
        for wine, times in of_wine.items():
            most[wine] = max(most.get(wine, 0), times)
    return sum(most.values())


# ---- levels


def _range_of(profile: Profile, attribute: str) -> LevelRange:
    if attribute == DEPTH:
        return profile.depth
    # A profile leaves tannin out where the glass has none worth a word.
    return profile.structure.get(attribute) or LevelRange(Level.LOW, Level.LOW)


@lru_cache(maxsize=64)
def _usual(typical: LevelRange) -> tuple[float, float]:
    """Mean and variance of an average taster's reading of a wine with this range."""
    chances = level_chances(typical).chances
    mean = sum(int(level) * chance for level, chance in chances.items())
    square = sum(int(level) ** 2 * chance for level, chance in chances.items())
    return mean, square - mean * mean


@dataclass(slots=True)
class _Sums:
    pours: int = 0
    off: float = 0.0
    squares: float = 0.0
    usual: float = 0.0
    wines: set[str] = field(default_factory=set)
    # Called by what is typical, in half levels: the middle of a range may lie between two.
    halves: Counter[tuple[int, int]] = field(default_factory=Counter)

    def add(self, one: ReadCount, typical: LevelRange) -> None:
        mean, variance = _usual(typical)
        off = int(one.reading) - mean
        self.pours += one.times
        self.off += one.times * off
        self.squares += one.times * off * off
        self.usual += one.times * variance
        self.wines.add(one.wine)
        self.halves[int(typical.low) + int(typical.high), 2 * int(one.reading)] += one.times


def _level_biases(table: Table, scales: Mapping[str, Sequence[ReadCount]]) -> Iterable[LevelBias]:
    for attribute in _LEVELS:
        sums: defaultdict[str, _Sums] = defaultdict(_Sums)
        for one in scales.get(attribute, ()):
            profile = table.profiles[one.wine]
            for style in ("", profile.style):
                sums[style].add(one, _range_of(profile, attribute))
        for style in ("", *STYLES):
            if style in sums:
                yield _bias(attribute, style, sums[style])


def _bias(attribute: str, style: str, sums: _Sums) -> LevelBias:
    usual_sd = math.sqrt(sums.usual / sums.pours)

    def at(level: float) -> tuple[Estimate, Estimate]:
        found = alcohol_reading(
            sums.pours,
            sums.off,
            sums.squares,
            usual_sd=usual_sd,
            worth=_LEVEL_CALLS,
            level=level,
        )
        return found.bias, found.sd

    bias, spread = at(SHOWN)
    strict, _ = at(SAID)
    sure = (
        sums.pours >= LEAST_POURS
        and len(sums.wines) >= LEAST_WINES
        and abs(bias.value) >= LEAST_BIAS
        and (strict.low > 0 or strict.high < 0)
    )
    # Of one style most wines are alike, which leaves little to follow.
    followed = None if style else _followed(sums.halves)
    return LevelBias(attribute, style, sums.pours, len(sums.wines), bias, spread, sure, followed)


def _followed(halves: Mapping[tuple[int, int], int]) -> Kappa | None:
    """Kappa of the calls; None where it could be nothing but 0."""
    typical, called = map(set, zip(*halves, strict=True))
    if len(typical) == 1 or len(called) == 1:
        return None
    return kappa(table_of(halves, _HALVES), "quadratic", SHOWN)


def _noise(table: Table, attribute: str, counts: Sequence[ReadCount]) -> Noise:
    """This taster's P(reading | level), never so sure that one reading outweighs all others."""
    times: defaultdict[tuple[LevelRange, int], int] = defaultdict(int)
    for one in counts:
        times[_range_of(table.profiles[one.wine], attribute), int(one.reading)] += one.times
    rows = noise_from_ranges(
        [(true_levels(typical), read, number) for (typical, read), number in times.items()],
        average_prior(),
        rounds=_EM_ROUNDS,
    )
    return tuple(_floored(row) for row in rows)


def _floored(row: Sequence[float]) -> tuple[float, ...]:
    raised = [max(chance, BLUNDER / len(row)) for chance in row]
    whole = sum(raised)
    return tuple(chance / whole for chance in raised)


# ---- alcohol


def _alcohol(
    calls: Iterable[tuple[float, float, int]],
) -> tuple[AlcoholBias | None, tuple[float, float]]:
    labels, off, squares = 0, 0.0, 0.0
    for called, label, times in calls:
        # In hundredths, since 16.1 - 15.6 is a hair more than a half in binary.
        difference = round(100 * (called - label)) / 100
        labels += times
        off += times * difference
        squares += times * difference * difference
    if not labels:
        return None, (0.0, ALCOHOL_READING_SD)
    found = alcohol_reading(labels, off, squares, level=SHOWN)
    strict = alcohol_reading(labels, off, squares, level=SAID).bias
    sure = (
        labels >= LEAST_POURS
        and abs(found.bias.value) >= LEAST_BIAS
        and (strict.low > 0 or strict.high < 0)
    )
    return AlcoholBias(labels, found.bias, found.sd, sure), (found.bias.value, found.sd.value)


# ---- descriptors


def _listed(profile: Profile) -> Mapping[str, float]:
    """The descriptors that a wine shows, with the chance that an average taster notes them."""
    return {
        key: NOTED[typical]
        for key, typical in profile.descriptors.items()
        if typical is not Typical.NEVER
    }


def _caught(
    table: Table, words: Iterable[ReadCount], noted: Mapping[str, int]
) -> tuple[tuple[Caught, ...], float]:
    """Each descriptor that was to be met, and this taster's readiness to write words down."""
    said: defaultdict[tuple[str, str, bool], int] = defaultdict(int)
    for one in words:
        said[one.wine, one.attribute, bool(one.reading)] += one.times
    hits: defaultdict[str, int] = defaultdict(int)
    pours: defaultdict[str, int] = defaultdict(int)
    unasked: defaultdict[str, float] = defaultdict(float)
    asked: defaultdict[str, float] = defaultdict(float)
    for wine, number in noted.items():
        for descriptor, chance in _listed(table.profiles[wine]).items():
            absent = min(said.get((wine, descriptor, False), 0), number)
            hits[descriptor] += min(said.get((wine, descriptor, True), 0), number)
            pours[descriptor] += number
            unasked[descriptor] += chance * (number - absent)
            asked[descriptor] += chance * absent
    met = sum(unasked.values()) + sum(asked.values())
    readiness = (_READINESS_NOTES + sum(hits.values())) / (_READINESS_NOTES + met)
    found = []
    for descriptor in sorted(pours):
        # Who says that it is not there has looked for it, however few words they write.
        expected = readiness * unasked[descriptor] + asked[descriptor]
        factor = detection_factor(hits[descriptor], expected, level=SHOWN)
        strict = detection_factor(hits[descriptor], expected, level=SAID)
        seldom = expected >= LEAST_EXPECTED and strict.high < 1 and factor.value <= SELDOM
        found.append(
            Caught(descriptor, hits[descriptor], expected, pours[descriptor], factor, seldom)
        )
    return tuple(found), readiness


def _not_smelt(
    table: Table,
    smell: Insensitivity,
    words: Iterable[ReadCount],
    noted: Mapping[str, int],
    readiness: float,
) -> NotSmelt | None:
    """Whether a taster perceives a smell that some people do not; None without evidence enough."""
    hits: defaultdict[str, int] = defaultdict(int)
    absent: defaultdict[str, int] = defaultdict(int)
    for one in words:
        if one.attribute in smell.descriptors:
            (hits if one.reading else absent)[one.wine] += one.times
    chances: list[float] = []
    found = 0
    for wine, number in sorted(noted.items()):
        listed = _listed(table.profiles[wine])
        chance = max((listed.get(word, 0.0) for word in smell.descriptors), default=0.0)
        if chance < NOTED[Typical.COMMON]:
            continue
        found += min(hits[wine], number)
        looked = min(absent[wine], number)
        chances += [min(readiness * chance, 0.95)] * (number - looked) + [chance] * looked
    expected = sum(chances)
    if expected < LEAST_EXPECTED:
        return None
    pours, noticed = len(chances), found
    if pours > _ENOUGH_POURS:
        # An even sample, hits rounded up: the answer only becomes more cautious.
        chances = chances[:: math.ceil(pours / _ENOUGH_POURS)]
        found = min(math.ceil(found * len(chances) / pours), len(chances))
    probability = chance_not_perceived(found, chances, smell.share)
    if probability < NOT_SMELT:
        return None
    source = table.sources.get(smell.source)
    return NotSmelt(
        smell, probability, noticed, expected, pours, source.citation if source else smell.source
    )


def _detection(caught: Iterable[Caught], not_smelt: Iterable[NotSmelt]) -> dict[str, float]:
    factors = {one.descriptor: min(one.factor.value, _MOST_FACTOR) for one in caught}
    for one in not_smelt:
        for word in one.smell.descriptors:
            # Then its absence says nothing of the wine.
            factors[word] = factors.get(word, 1.0) * (1 - one.probability)
    return factors
