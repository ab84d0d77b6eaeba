"""Theory against glass: what the cards say of a pair, what the pours say, and what follows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from drills.statistics.difference import fewest
from drills.statistics.dprime import DPrime
from drills.statistics.rindex import RIndex
from drills.statistics.shares import Estimate, beta_estimate
from drills.statistics.standing import Standing, State

# The bounds below are the program's own judgement; no source gives them.
# Theory is strong from this mean recall and R-index on; 0.76 is a d-prime of 1 on a choice of two.
STRONG_RECALL = 0.8
STRONG_R = 0.76
# Fewer answers than this say nothing of theory.
FEWEST_ANSWERS = 8
# A pair confused more often than this is weak, however few the pours.
TOLERATED = 0.1
# The table's expectation is worth so many pours, as in the ranking of weak pairs.
PRIOR_POURS = 4.0
CREDIBLE = 0.9


class Strength(StrEnum):
    """How strong one side is; UNKNOWN where too little was answered or poured."""

    STRONG = "strong"
    WEAK = "weak"
    UNKNOWN = "unknown"


class Advice(StrEnum):
    """What to do about a pair."""

    MORE_CARDS = "more cards"
    SIDE_BY_SIDE = "pour them side by side"
    MAY_NOT_PERCEIVE = "a cue you may not perceive"
    RESOLVED = "resolved"
    MORE_POURS = "not enough pours yet"


@dataclass(frozen=True, slots=True)
class Theory:
    """What the cards of a pair say.

    `recall` is the mean probability of knowing its contrasts now, None if none was met; `r_index`
    from the sureness of its answers, None while only one of the wines was ever the answer, as is
    `d_prime`, which goes by right and wrong alone; `answers` how many there were.
    """

    recall: float | None
    r_index: RIndex | None
    answers: int
    d_prime: DPrime | None = None

    @property
    def strength(self) -> Strength:
        """Strong: recall and R-index reach their bounds, and the R-index is beyond guessing."""
        if self.recall is None or self.answers < FEWEST_ANSWERS:
            return Strength.UNKNOWN
        if self.recall < STRONG_RECALL:
            return Strength.WEAK
        told = self.r_index
        if told is not None and (told.value < STRONG_R or told.low <= 0.5):
            return Strength.WEAK
        return Strength.STRONG


@dataclass(frozen=True, slots=True)
class Glass:
    """What the pours of a pair say: the rate of taking one for the other, and where it stands.

    `standing` is None for a pair that was never confused.
    """

    rate: Estimate
    standing: Standing | None

    @property
    def pours(self) -> int:
        """Recent pours of the two that were called one of the two."""
        return self.standing.n if self.standing else 0

    @property
    def strength(self) -> Strength:
        """Strong: resolved. Weak: confused beyond TOLERATED for sure, or not resolved by now."""
        if self.standing is None:
            return Strength.UNKNOWN
        if self.standing.state is State.RESOLVED:
            return Strength.STRONG
        if self.rate.low > TOLERATED or self.pours >= fewest():
            return Strength.WEAK
        return Strength.UNKNOWN


@dataclass(frozen=True, slots=True)
class Verdict:
    """A pair's corner (theory, glass), the advice, and the advice as one plain sentence."""

    theory: Strength
    glass: Strength
    advice: Advice
    sentence: str


def confusion_rate(
    confused: float, poured: float, expected: float, worth: float = PRIOR_POURS
) -> Estimate:
    """The probability that a pour of either wine is called the other, with its 90% interval.

    Beta posterior: `confused` of `poured` pours of either wine (weighted by recency, if wanted) on
    a prior at `expected`, the rate that the table lets one expect, worth `worth` pours.

    Raises:
        ValueError: `confused` is not between 0 and `poured`, or `expected` not inside 0 to 1.
    """
    if not 0 <= confused <= poured:
        raise ValueError(f"{confused} of {poured} is no count")
    if not 0 < expected < 1:
        raise ValueError(f"a rate lies between 0 and 1, not at {expected}")
    yes, no = worth * expected + confused, worth * (1 - expected) + poured - confused
    return beta_estimate(yes, no, CREDIBLE)


def verdict(
    names: tuple[str, str], theory: Theory, glass: Glass, unperceived: Sequence[str] = ()
) -> Verdict:
    """Set theory against glass for one pair.

    `names` are the wines as the taster reads them; `unperceived` the words of cues that should
    settle the pair and that this taster may not perceive (`readings.chance_not_perceived`).
    """
    one, other = names
    standing = glass.standing
    known, tasted = theory.strength, glass.strength
    if tasted is Strength.STRONG and standing is not None:
        advice = Advice.RESOLVED
        sentence = (
            f"You tell {one} and {other} apart in the glass, {standing.right} of the last "
            f"{standing.n} pours right; the pair comes back if you confuse it again."
        )
        if known is Strength.WEAK:
            sentence = (
                f"You tell {one} and {other} apart in the glass, {standing.right} of the last "
                f"{standing.n} pours right, but not yet on the cards: they would give you reasons."
            )
    elif known is Strength.WEAK:
        advice = Advice.MORE_CARDS
        sentence = (
            f"First the cards: what separates {one} from {other} is not settled in your memory, "
            "and a pour teaches more once it is."
        )
    elif tasted is Strength.UNKNOWN:
        advice = Advice.MORE_POURS
        count = f"{glass.pours} {'pour' if glass.pours == 1 else 'pours'}"
        sentence = (
            f"Not enough pours yet: {count} called {one} or {other}, and it takes at least "
            f"{fewest()}, all of them right, to rule luck out."
        )
    elif known is Strength.UNKNOWN:
        advice = Advice.MORE_CARDS
        sentence = (
            f"You confuse {one} and {other} in the glass, and have answered too few cards on them "
            "to know whether that is theory."
        )
    elif unperceived:
        advice = Advice.MAY_NOT_PERCEIVE
        sentence = (
            f"You know {one} from {other} on the cards but not in the glass, and hardly ever note "
            f"{_listed(unperceived)}: have somebody pour a clear example, and lean on other cues "
            "until you know."
        )
    else:
        advice = Advice.SIDE_BY_SIDE
        sentence = (
            f"You know {one} from {other} on the cards but not in the glass: pour them side "
            "by side, blind, rather than answer more cards."
        )
    return Verdict(known, tasted, advice, sentence)


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"
