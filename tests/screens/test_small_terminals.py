"""Terminals smaller than the program needs, and those that change their size."""

from __future__ import annotations

import pytest

from drills.service.desk import Desk
from tests.screens.terminal import drilling, notices, opened, seen


@pytest.mark.parametrize("size", [(59, 20), (60, 19), (40, 10), (20, 5)])
async def test_below_sixty_by_twenty_a_notice_says_what_is_needed(
    desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(desk, size=size) as pilot:
        await pilot.pause()
        assert notices(pilot) == ["Too small: crosspour needs 60 columns and 20 lines."]
        # It still runs, and an answer is still kept.
        await pilot.press("a")
        assert drilling(pilot).reveal is not None


async def test_the_least_size_is_not_complained_of(desk: Desk) -> None:
    async with opened(desk, size=(60, 20)) as pilot:
        await pilot.pause()
        assert notices(pilot) == []


async def test_made_smaller_and_larger_the_program_says_so_once_each_time(desk: Desk) -> None:
    async with opened(desk) as pilot:
        for size, told in (((50, 15), 1), ((45, 15), 1), ((100, 30), 1), ((30, 30), 2)):
            await pilot.resize_terminal(*size)
            await pilot.pause()
            assert len(notices(pilot)) == told, size
        await pilot.resize_terminal(80, 24)
        await pilot.press("a")
        assert drilling(pilot).reveal is not None


async def test_a_card_stands_again_after_the_terminal_was_made_larger(desk: Desk) -> None:
    async with opened(desk, size=(60, 20)) as pilot:
        await pilot.press("a")
        await pilot.resize_terminal(200, 60)
        await pilot.pause()
        screen = drilling(pilot)
        assert screen.showing is not None
        for glass in (screen.showing.left, screen.showing.right):
            assert glass.name in seen(pilot)
