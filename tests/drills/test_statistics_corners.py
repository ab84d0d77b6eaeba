"""Theory against glass: the corner, the advice, and the sentence that a taster reads."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import product

import pytest
from scipy import stats

from drills.statistics.corners import (
    Advice,
    Glass,
    Strength,
    Theory,
    confusion_rate,
    verdict,
)
from drills.statistics.rindex import estimate_r_index
from drills.statistics.standing import standings
from drills.storage.records import RevealRow

NAMES = ("Chablis", "Muscadet")
SURE = estimate_r_index([20, 5, 1, 0, 0, 0], [0, 0, 1, 2, 5, 20])
GUESSING = estimate_r_index([4, 4, 4, 4, 4, 4], [4, 4, 4, 4, 4, 4])
STRONG = Theory(0.9, SURE, 54)
WEAK = Theory(0.9, GUESSING, 48)
UNMET = Theory(None, None, 0)


def glass(pours: str) -> Glass:
    """Capitals are right; c is Chablis taken for Muscadet, m the other way."""
    wines = {"c": "chablis", "m": "muscadet"}
    calls = []
    for day, one in enumerate(pours):
        was = wines[one.lower()]
        other = wines["m" if one.lower() == "c" else "c"]
        called = was if one.isupper() else other
        calls.append(RevealRow(was, called, date(2026, 1, 1) + timedelta(day)))
    confused = sum(one.islower() for one in pours)
    rate = confusion_rate(confused, len(pours), 0.1)
    return Glass(rate, standings(calls).get(("chablis", "muscadet")))


RESOLVED = glass("cMCMCMCM")
CONFUSED = glass("cMcMCmCc")
FEW = glass("cM")
NEVER = glass("CM")


def test_strengths() -> None:
    assert [x.strength for x in (STRONG, WEAK, UNMET)] == [
        Strength.STRONG,
        Strength.WEAK,
        Strength.UNKNOWN,
    ]
    assert [x.strength for x in (RESOLVED, CONFUSED, FEW, NEVER)] == [
        Strength.STRONG,
        Strength.WEAK,
        Strength.UNKNOWN,
        Strength.UNKNOWN,
    ]


def test_theory_is_weak_by_forgetting_too_and_unknown_on_few_answers() -> None:
    assert Theory(0.5, SURE, 54).strength is Strength.WEAK
    assert Theory(0.9, SURE, 7).strength is Strength.UNKNOWN
    # With one wine alone as the answer there is no R-index; recall decides.
    assert Theory(0.9, None, 20).strength is Strength.STRONG


def test_an_index_that_may_be_luck_is_not_strong() -> None:
    lucky = estimate_r_index([3, 2, 0], [1, 1, 2])
    assert lucky.value > 0.7
    assert lucky.low < 0.5
    assert Theory(0.9, lucky, 9).strength is Strength.WEAK


def test_confused_for_sure_needs_no_five_pours() -> None:
    found = glass("cmcm")
    assert found.rate.low > 0.1
    assert found.strength is Strength.WEAK


@pytest.mark.parametrize(
    ("theory", "poured", "advice"),
    [
        (STRONG, RESOLVED, Advice.RESOLVED),
        (WEAK, RESOLVED, Advice.RESOLVED),
        (UNMET, RESOLVED, Advice.RESOLVED),
        (STRONG, CONFUSED, Advice.SIDE_BY_SIDE),
        (WEAK, CONFUSED, Advice.MORE_CARDS),
        (UNMET, CONFUSED, Advice.MORE_CARDS),
        (STRONG, FEW, Advice.MORE_POURS),
        (STRONG, NEVER, Advice.MORE_POURS),
        (UNMET, FEW, Advice.MORE_POURS),
        (WEAK, FEW, Advice.MORE_CARDS),
    ],
)
def test_every_corner_has_its_advice(theory: Theory, poured: Glass, advice: Advice) -> None:
    found = verdict(NAMES, theory, poured)
    assert found.advice is advice
    assert (found.theory, found.glass) == (theory.strength, poured.strength)


def test_a_cue_that_may_not_be_perceived_comes_before_pouring_again() -> None:
    found = verdict(NAMES, STRONG, CONFUSED, ["white pepper", "smoke"])
    assert found.advice is Advice.MAY_NOT_PERCEIVE
    assert "white pepper or smoke" in found.sentence
    # It is no excuse while the cards are weak, and no matter once the pair is resolved.
    assert verdict(NAMES, WEAK, CONFUSED, ["smoke"]).advice is Advice.MORE_CARDS
    assert verdict(NAMES, STRONG, RESOLVED, ["smoke"]).advice is Advice.RESOLVED


def test_each_sentence_is_one_sentence_that_names_the_wines() -> None:
    for theory, poured, missed in product(
        (STRONG, WEAK, UNMET), (RESOLVED, CONFUSED, FEW, NEVER), ((), ("pepper",))
    ):
        sentence = verdict(NAMES, theory, poured, missed).sentence
        assert all(name in sentence for name in NAMES)
        assert sentence.endswith(".")
        assert sentence.count(". ") == 0
        assert len(sentence) < 220


def test_numbers_in_the_sentence_are_those_of_the_log() -> None:
    assert "7 of the last 8 pours" in verdict(NAMES, STRONG, RESOLVED).sentence
    assert "2 pours called" in verdict(NAMES, STRONG, FEW).sentence
    assert "at least 5, all of them right" in verdict(NAMES, STRONG, FEW).sentence


def test_the_rate_of_confusion_is_a_beta_posterior() -> None:
    found = confusion_rate(3, 11, 0.2)
    posterior = stats.beta(4 * 0.2 + 3, 4 * 0.8 + 8)
    assert found.value == pytest.approx(posterior.mean())
    assert (found.low, found.high) == pytest.approx(posterior.interval(0.9))
    assert confusion_rate(0, 0, 0.2).value == pytest.approx(0.2)
    with pytest.raises(ValueError, match="no count"):
        confusion_rate(3, 2, 0.2)
    with pytest.raises(ValueError, match="rate"):
        confusion_rate(0, 2, 0)
