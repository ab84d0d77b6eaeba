"""How often each pair slipped on this study day."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drills.service.desk import Desk


def slipped_pairs(desk: Desk) -> Counter[tuple[str, str]]:
    """Today's slips, counted by the wine that it was not and the wine that it was."""
    return Counter(
        (one.wine_b, one.wine_a) if one.truth == "a" else (one.wine_a, one.wine_b)
        for one in desk.repository.slips_of_day(desk.taster.id, desk.clock.today())
    )
