"""Decibans against worked examples of those who made them."""

from __future__ import annotations

import math

import pytest

from cards.evidence import DECIBANS, Binary, Picture, band, decibans, posterior, probability, weight

# General Report on Tunny, 1945, p. 39: a coin from a bag in which one of many thousand is
# double-headed (prior -40 db) falls heads twenty times; at three decibans a head (the report
# rounds) the posterior is +20 db.
HEADS = 20
TWO_HEADED = Picture("two-headed", {"toss": Binary(1.0)})
FAIR = Picture("fair", {"toss": Binary(0.5)})


def test_the_coin_of_the_tunny_report() -> None:
    one = weight(True, "toss", TWO_HEADED, FAIR)
    assert round(one) == 3
    assert one == pytest.approx(10 * math.log10(2))
    total = -40 + HEADS * one
    assert -40 + HEADS * round(one) == 20
    assert total == pytest.approx(20.20600, abs=5e-6)
    chance = probability(HEADS * one, prior=probability(-40))
    assert chance / (1 - chance) == pytest.approx(104.8576, rel=1e-9)
    assert decibans(chance) == pytest.approx(total)


@pytest.mark.parametrize(
    ("weighed", "chance"), [(3, 0.66614), (5, 0.75975), (10, 0.90909), (20, 0.99010)]
)
def test_decibans_as_probabilities(weighed: float, chance: float) -> None:
    # Values worked out from the definition, 10 log10 of the odds (Good 1950).
    assert probability(weighed) == pytest.approx(chance, abs=5e-6)
    assert decibans(probability(weighed)) == pytest.approx(weighed)
    assert probability(-weighed) == pytest.approx(1 - probability(weighed))


def test_even_odds_weigh_nothing() -> None:
    assert decibans(0.5) == 0
    assert probability(0) == 0.5
    assert probability(0, prior=0.2) == pytest.approx(0.2)


def test_the_threshold_of_a_card() -> None:
    # 0.85 against 0.15 is 17 to 3: 10 log10 (17 / 3) = 7.5333 db.
    assert decibans(0.85) == pytest.approx(7.53328, abs=5e-6)


def test_bands() -> None:
    names = [band(x) for x in (0, 4.999, 5, 10, 10.001, -4.9, -7, -12)]
    assert names == [
        "slight",
        "slight",
        "strong",
        "strong",
        "decisive",
        "slight",
        "strong",
        "decisive",
    ]


def test_weights_and_the_posterior_agree() -> None:
    note = {"toss": True}
    found = posterior([TWO_HEADED, FAIR], note, prior={"two-headed": 0.1, "fair": 0.9})
    odds = found["two-headed"] / found["fair"]
    expected = weight(True, "toss", TWO_HEADED, FAIR) + DECIBANS * math.log(0.1 / 0.9)
    assert DECIBANS * math.log(odds) == pytest.approx(expected)
