"""Sureness against outcome: is "sure" right as often as it should be?

Everything here takes answers already counted: how many were given at one probability, and how many
of those were right.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from drills.grading import Sureness
from drills.statistics.shares import LEVEL, Estimate, beta_estimate, check_counts, wilson

# What the three words claim, as the share of the way from guessing to certainty (our assumption).
CLAIMED: Mapping[Sureness, float] = {
    Sureness.GUESS: 0.0,
    Sureness.LEANING: 0.5,
    Sureness.SURE: 0.9,
}
# That claim is worth so many answers when a taster's own shares are estimated (our assumption).
CLAIM_ANSWERS = 4.0


@dataclass(frozen=True, slots=True)
class Forecast:
    """`n` answers whose probability of being right was put at `probability`; `right` of them were.

    Counts may be weights (shares of all answers).
    """

    probability: float
    n: float
    right: float


@dataclass(frozen=True, slots=True)
class Brier:
    """A Brier score and its parts, all as squared probabilities (0 best, 1 worst).

    `score` = `reliability` - `resolution` + `uncertainty`. Reliability is the loss from stated
    probabilities that differ from the observed shares; resolution what is gained by telling likely
    answers from unlikely ones; uncertainty the score of one who always states the overall share.
    `skill` is 1 - score / uncertainty: 0 for that person, 1 for perfection, negative for worse;
    None where all answers were right or all were wrong. `bias` is the mean stated probability less
    the share right: above 0 is overconfidence.
    """

    score: float
    reliability: float
    resolution: float
    uncertainty: float
    skill: float | None
    bias: float
    n: float


@dataclass(frozen=True, slots=True)
class CalibrationPoint:
    """A stated probability and the share right among its answers, with the Wilson interval."""

    probability: float
    observed: Estimate
    n: float


def gathered(forecasts: Iterable[Forecast]) -> list[Forecast]:
    """One forecast for each distinct probability, in their order; those without answers left out.

    Raises:
        ValueError: impossible counts, or a probability outside 0 to 1.
    """
    counts: defaultdict[float, list[float]] = defaultdict(lambda: [0, 0])
    for one in forecasts:
        check_counts(one.right, one.n)
        if not 0 <= one.probability <= 1:
            raise ValueError(f"a probability lies between 0 and 1, not at {one.probability}")
        counts[one.probability][0] += one.n
        counts[one.probability][1] += one.right
    return [Forecast(p, n, right) for p, (n, right) in sorted(counts.items()) if n]


def brier(forecasts: Iterable[Forecast]) -> Brier:
    """The Brier score of forecasts with Murphy's three parts.

    Score: the mean of (stated probability - outcome)^2 (Brier, Monthly Weather Review 78, 1950, 1,
    halved as is usual for two outcomes). Parts: Murphy, Journal of Applied Meteorology 12, 1973,
    595. They add up exactly because answers are gathered by distinct probability, not into bins.

    Raises:
        ValueError: no answer, impossible counts, or a probability outside 0 to 1.
    """
    groups = gathered(forecasts)
    n = sum(group.n for group in groups)
    if not n:
        raise ValueError("without an answer there is no score")
    share = sum(group.right for group in groups) / n
    # Begun with whole zeros, so that fractions stay fractions and the parts add up unrounded.
    score: float = 0
    reliability: float = 0
    resolution: float = 0
    stated: float = 0
    for group in groups:
        p, observed = group.probability, group.right / group.n
        score += group.right * (1 - p) ** 2 + (group.n - group.right) * p * p
        reliability += group.n * (p - observed) ** 2
        resolution += group.n * (observed - share) ** 2
        stated += group.n * p
    uncertainty = share * (1 - share)
    return Brier(
        score=score / n,
        reliability=reliability / n,
        resolution=resolution / n,
        uncertainty=uncertainty,
        skill=1 - score / n / uncertainty if uncertainty > 0 else None,
        bias=stated / n - share,
        n=n,
    )


def calibration(forecasts: Iterable[Forecast], level: float = LEVEL) -> list[CalibrationPoint]:
    """The points of the calibration curve: stated probability against observed share.

    Raises:
        ValueError: impossible counts, probability or level.
    """
    return [
        CalibrationPoint(group.probability, wilson(group.right, group.n, level), group.n)
        for group in gathered(forecasts)
    ]


def claimed(sureness: Sureness, chance: float = 0.5) -> float:
    """The probability of being right that a word claims, where guessing is right at `chance`.

    On a question of two: guess 0.5, leaning 0.75, sure 0.95 (our assumption; no source).

    Raises:
        ValueError: `chance` is not inside 0 to 1.
    """
    if not 0 < chance < 1:
        raise ValueError(f"a chance lies between 0 and 1, not at {chance}")
    return chance + CLAIMED[sureness] * (1 - chance)


SurenessCounts = Mapping[Sureness, tuple[float, float]]
"""For each sureness the number of answers and how many of them were right."""


def stated(counts: SurenessCounts, chance: float = 0.5) -> list[Forecast]:
    """Answers by sureness as forecasts of what the words claim.

    Raises:
        ValueError: `chance` is not inside 0 to 1.
    """
    return [Forecast(claimed(word, chance), n, right) for word, (n, right) in counts.items()]


def own_probabilities(
    counts: SurenessCounts,
    chance: float = 0.5,
    *,
    worth: float = CLAIM_ANSWERS,
    level: float = LEVEL,
) -> dict[Sureness, Estimate]:
    """What each word means when this taster says it: the share right, with its credible interval.

    Posterior of a Beta prior at what the word claims, worth `worth` answers.

    Raises:
        ValueError: impossible counts, chance or level, or `worth` not positive.
    """
    found = {}
    for word, (n, right) in counts.items():
        check_counts(right, n)
        prior = claimed(word, chance)
        found[word] = beta_estimate(worth * prior + right, worth * (1 - prior) + n - right, level)
    return found
