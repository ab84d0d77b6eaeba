"""Choosing, ordering and coding a flight ask no clock, touch no disk, and draw from a seed only."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.hygiene.test_purity import FORBIDDEN_MODULES, impurities

PACKAGE = Path(__file__).parents[2] / "drills" / "pouring"
PURE = (
    "blocks",
    "choice",
    "codes",
    "designs",
    "field",
    "greedy",
    "parts",
    "programme",
    "serving",
    "shortage",
    "sittings",
)


@pytest.mark.parametrize("module", PURE)
def test_a_module_of_pouring_is_pure(module: str) -> None:
    found = list(impurities((PACKAGE / f"{module}.py").read_text(encoding="utf-8")))
    assert not [reason for _, reason in found if reason != FORBIDDEN_MODULES["drills"]]
