"""Invented tasters whose reading is known, to see whether it is found again."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from cards.evidence import AVERAGE_READER, BLUNDER, LEVEL_READING_SD, NOTED, true_levels
from cards.lexicon import DEPTH, STRUCTURE
from cards.profiles import Profile
from cards.scale import Level, LevelRange, Typical
from cards.tables import Table
from drills.tastings.reading import ReadCount


@dataclass
class Logged:
    """What a log holds of a taster: cues read, noted pours, alcohol with labels."""

    readings: list[ReadCount]
    noted: Mapping[str, int]
    alcohol: list[tuple[float, float, int]]


@dataclass
class Taster:
    """Reads as the average does, but for what is set.

    `bias` in levels, by attribute or by (attribute, style); `detection` by descriptor; `readiness`
    scales how many words are written down; `alcohol` is bias and spread, % vol.
    """

    bias: Mapping[object, float] = field(default_factory=dict)
    detection: Mapping[str, float] = field(default_factory=dict)
    readiness: float = 0.5
    alcohol: tuple[float, float] = (0.0, 0.6)

    def log(self, table: Table, rng: random.Random, pours: int, wines: Sequence[str]) -> Logged:
        """So many noted pours, drawn from `wines`."""
        counts: Counter[tuple[str, str, Level | bool]] = Counter()
        noted: Counter[str] = Counter()
        alcohol: Counter[tuple[float, float]] = Counter()
        for _ in range(pours):
            wine = rng.choice(wines)
            profile = table.profiles[wine]
            noted[wine] += 1
            for attribute in (*STRUCTURE, DEPTH):
                typical = range_of(profile, attribute)
                if typical is not None:
                    counts[wine, attribute, self._level(rng, attribute, profile, typical)] += 1
            for word, typical in profile.descriptors.items():
                chance = self.readiness * self.detection.get(word, 1.0) * NOTED[typical]
                if typical is not Typical.NEVER and rng.random() < chance:
                    counts[wine, word, True] += 1
            label = round(2 * profile.alcohol.middle) / 2
            called = rng.gauss(label + self.alcohol[0], self.alcohol[1])
            alcohol[round(2 * called) / 2, label] += 1
        return Logged(
            [ReadCount(*key, times) for key, times in counts.items()],
            noted,
            [(*key, times) for key, times in alcohol.items()],
        )

    def _level(
        self, rng: random.Random, attribute: str, profile: Profile, typical: LevelRange
    ) -> Level:
        true = rng.choices(range(5), true_levels(typical))[0]
        bias = self.bias.get(attribute, 0.0) + self.bias.get((attribute, profile.style), 0.0)
        if not bias:
            return Level(rng.choices(range(5), AVERAGE_READER.level_noise[true])[0])
        if rng.random() < BLUNDER:
            return Level(rng.randrange(5))
        return Level(min(max(round(rng.gauss(true + bias, LEVEL_READING_SD)), 0), 4))


def range_of(profile: Profile, attribute: str) -> LevelRange | None:
    """The typical range of a scale; None where a profile says nothing of it."""
    return profile.depth if attribute == DEPTH else profile.structure.get(attribute)
