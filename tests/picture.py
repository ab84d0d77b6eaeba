"""The README's picture: a card of the demonstration after its answer.

`python -m tests.picture` draws it anew; `test_picture.py` says when that is due.
"""

from __future__ import annotations

import asyncio
import os
import tempfile
from pathlib import Path

from drills.demo import fill
from drills.screens.app import CrosspourApp
from drills.screens.opening import drill_screen
from drills.service.desk import Desk
from tests.desks import Watch
from tests.screens.terminal import drilling, opened, truth_key

FILE = Path(__file__).with_name("picture.svg")
# Wide enough for a name and a place, and as high as the card.
SIZE = (88, 26)


async def draw(desk: Desk) -> str:
    """The picture, as SVG: the third card of the first drill, answered rightly and surely.

    The desk must be a fresh one, on a clock that stands.
    """
    fill(desk)
    async with opened(desk, lambda: drill_screen(desk), size=SIZE) as pilot:
        for place in range(3):
            if place:
                await pilot.press("space")
                await pilot.pause()
            await pilot.press(truth_key(drilling(pilot)))
            await pilot.pause()
        return pilot.app.export_screenshot(title=CrosspourApp.TITLE)


def main() -> None:
    """Draw it from an empty home."""
    with tempfile.TemporaryDirectory() as home:
        os.environ["CROSSPOUR_HOME"] = home
        desk = Desk(clock=Watch().clock)
        FILE.write_text(asyncio.run(draw(desk)), encoding="utf-8")
        desk.close()


if __name__ == "__main__":
    main()
