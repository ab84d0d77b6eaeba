"""How four moments of a drill look; `pytest --snapshot-update` accepts a new look."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from textual.pilot import Pilot

from cards.cellar import Cellar
from cards.tables import load_table
from drills.screens.app import CrosspourApp
from drills.screens.opening import drill_screen
from drills.service.desk import Desk
from tests.desks import Watch, mix_up
from tests.screens.small_table import write_small_table
from tests.screens.terminal import drilling, truth_key

Compare = Callable[..., bool]


@pytest.fixture
def small(
    home: Path, tmp_path: Path, watch: Watch, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Desk]:
    """A desk with a small table that never changes, a clock that stands, and one mixed-up pair."""
    monkeypatch.delenv("NO_COLOR", raising=False)
    desk = Desk(str(home / "small.sqlite3"), clock=watch.clock)
    desk.table = load_table(shipped=write_small_table(tmp_path / "small"))
    desk.cellar = Cellar(desk.table)
    mix_up(desk, "north", "south")
    yield desk
    desk.close()


def app(desk: Desk) -> CrosspourApp:
    """The program, opened on the drill."""
    return CrosspourApp(desk, lambda: drill_screen(desk))


async def answered_wrong(pilot: Pilot[int]) -> None:
    """Answer the first card surely and wrongly."""
    await pilot.press(truth_key(drilling(pilot), wrong=True))
    await pilot.pause()


async def two_answers(pilot: Pilot[int]) -> None:
    """Answer rightly, then surely and wrongly, and finish."""
    await pilot.press(truth_key(drilling(pilot)), "space")
    await pilot.press(truth_key(drilling(pilot), wrong=True), "escape")
    await pilot.pause()


def test_a_card_looks_as_it_did_on_the_smallest_terminal(
    small: Desk, snap_compare: Compare
) -> None:
    assert snap_compare(app(small), terminal_size=(60, 20))


def test_a_reveal_looks_as_it_did(small: Desk, snap_compare: Compare) -> None:
    assert snap_compare(app(small), terminal_size=(80, 24), run_before=answered_wrong)


def test_a_reveal_on_a_large_terminal_looks_as_it_did(small: Desk, snap_compare: Compare) -> None:
    assert snap_compare(app(small), terminal_size=(120, 40), run_before=answered_wrong)


def test_a_summary_looks_as_it_did_in_light_colours(
    small: Desk, home: Path, snap_compare: Compare
) -> None:
    (home / "settings.toml").write_text('theme = "crosspour-light"', encoding="utf-8")
    assert snap_compare(app(small), terminal_size=(80, 24), run_before=two_answers)
