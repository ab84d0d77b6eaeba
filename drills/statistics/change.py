"""First call against final call: does a taster gain or lose by changing their mind?"""

from __future__ import annotations

import math
from dataclasses import dataclass

from drills.statistics.difference import ALPHA, DifferenceTest, p_value
from drills.statistics.shares import LEVEL, Estimate, two_sided


@dataclass(frozen=True, slots=True)
class ChangeOfMind:
    """What changing the call did.

    `lost` pours had a right first call and a wrong final one, `gained` the other way round.
    `p_exact` is the exact McNemar test (two-sided), `chi_square` the approximate one without and
    `chi_square_corrected` with correction for continuity, with their p-values. `gain` is the share
    of all pours won by the final call (negative: lost), with its interval.
    """

    lost: int
    gained: int
    n: int
    p_exact: float
    chi_square: float
    p_chi_square: float
    chi_square_corrected: float
    p_corrected: float
    gain: Estimate

    def better(self, alpha: float = ALPHA) -> str | None:
        """Which call was right more often, "first" or "final"; None where it may be luck."""
        if self.p_exact > alpha:
            return None
        return "first" if self.lost > self.gained else "final"


def change_of_mind(
    both_right: int, lost: int, gained: int, both_wrong: int, level: float = LEVEL
) -> ChangeOfMind:
    """First and final call of the same pours compared.

    Only pours on which the two differ in being right say anything: under no difference `lost` is
    Binomial(lost + gained, 1/2) (McNemar, Psychometrika 12, 1947, 153; exact form as in Agresti,
    Categorical Data Analysis, 1990, section 10.1). Chi-square: (lost - gained)^2 / (lost + gained),
    corrected (|lost - gained| - 1)^2 / (lost + gained). Interval of the gain: Wald for paired
    shares, standard error sqrt(lost + gained - (lost - gained)^2 / n) / n.

    Raises:
        ValueError: a negative count, or an impossible level.
    """
    if min(both_right, lost, gained, both_wrong) < 0:
        raise ValueError("a count is not negative")
    n, differing = both_right + lost + gained + both_wrong, lost + gained
    z = two_sided(level)
    apart = abs(lost - gained)
    plain = apart**2 / differing if differing else 0.0
    corrected = max(apart - 1, 0) ** 2 / differing if differing else 0.0
    if n:
        gain = (gained - lost) / n
        half = z * math.sqrt(max(differing - apart**2 / n, 0.0)) / n
        estimate = Estimate(gain, max(gain - half, -1.0), min(gain + half, 1.0))
    else:
        estimate = Estimate(0.0, -1.0, 1.0)
    return ChangeOfMind(
        lost=lost,
        gained=gained,
        n=n,
        p_exact=p_value(lost, differing, DifferenceTest.PAIRED_TWO_SIDED),
        chi_square=plain,
        p_chi_square=_beyond(plain),
        chi_square_corrected=corrected,
        p_corrected=_beyond(corrected),
        gain=estimate,
    )


def _beyond(chi_square: float) -> float:
    """The upper tail of chi-square with one degree of freedom."""
    return math.erfc(math.sqrt(chi_square / 2))
