"""Live connections: who gets one, what is kept when it ends, and that no process outlives it."""

from __future__ import annotations

import json
import signal
from pathlib import Path

import aiohttp
import pytest

from drills.serving.server import MOST_MESSAGE
from tests.serving.running import Served, answers, children, kill, served
from tests.serving.visiting import LATE, TOKEN, closed, tab, until


async def test_more_visitors_than_places_are_told_so_until_one_leaves(near: Served) -> None:
    async with tab(near) as first:
        await until(first, "contrasts unseen")
        async with tab(near) as second:
            message = await second.receive(LATE)
            assert json.loads(message.data) == ["open_url", {"url": "/full", "new_tab": False}]
            await closed(second)
        assert len(near.visitors()) == 1
    async with aiohttp.ClientSession() as session, session.get(f"{near.url}/full") as page:
        assert page.status == 503
        assert "The one place is taken" in " ".join((await page.text()).split())
    # Loading a tab anew asks for a place a moment before the old one is given back.
    async with tab(near) as third:
        await until(third, "contrasts unseen")


async def test_leaving_the_program_closes_the_tabs_connection(near: Served) -> None:
    async with tab(near) as live:
        await until(live, "contrasts unseen")
        gone = near.visitors()
        await live.send_json(["stdin", "q"])
        await closed(live)
    near.none_left(gone)


@pytest.mark.parametrize(
    ("message", "code"),
    [
        (json.dumps(["stdin", "x" * MOST_MESSAGE]), 1009),
        ("no JSON", 1002),
        ("{}", 1002),
        ('["resize", [1]]', 1002),
        ('["stdin"]', 1002),
        ('["stdin", 7]', 1002),
        ('["run", "ls"]', 1002),
    ],
)
async def test_what_no_page_would_send_ends_the_visit(
    near: Served, message: str, code: int
) -> None:
    async with tab(near) as live:
        await live.receive(LATE)
        await live.send_str(message)
        assert await closed(live) == code
        gone = near.visitors()
    near.none_left(gone)


async def test_made_up_sizes_and_half_letters_do_no_harm(near: Served) -> None:
    async with tab(near, "/ws/home?width=1000000000&height=x") as live:
        await until(live, "Two wines")
        await live.send_str('["resize", {"width": 1e300, "height": -5}]')
        await live.send_str('["stdin", "\\ud800"]')
        await live.send_str('["resize", {"width": 100, "height": 30}]')
        await live.send_str('["stdin", "?"]')
        await until(live, "╭─ keys")


async def test_an_answer_is_kept_though_server_and_visitor_die_at_the_next_card(home: Path) -> None:
    with served(home) as running:
        async with tab(running, "/ws/drill") as live:
            await until(live, "Which of these two?")
            await live.send_json(["stdin", "s"])
            await until(live, "✓ right", "✗ wrong")
            await live.send_json(["stdin", " "])
            await until(live, "left glass")
            visitors = running.visitors()
            for number in visitors:
                kill(number)
            kill(running.process.pid)
        (one,) = answers(home)
        assert one.sureness == 2


async def test_visitors_leave_when_the_server_is_killed(home: Path) -> None:
    with served(home) as running:
        async with tab(running, "/ws/drill") as live:
            await until(live, "Which of these two?")
            visitors = running.visitors()
            assert len(visitors) == 1
            kill(running.process.pid)
            running.none_left(visitors)


async def test_ctrl_c_closes_every_tab_and_ends_every_process(home: Path) -> None:
    with served(home) as running:
        async with tab(running) as one, tab(running, "/ws/drill") as other:
            await until(one, "contrasts unseen")
            await until(other, "Which of these two?")
            visitors = children(running.process.pid)
            assert len(visitors) == 2
            running.process.send_signal(signal.SIGINT)
            assert [await closed(one), await closed(other)] == [1001, 1001]
            running.none_left(visitors)
        assert running.process.wait(LATE) == 0
    # Left properly, the database is one file.
    assert [file.name for file in home.glob("crosspour.sqlite3*")] == ["crosspour.sqlite3"]


async def test_a_visitor_is_told_why_the_program_cannot_open(home: Path) -> None:
    with served(home) as running:
        (home / "settings.toml").write_text("minutes = 0\n")
        async with tab(running) as live:
            await until(live, "minutes")
            await live.send_json(["stdin", "q"])
            await closed(live)
        (home / "settings.toml").unlink()
        (home / "crosspour.sqlite3").write_bytes(b"no database")
        async with aiohttp.ClientSession() as session, session.get(running.url) as page:
            assert page.status == 503
            assert (await page.text()).startswith("crosspour: ")


@pytest.mark.parametrize(
    ("token", "words"),
    [(TOKEN, "no file of the server"), ("", "is no file|cannot be read|no such")],
)
async def test_a_guest_reads_no_file_of_the_server(home: Path, token: str, words: str) -> None:
    with served(home, CROSSPOUR_TOKEN=token) as running:
        async with tab(running, token=token) as live:
            await until(live, "contrasts unseen")
            await live.send_json(["stdin", "i"])
            await until(live, "preview")
            await live.send_json(["stdin", "/nowhere.csv\r"])
            await until(live, *words.split("|"))
