"""What everyone mixes up: a newcomer's prior for a confusion, from counts of other tasters. Pure.

Every ordered pair j (a pour of `was` called `called`) has a rate m_j of its own in the group, and
every taster i a rate p_ij of their own about it:

    m_j ~ Beta(A t_j, A (1 - t_j)),  p_ij ~ Beta(K m_j, K (1 - m_j)),  y_ij ~ Binomial(n_ij, p_ij)

t_j is the rate that the table lets one expect, A says how far the table is to be believed, K how
much alike tasters are; both are worth pours. They are estimated from all pairs together, as an
empirical Bayes prior is (Efron and Morris, J. Amer. Statist. Assoc. 70, 1975, 311; Gelman et al.,
Bayesian Data Analysis, 3rd ed. 2013, sections 5.1 and 5.3). Counts are summed over tasters, so that
nobody is seen in them; what two pours of one taster have in common is summed too, which is all that
K needs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from math import exp, lgamma, log
from typing import Any

Pair = tuple[str, str]
"""What it was called, and what it was."""

# Half of what the table's own prior is worth (4 pours, `drills.confusions.PRIOR_POURS`) is doubt
# about the table and half is doubt about the taster: A K / (A + K + 1) = 4 where A = K.
USUAL = 4.0 + 20.0**0.5
# How far A and K may lie, in pours; beyond, counts of a few thousand pours say nothing.
_LEAST, _MOST = 1.0, 60.0
# How uncertain both are before any count (our assumption): the logarithm of A, and 1 / (K + 1), the
# correlation of two pours of one taster.
_LOG_SPREAD = 1.0
_CORRELATION_SPREAD = 0.1
# No pair is impossible, however far apart the table puts it (our assumption).
LEAST_EXPECTED = 1 / 1000
# Pairs that the table lets one expect less often tell nothing of A unless they were confused.
WORTH_ASKING = 1 / 200
# Before any call of their own a taster is held to be like the group with this probability (our
# assumption).
FIRST_TRUST = 0.8
_FAR = 700.0


@dataclass(frozen=True, slots=True)
class Prior:
    """A Beta prior of a confusion rate: its mean, and how many pours it is worth."""

    rate: float
    pours: float


@dataclass(frozen=True, slots=True)
class Poured:
    """Pours of one wine: of how many tasters, how many, and `twice`.

    `twice` sums n (n - 1) over the tasters, n pours each: ordered pairs of pours of one taster.
    """

    tasters: int
    pours: int
    twice: int

    def __add__(self, other: Poured) -> Poured:
        return Poured(
            self.tasters + other.tasters, self.pours + other.pours, self.twice + other.twice
        )


@dataclass(frozen=True, slots=True)
class Confused:
    """How often one wine was called another, and `twice`, the pairs of pours that both were."""

    times: int
    twice: int

    def __add__(self, other: Confused) -> Confused:
        return Confused(self.times + other.times, self.twice + other.twice)


@dataclass(frozen=True)
class GroupCounts:
    """What a group poured and confused, with no trace of who: sums over tasters."""

    poured: Mapping[str, Poured] = field(default_factory=dict)
    confused: Mapping[Pair, Confused] = field(default_factory=dict)

    def __add__(self, other: GroupCounts) -> GroupCounts:
        poured, confused = dict(self.poured), dict(self.confused)
        for wine, one in other.poured.items():
            poured[wine] = poured[wine] + one if wine in poured else one
        for pair, two in other.confused.items():
            confused[pair] = confused[pair] + two if pair in confused else two
        return GroupCounts(poured, confused)

    def of_at_least(self, tasters: int) -> GroupCounts:
        """The wines that so many tasters were poured, and their confusions."""
        poured = {wine: one for wine, one in self.poured.items() if one.tasters >= tasters}
        confused = {pair: one for pair, one in self.confused.items() if pair[1] in poured}
        return GroupCounts(poured, confused)


def counts_of_taster(calls: Iterable[tuple[str, str | None, int]]) -> GroupCounts:
    """The counts of one taster, from (was, called, times); pours without a call are left out."""
    poured: defaultdict[str, int] = defaultdict(int)
    confused: defaultdict[Pair, int] = defaultdict(int)
    for was, called, times in calls:
        if called is not None:
            poured[was] += times
            if called != was:
                confused[called, was] += times
    return GroupCounts(
        {wine: Poured(1, n, n * (n - 1)) for wine, n in poured.items()},
        {pair: Confused(y, y * (y - 1)) for pair, y in confused.items()},
    )


@dataclass(frozen=True, slots=True)
class Credit:
    """How far to believe: `table` is A, how many pours the table's rates are worth as the group's;
    `likeness` is K, how many pours the group's rates are worth as a taster's."""

    table: float = USUAL
    likeness: float = USUAL


def credit(counts: GroupCounts, expected: Callable[[str, str], float]) -> Credit:
    """Estimate A and K from a group's counts; `expected` gives t_j for (called, was).

    K by moments: with W and V the sums of y (y - 1) and n (n - 1) within tasters, X and U the same
    across tasters, W / V estimates m^2 + r m (1 - m) and X / U estimates m^2, where r = 1 / (K + 1)
    is the correlation of two pours of one taster. The sums over pairs of W - V X / U and of
    V (y / n - X / U) have the ratio r. It is weighed against r of USUAL by its precision.

    A by maximum likelihood of the beta-binomial, the counts of a pair divided by their design
    effect 1 + r V / n (Rao and Scott, Biometrics 48, 1992, 577), with a log-normal prior at USUAL.
    """
    correlation = _correlation(counts)
    likeness = min(max(1 / correlation - 1, _LEAST), _MOST)
    return Credit(_table_credit(counts, expected, 1 / (likeness + 1)), likeness)


def group_prior(
    counts: GroupCounts, believed: Credit, called: str, was: str, expected: float
) -> Prior | None:
    """A newcomer's prior for calling `was` by `called`; None where nobody was poured `was`.

    With N = A + n / (1 + r V / n), the pours that table and group together are worth, the group's
    rate m has mean M = (A t + (N - A) y / n) / N and variance M (1 - M) / (N + 1). A newcomer's
    rate is Beta about m, so that it has mean M and, by the law of total variance, the variance of a
    Beta worth N K / (N + K + 1) pours: never more than K, however many were counted.
    """
    poured = counts.poured.get(was)
    if poured is None or not poured.pours:
        return None
    confused = counts.confused.get((called, was))
    share = confused.times / poured.pours if confused else 0.0
    told = poured.pours / (1 + poured.twice / poured.pours / (believed.likeness + 1))
    whole = believed.table + told
    rate = (believed.table * max(expected, LEAST_EXPECTED) + told * share) / whole
    return Prior(rate, whole * believed.likeness / (whole + believed.likeness + 1))


def trust(own: Iterable[tuple[float, float, Prior, Prior]]) -> float:
    """How probable it is that a taster is like the group, by their own calls.

    `own` has for each pair how often it was confused, of how many pours, and the priors of group
    and table: Bayes' theorem from FIRST_TRUST with the beta-binomial likelihood of either. A
    newcomer who is not like the group so comes back to the table (as the robust prior of Schmidli
    et al., Biometrics 70, 2014, 1023, does for one quantity). Counts may be weighted by recency.
    """
    odds = log(FIRST_TRUST / (1 - FIRST_TRUST))
    for confused, poured, group, table in own:
        odds += _likely(confused, poured, group) - _likely(confused, poured, table)
    return 1 / (1 + exp(-odds)) if odds > -_FAR else 0.0


def of_both(group: Prior, table: Prior, trusted: float) -> Prior:
    """The Beta with mean and variance of a mixture, `trusted` being the share of the group's."""
    rate = trusted * group.rate + (1 - trusted) * table.rate
    square = sum(
        share * (prior.rate**2 + prior.rate * (1 - prior.rate) / (prior.pours + 1))
        for share, prior in ((trusted, group), (1 - trusted, table))
    )
    return Prior(rate, sum(beta_of_moments(rate, square - rate**2)))


def _likely(confused: float, poured: float, prior: Prior) -> float:
    yes, whole = prior.rate * prior.pours, prior.pours
    return (
        lgamma(yes + confused)
        - lgamma(yes)
        + lgamma(whole - yes + poured - confused)
        - lgamma(whole - yes)
        + lgamma(whole)
        - lgamma(whole + poured)
    )


def log_likelihood(confused: Any, poured: Any, yes: Any, no: Any) -> Any:
    """The beta-binomial's log-likelihood of counts, without the binomial coefficient.

    ln B(yes + y, no + n - y) - ln B(yes, no), element by element; counts need not be whole.
    """
    from scipy.special import betaln

    return betaln(yes + confused, no + poured - confused) - betaln(yes, no)


def beta_of_moments(mean: float, variance: float) -> tuple[float, float]:
    """The Beta of a mean and a variance: a + b = mean (1 - mean) / variance - 1."""
    whole = mean * (1 - mean) / variance - 1
    return mean * whole, (1 - mean) * whole


def _correlation(counts: GroupCounts) -> float:
    """r, the correlation of two pours of one taster, weighed against that of USUAL."""
    above = below = square = 0.0
    for (_, was), confused in counts.confused.items():
        poured = counts.poured[was]
        n, y = poured.pours, confused.times
        within, across = poured.twice, n * (n - 1) - poured.twice
        if not within or not across:
            continue
        chance = (y * (y - 1) - confused.twice) / across
        spread = max(y / n - chance, 0.0)
        above += confused.twice - within * chance
        below += within * spread
        # The product of two standardised outcomes has variance 1; `twice` counts each pair twice.
        square += 2 * within * spread**2
    usual, doubt = 1 / (USUAL + 1), _CORRELATION_SPREAD**-2
    if below <= 0:
        return usual
    precision = below**2 / square
    found = (above / below * precision + usual * doubt) / (precision + doubt)
    return min(max(found, 1 / (_MOST + 1)), 1 / (_LEAST + 1))


def _table_credit(
    counts: GroupCounts, expected: Callable[[str, str], float], correlation: float
) -> float:
    import numpy as np
    from scipy.optimize import minimize_scalar

    wines = {called for called, _ in counts.confused} | set(counts.poured)
    rows = []
    for was, poured in counts.poured.items():
        effect = 1 + correlation * poured.twice / poured.pours if poured.pours else 1.0
        for called in wines - {was}:
            rate = max(expected(called, was), LEAST_EXPECTED)
            confused = counts.confused.get((called, was))
            if poured.pours and (confused or rate >= WORTH_ASKING):
                times = confused.times if confused else 0
                rows.append((rate, times / effect, poured.pours / effect))
    if not rows:
        return USUAL
    rate, y, n = np.array(rows).T

    def loss(log_credit: float) -> float:
        a = np.exp(log_credit)
        doubt = ((log_credit - log(USUAL)) / _LOG_SPREAD) ** 2 / 2
        return float(doubt - log_likelihood(y, n, a * rate, a * (1 - rate)).sum())

    found = minimize_scalar(loss, bounds=(log(_LEAST), log(_MOST)), method="bounded")
    return float(np.exp(found.x))
