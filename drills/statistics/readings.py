"""How one taster reads: noise between levels, and descriptors that they do not catch."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cards.evidence import ALCOHOL_READING_SD, AVERAGE_READER
from drills.statistics.shares import LEVEL, Estimate, beta_estimate, check_counts, tail

Matrix = Sequence[Sequence[float]]

# The average taster's noise is worth so many readings of each level, the default alcohol noise so
# many calls, the average detection so many expected notes (our assumptions).
NOISE_READINGS = 8.0
ALCOHOL_CALLS = 4.0
DETECTION_NOTES = 3.0
# Rotundone, the pepper of Syrah and Grüner: about one person in four or five does not smell it
# (Nutrients 12, 2020, 2522); midway between the two.
ROTUNDONE_ANOSMIC = 0.225


@dataclass(frozen=True, slots=True)
class NoiseMatrix:
    """P(reading | level), a row for each level: posterior means and credible intervals."""

    mean: tuple[tuple[float, ...], ...]
    low: tuple[tuple[float, ...], ...]
    high: tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class AlcoholReading:
    """A taster's alcohol calls, % vol: how far off on average, and how scattered."""

    bias: Estimate
    sd: Estimate


def average_prior(worth: float = NOISE_READINGS) -> list[list[float]]:
    """The average taster's noise as prior counts, `worth` readings of each level."""
    return [[worth * share for share in row] for row in AVERAGE_READER.level_noise]


def noise_matrix(counts: Matrix, prior: Matrix, level: float = LEVEL) -> NoiseMatrix:
    """How readings scatter about each true level.

    `counts[t][r]` says how often level t was read as r, `prior` holds the Dirichlet's parameters in
    the same places. Each row's posterior is Dirichlet(prior + counts) (Gelman et al., Bayesian Data
    Analysis, 3rd ed. 2013, section 3.4); a single share of it is Beta distributed, which gives the
    intervals.

    Raises:
        ValueError: counts and prior of different size, a negative count, a prior that is not
            positive, or an impossible level.
    """
    if [len(row) for row in counts] != [len(row) for row in prior]:
        raise ValueError("counts and prior need the same size")
    rows = []
    for seen, before in zip(counts, prior, strict=True):
        if min(seen) < 0:
            raise ValueError("a count is not negative")
        if min(before) <= 0:
            raise ValueError("the parameters of a Dirichlet are positive")
        posterior = [one + other for one, other in zip(seen, before, strict=True)]
        whole = sum(posterior)
        rows.append([beta_estimate(part, whole - part, level) for part in posterior])
    return NoiseMatrix(
        tuple(tuple(cell.value for cell in row) for row in rows),
        tuple(tuple(cell.low for cell in row) for row in rows),
        tuple(tuple(cell.high for cell in row) for row in rows),
    )


def noise_from_ranges(
    readings: Iterable[tuple[Sequence[float], int, float]], prior: Matrix, rounds: int = 30
) -> list[list[float]]:
    """The noise matrix where a profile gives only how probable each level is, not the level.

    `readings` holds (P(level | wine), reading, how many times). Alternates between sharing each
    reading among the levels it may have come from and estimating the noise from those shares, with
    the prior's counts added (expectation and maximisation: Dempster, Laird and Rubin, JRSS B 39,
    1977, 1). Point estimates only: an interval from shared-out counts would claim too much. With
    levels that are known it equals the means of `noise_matrix`.

    Raises:
        ValueError: `rounds` is below 1, or a prior that is not positive.
    """
    if rounds < 1:
        raise ValueError("at least one round is needed")
    if min(map(min, prior)) <= 0:
        raise ValueError("the parameters of a Dirichlet are positive")
    seen = list(readings)
    size = range(len(prior))
    noise = _by_row(prior)
    for _ in range(rounds):
        counts = [list(row) for row in prior]
        for chances, read, times in seen:
            joint = [chances[true] * noise[true][read] for true in size]
            whole = sum(joint)
            for true in size if whole else ():
                counts[true][read] += times * joint[true] / whole
        noise = _by_row(counts)
    return noise


def _by_row(counts: Matrix) -> list[list[float]]:
    return [[count / sum(row) for count in row] for row in counts]


def detection(
    hits: float, n: float, prior: tuple[float, float] = (1.0, 1.0), level: float = LEVEL
) -> Estimate:
    """How often a descriptor is noted, from `hits` in `n` pours that show it.

    Mean and credible interval of the posterior of a Beta prior (uniform unless told).

    Raises:
        ValueError: impossible counts or level, or a prior that is not positive.
    """
    check_counts(hits, n)
    return beta_estimate(prior[0] + hits, prior[1] + n - hits, level)


def detection_factor(
    hits: float, expected: float, worth: float = DETECTION_NOTES, level: float = LEVEL
) -> Estimate:
    """How much more or less often than an average taster this one notes a descriptor.

    `expected` is the number of notes that an average taster would have made on the same pours: the
    sum of the chances that the profiles give. Hits are taken as Poisson with mean factor times
    expected; a gamma prior about 1, worth `worth` expected notes, gives the posterior Gamma(worth +
    hits, worth + expected) (Gelman et al. 2013, section 2.6). 1 is average; the value fits
    `cards.evidence.Reader.detection`.

    Raises:
        ValueError: a negative count, `worth` not positive, or an impossible level.
    """
    if min(hits, expected) < 0 or worth <= 0:
        raise ValueError("counts are not negative, and the prior is worth something")
    from scipy.special import gammaincinv

    end, shape, rate = tail(level), worth + hits, worth + expected
    return Estimate(
        shape / rate,
        float(gammaincinv(shape, end)) / rate,
        float(gammaincinv(shape, 1 - end)) / rate,
    )


def chance_not_perceived(
    hits: int, chances: Sequence[float], share: float, stray: float = 0.02
) -> float:
    """The probability that a taster cannot perceive what a descriptor names.

    Two hypotheses: a perceiver notes it in each pour with the chance that the profile gives
    (`chances`, one for every pour); one who cannot perceive it writes it down only by accident
    (`stray`). `share` is the share of people who cannot, from a source (for rotundone
    ROTUNDONE_ANOSMIC). Bayes' rule over the pours; `hits` of them were noted.

    It does not tell missing the smell from missing the word: it is a reason to ask somebody to pour
    a clear example, no more.

    Raises:
        ValueError: impossible counts, or a chance or share not inside 0 to 1.
    """
    check_counts(hits, len(chances))
    if not all(0 < chance < 1 for chance in (*chances, share, stray)):
        raise ValueError("chances and shares lie between 0 and 1")
    # P(hits | perceiver): pours differ in their chance, so the counts are summed up pour by pour.
    ways = [1.0]
    for chance in chances:
        ways = [
            (ways[k] if k < len(ways) else 0.0) * (1 - chance)
            + (ways[k - 1] if k else 0.0) * chance
            for k in range(len(ways) + 1)
        ]
    perceived = (1 - share) * ways[hits]
    n = len(chances)
    missed = share * math.comb(n, hits) * stray**hits * (1 - stray) ** (n - hits)
    return missed / (missed + perceived)


def alcohol_reading(
    n: int,
    total: float,
    squares: float,
    *,
    usual_sd: float = ALCOHOL_READING_SD,
    worth: float = ALCOHOL_CALLS,
    level: float = LEVEL,
) -> AlcoholReading:
    """A taster's alcohol bias and noise from sums of (called - label), % vol.

    Normal differences with a normal-inverse-chi-square prior: bias about 0 and noise about
    `usual_sd`, both worth `worth` calls (Gelman et al. 2013, section 3.3). The label's own rounding
    is part of the noise. `sd.value` is the square root of the posterior scale.

    Raises:
        ValueError: a negative count, `usual_sd` or `worth` not positive, or an impossible level.
    """
    if n < 0 or usual_sd <= 0 or worth <= 0:
        raise ValueError("counts are not negative, and the prior is worth something")
    from scipy.special import chdtri, stdtrit

    end = tail(level)
    mean = total / n if n else 0.0
    scatter = max(squares - n * mean * mean, 0.0)
    weight = worth + n
    pull = worth * n / weight * mean * mean
    scale = (worth * usual_sd**2 + scatter + pull) / weight
    bias = n * mean / weight
    half = float(stdtrit(weight, 1 - end)) * math.sqrt(scale / weight)
    return AlcoholReading(
        Estimate(bias, bias - half, bias + half),
        Estimate(
            math.sqrt(scale),
            math.sqrt(weight * scale / float(chdtri(weight, end))),
            math.sqrt(weight * scale / float(chdtri(weight, 1 - end))),
        ),
    )
