"""Answer one card without a terminal, on an installation without the extras."""

import asyncio

from drills.grading import Sureness
from drills.screens.app import CrosspourApp
from drills.screens.drill import DrillScreen
from drills.screens.opening import drill_screen
from drills.service.desk import Desk


async def main() -> None:
    desk = Desk()
    app = CrosspourApp(desk, lambda: drill_screen(desk))
    async with app.run_test(size=(80, 24)) as pilot:
        screen = app.screen
        assert isinstance(screen, DrillScreen), screen
        await pilot.press("l")
        await pilot.pause()
        assert screen.reveal is not None
        assert screen.reveal.sureness is Sureness.SURE
    kept = desk.repository.answers_of_drill(screen.session.drill_id)
    assert len(kept) == 1, kept
    print("one card answered and kept")


asyncio.run(main())
