"""Pictures of characters: an interval about zero, shares of a bar."""

from __future__ import annotations

from drills.screens.widgets.pictures import about_zero, stacked
from drills.statistics.shares import Estimate


def test_an_interval_about_zero_marks_zero_and_the_value() -> None:
    assert about_zero(Estimate(1.0, 0.5, 1.5), 2.0, 9) == "····│─●─·"
    assert about_zero(Estimate(0.0, -5.0, 5.0), 2.0, 9) == "────●────"
    assert about_zero(Estimate(-9.0, -9.0, 0.5), 2.0, 9) == "●───┼─···"


def test_shares_fill_the_whole_bar() -> None:
    assert stacked([("a", 1), ("b", 1), ("c", 2)], 8) == "aabbcccc"
    assert stacked([("a", 0), ("b", 3)], 5) == "bbbbb"
    assert stacked([("a", 0)], 5) == ""
