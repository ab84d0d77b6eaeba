"""The page of a pair: what is known of it, and what can be done with it."""

from __future__ import annotations

import pytest

from drills.screens.compare import CompareScreen
from drills.screens.pair import PairScreen
from drills.service.desk import Desk
from drills.service.weak import overview
from tests.desks import Watch
from tests.screens.logged import NEAR, live
from tests.screens.terminal import SIZES, current, drilling, opened, refusing, settled, text_of


@pytest.mark.parametrize("size", SIZES)
async def test_the_page_of_a_pair_says_what_is_known(
    desk: Desk, watch: Watch, size: tuple[int, int]
) -> None:
    live(desk, watch)
    async with opened(desk, lambda: PairScreen(*NEAR), size=size) as pilot:
        await settled(pilot)
        (corner,) = overview(desk).corners
        told = text_of(pilot, "#told")
        assert corner.verdict.sentence in told
        for words in ("confused, each way", "in the glass, 2 pours", "✗✗", "cards", "unseen"):
            assert words in told
        assert "cues that were missed" in told
        assert "of 2 confused pours" in told
        # What was typed is shown as typed.
        assert "Cellar [bold]b[/] [" in told
        await pilot.press("end")
        await pilot.press("c")
        await pilot.pause()
        current(pilot, CompareScreen)
        await pilot.press("escape")
        await pilot.press("d")
        await pilot.pause()
        assert drilling(pilot).session.pairs == (NEAR,)


async def test_a_page_that_cannot_be_read_says_so(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    monkeypatch.setattr(repository, "reveals", refusing(1, repository.reveals))
    async with opened(desk, lambda: PairScreen(*NEAR)) as pilot:
        await settled(pilot)
        assert "another program is writing [to it]" in text_of(pilot, "#told")
