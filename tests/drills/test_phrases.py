"""Phrases that screens and printed lines share."""

from __future__ import annotations

from drills.phrases import which_cue, which_level


def test_one_cue_tells_and_two_tell() -> None:
    assert which_cue("Chablis", "Sancerre", 1) == (
        "Chablis is poured. Which cue tells it from Sancerre?"
    )
    assert which_cue("Chablis", "Sancerre", 2) == (
        "Chablis is poured. Which cues tell it from Sancerre?"
    )


def test_a_level_is_asked_of_the_wine_that_is_poured() -> None:
    assert which_level("Chablis", "acid") == "Chablis is poured. Where does its acid stand?"
