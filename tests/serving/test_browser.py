"""The drill in a real browser; without one these tests are skipped."""

from __future__ import annotations

import struct
from pathlib import Path

import pytest

from tests.serving.browser import CHROMIUM, open_browser
from tests.serving.running import answers, served

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium on this machine")
TOKEN = "lighthouse-cellar-2026"
VERDICTS = ("✓ right", "✗ wrong")


async def test_a_drill_goes_on_after_its_tab_was_closed(home: Path) -> None:
    with served(home, "--visitors", "1") as running:
        async with open_browser() as browser:
            tab = await browser.tab()
            await tab.open(running.url)
            await tab.wait_for("contrasts unseen")
            await tab.press("d", "Which of these two?")
            for number, key in enumerate("ask", 1):
                await tab.press(key, *VERDICTS)
                if number < 3:
                    await tab.press(" ", "╭─ left glass")
                    assert len(answers(home)) == number
            width, height = struct.unpack(">II", (await tab.picture())[16:24])
            assert (width, height) > (900, 400)
            own = running.url.removeprefix("http")
            assert len(tab.requests) >= 7
            assert all(
                one.removeprefix("http").removeprefix("ws").startswith(own) for one in tab.requests
            )
            assert tab.problems == []
            visitors = running.visitors()
            assert len(visitors) == 1
            await tab.close()
            running.none_left(visitors)
            assert [one.sureness for one in answers(home)] == [3, 2, 2]
            again = await browser.tab()
            await again.open(f"{running.url}/drill")
            await again.wait_for("Which of these two?")
            await again.press("l", *VERDICTS)
            await again.press(" ", "╭─ left glass")
            given = answers(home)
            assert len(given) == 4
            assert len({one.contrast_id for one in given}) == 4
            # Loaded anew, the only place goes over from the old page to the new one.
            await again.run("window.old = true; location.reload()")
            fresh = "!window.old && document.body"
            await again.shows(f"{fresh} && document.body.classList.contains('-first-byte')")
            assert await again.run("document.body.classList.contains('-closed')") is False
            assert await again.run("location.pathname") == "/drill"


async def test_the_token_is_asked_once_and_the_drill_stands_behind_it(home: Path) -> None:
    with served(home, "--host", "0.0.0.0", CROSSPOUR_TOKEN=TOKEN) as running:
        async with open_browser() as browser:
            tab = await browser.tab()
            await tab.open(running.url)
            await tab.shows("document.activeElement && document.activeElement.id === 'token'")
            for letter in TOKEN:
                await tab.call("Input.insertText", text=letter)
            await tab.run("document.querySelector('form').submit()")
            await tab.wait_for("contrasts unseen")
            assert await tab.run("document.cookie") == ""
            assert TOKEN not in str(await tab.run("location.href"))
            other = await browser.tab()
            await other.open(running.url)
            await other.wait_for("contrasts unseen")
            await other.press("q")
            await other.shows("document.body.classList.contains('-closed')")
            assert await other.run("document.activeElement.id") == "again"
