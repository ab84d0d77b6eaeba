"""What a group's counts are worth to simulated newcomers; `python -m tests.simulations.groups`.

Paired over the same groups and newcomers. A few groups here, so that the tests stay quick; gains
are in thousandths of a nat a pour and pair, of some fifty that the table's prior loses.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from drills.statistics.group_prior import USUAL, credit
from tests.simulations.__main__ import interval
from tests.simulations.groups import compare, expected_of, make_group

GROUPS, SEED = 12, 77


def gains(tasters: int, alike: float) -> dict[str, Any]:
    """How much less than the table's prior each way loses, a row a group."""
    found = compare(tasters, alike, GROUPS, SEED)
    return {name: found["table"] - found[name] for name in ("group", "both")}


def test_a_newcomer_like_the_group_is_foretold_better_than_by_the_table() -> None:
    few, many = gains(3, 1.0), gains(10, 1.0)
    for gone in range(4):
        more, half = interval(few["both"][:, gone])
        assert more - half > 5
        more, half = interval(many["both"][:, gone])
        assert more - half > 10
        # Doubt costs little of what following the group alone would gain.
        assert many["both"][:, gone].mean() > 0.85 * many["group"][:, gone].mean()
    more, half = interval(many["both"][:, 0] - few["both"][:, 0])
    assert more - half > 0


def test_one_taster_alone_helps_a_little() -> None:
    more, half = interval(gains(1, 1.0)["both"][:, 0])
    assert more - half > 0


@pytest.mark.parametrize("alike", [0.0, -1.0])
def test_a_newcomer_unlike_the_group_is_back_at_the_table_after_a_pour_of_each_wine(
    alike: float,
) -> None:
    found = gains(10, alike)
    for gone in (1, 3):
        more, half = interval(found["both"][:, gone])
        assert more - half > -8
        # Whoever followed the group regardless would lose, so there is something to come back from.
        assert interval(found["group"][:, gone])[0] < -5
    # Before the first pour nothing shows that this newcomer is another, and that costs.
    assert found["both"][:, 0].mean() < 0
    assert found["both"][:, 0].mean() > found["group"][:, 0].mean()


def test_the_spread_between_tasters_is_found_from_sums() -> None:
    rng = np.random.default_rng([SEED, 1])
    alike = [credit(g.counts, expected_of(g)) for g in (make_group(rng, 20) for _ in range(6))]
    # Rates about 0.2 that scatter by 0.6 logits about their group correlate by some 0.05.
    assert 10 < np.mean([one.likeness for one in alike]) < 50
    alone = make_group(rng, 1)
    assert credit(alone.counts, expected_of(alone)).likeness == pytest.approx(USUAL)
