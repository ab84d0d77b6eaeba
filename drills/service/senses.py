"""Smells that a taster probably does not perceive, kept where a drill finds them at no cost.

They are found with the taster's own reading (service/tasting.py), which takes too long for a start.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drills.service.desk import Desk

_KEY = "not smelt by "


def not_smelt(desk: Desk) -> frozenset[str]:
    """The descriptors that were found missing when the reading was last made."""
    return frozenset((desk.repository.meta(f"{_KEY}{desk.taster.id}") or "").split())


def keep_not_smelt(desk: Desk, descriptors: Iterable[str]) -> None:
    """Keep what was found; nothing is written where it is known already."""
    found = frozenset(descriptors)
    if found != not_smelt(desk) and not desk.repository.readonly:
        key = f"{_KEY}{desk.taster.id}"
        desk.repository.keep_meta(key, " ".join(sorted(found)) or None)
