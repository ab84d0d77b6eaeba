"""Whether a taster's calls of structure follow the wine: kappa against the profile."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest
from sklearn.metrics import cohen_kappa_score

from cards.scale import Level, LevelRange
from cards.tables import Table
from drills.tastings.reading import ReadCount, personal_reading


def called(table: Table, level_of: Callable[[LevelRange], Level]) -> list[ReadCount]:
    """Two pours of every wine that has an acid of its own, the acid called by some rule."""
    ranges = {wine: profile.structure.get("acid") for wine, profile in table.profiles.items()}
    return [
        ReadCount(wine, "acid", level_of(typical), 2)
        for wine, typical in sorted(ranges.items())
        if typical is not None
    ]


def test_kappa_says_whether_calls_follow_the_wine_where_no_bias_is(table: Table) -> None:
    rng = random.Random(4)
    rules: dict[str, Callable[[LevelRange], Level]] = {
        "follows": lambda typical: typical.high,
        "guesses": lambda _: rng.choice(list(Level)),
    }
    found = {}
    for name, rule in rules.items():
        calls = called(table, rule)
        (acid,) = (one for one in personal_reading(table, calls, {}).levels if not one.style)
        assert acid.kappa is not None
        found[name] = acid.kappa
        typical = [table.profiles[one.wine].structure["acid"] for one in calls]
        # The middle of a range in half levels; weights by squared differences (scikit-learn).
        expected = cohen_kappa_score(
            [int(one.low) + int(one.high) for one in typical],
            [2 * int(one.reading) for one in calls],
            labels=list(range(9)),
            weights="quadratic",
        )
        assert acid.kappa.value == pytest.approx(expected)
    assert found["follows"].low > 0.5
    assert found["guesses"].low < 0 < found["guesses"].high


def test_kappa_is_left_open_where_nothing_can_be_followed(table: Table) -> None:
    wine = [ReadCount("riesling-mosel", "acid", level, 4) for level in Level]
    for calls in (wine, called(table, lambda _: Level.MED)):
        (acid,) = (one for one in personal_reading(table, calls, {}).levels if not one.style)
        assert acid.kappa is None
    of_styles = personal_reading(table, called(table, lambda typical: typical.low), {}).levels
    assert [bool(one.kappa) for one in of_styles] == [not one.style for one in of_styles]
