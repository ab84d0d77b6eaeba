"""Killed at any moment, the program has lost nothing that it had said was kept.

A few kills here; `python -m tests.faults 200` kills two hundred times.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.killing import kill_at_random
from tests.faults.power import cut_at_random


def test_killed_in_a_drill_an_import_an_upgrade_or_a_backup_nothing_is_lost(
    furnished: Path, tmp_path: Path
) -> None:
    counted = kill_at_random(8, furnished, tmp_path, seed=7)
    assert sum(counted.values()) == 8
    assert any(killed for _, killed in counted)


def test_a_power_cut_loses_nothing_that_was_said_to_be_kept(
    furnished: Path, tmp_path: Path, library: Path
) -> None:
    steps = cut_at_random(3, furnished, tmp_path, library, seed=3)
    assert steps > 500


def test_the_power_cut_would_show_an_answer_that_is_not_synced(
    furnished: Path, tmp_path: Path, library: Path
) -> None:
    with pytest.raises(AssertionError, match="answers told"):
        cut_at_random(8, furnished, tmp_path, library, works=("drill",), syncs=False)
