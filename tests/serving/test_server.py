"""The server's pages, its token, its command, and who of several tasters is served."""

from __future__ import annotations

import os
import re
import socket
from pathlib import Path

import aiohttp
import pytest

from drills.cli import main
from drills.storage.repository import open_repository
from tests.cli.running import crosspour, on_terminal
from tests.serving.running import Served, served
from tests.serving.visiting import TOKEN, entered, refused, tab, until


async def test_pages_load_nothing_from_elsewhere_and_say_so_to_the_browser(near: Served) -> None:
    async with aiohttp.ClientSession() as session, session.get(near.url) as page:
        assert page.status == 200
        text = await page.text()
        policy = page.headers["Content-Security-Policy"]
    found = re.findall(r'(?:src|href)="([^"]*)"', text)
    assert len(found) == 6
    assert all(one.startswith("/") or one == "data:," for one in found)
    assert "default-src 'none'" in policy
    assert "unsafe-inline" not in policy.replace("style-src 'self' 'unsafe-inline'", "")
    async with aiohttp.ClientSession() as session:
        for address in found[1:]:
            async with session.get(near.url + address) as file:
                assert file.status == 200, address


async def test_another_name_that_points_here_is_refused(near: Served) -> None:
    headers = {"Host": "cellar.example"}
    async with (
        aiohttp.ClientSession() as session,
        session.get(near.url, headers=headers) as page,
    ):
        assert page.status == 403


@pytest.mark.parametrize("path", ["/nothing", "/static/", "/own/../server.py", "/ws/elsewhere"])
async def test_there_is_nothing_else(near: Served, path: str) -> None:
    headers = {"Origin": near.url}
    async with (
        aiohttp.ClientSession() as session,
        session.get(near.url + path, headers=headers) as page,
    ):
        assert page.status in (403, 404)


async def test_a_page_of_another_server_gets_no_live_connection(near: Served) -> None:
    assert await refused(near, origin="http://cellar.example") == 403
    assert await refused(near, origin="null") == 403


async def test_a_visitor_without_the_token_gets_a_page_that_asks_for_it(far: Served) -> None:
    for path in ("/", "/drill", "/full", "/own/drill.js", "/download/x", "/nothing"):
        async with aiohttp.ClientSession() as session, session.get(far.url + path) as page:
            assert page.status == 401
            assert 'name="token"' in await page.text()
    assert await refused(far) == 401
    assert await refused(far, token=TOKEN[:-1]) == 401
    assert await refused(far, token=TOKEN, origin="http://cellar.example") == 403
    assert far.visitors() == []


async def test_the_token_opens_and_leaves_a_cookie_that_no_script_reads(far: Served) -> None:
    headers = {"Origin": far.url}
    async with aiohttp.ClientSession() as session:

        async def enter(token: str, **more: str) -> tuple[int, str, str]:
            async with session.post(
                f"{far.url}/enter",
                data={"token": token},
                headers=headers | more,
                allow_redirects=False,
            ) as page:
                return page.status, await page.text(), page.headers.get("Set-Cookie", "")

        status, text, cookie = await enter("not the token at all")
        assert (status, cookie) == (401, "")
        assert "That is not the token." in text
        assert (await enter(TOKEN, Origin="http://cellar.example"))[0] == 403
        assert (await enter("x" * 100_000))[0] == 413
        status, _, cookie = await enter(TOKEN)
        assert status == 303
        assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= set(cookie.split("; "))
        assert "Secure" not in cookie
        assert TOKEN not in cookie
        assert "Secure" in (await enter(TOKEN, **{"X-Forwarded-Proto": "https"}))[2]
    async with entered(far, TOKEN) as session, session.get(far.url) as page:
        assert page.status == 200


async def test_the_token_is_in_no_list_of_processes_and_not_with_the_visitors(far: Served) -> None:
    async with tab(far, token=TOKEN) as live:
        await until(live, "contrasts unseen")
        (visitor,) = far.visitors()
        for number in (far.process.pid, visitor):
            assert TOKEN.encode() not in Path(f"/proc/{number}/cmdline").read_bytes()
        assert TOKEN.encode() not in Path(f"/proc/{visitor}/environ").read_bytes()
    far.none_left([visitor])


async def test_of_several_tasters_a_visitor_says_who_they_are(home: Path) -> None:
    with open_repository(home / "crosspour.sqlite3") as repository:
        me = repository.tasters()[0].name
        repository.add_taster("Zoë / <b>")
    with served(home) as running:
        async with aiohttp.ClientSession() as session:
            async with session.get(running.url) as page:
                text = await page.text()
            assert "Zoë / &lt;b&gt;" in text
            assert "<b>" not in text
            (path,) = re.findall(r'href="(/\?taster=Zo[^"]*)"', text)
            async with session.get(running.url + path) as page:
                (live_path,) = re.findall(r'data-path="([^"]*)"', await page.text())
            async with session.get(f"{running.url}/?taster=Nobody") as page:
                assert page.status == 404
        async with tab(running, live_path.replace("/home/", "/drill/")) as live:
            await until(live, "Which of these two?")
            await live.send_json(["stdin", "a"])
            await until(live, "✓ right", "✗ wrong")
        assert await refused(running, path="/ws/drill/Nobody") == 404
    with open_repository(home / "crosspour.sqlite3", readonly=True) as repository:
        drills = {one.name: len(repository.drills(one.id)) for one in repository.tasters()}
    assert drills == {me: 0, "Zoë / <b>": 1}


async def test_a_taster_who_was_named_is_the_only_one_served(home: Path) -> None:
    with open_repository(home / "crosspour.sqlite3") as repository:
        repository.add_taster("Ada")
        repository.add_taster("Ben")
    with served(home, "--taster", "Ben") as running:
        async with aiohttp.ClientSession() as session, session.get(running.url) as page:
            assert 'data-path="/ws/home/Ben"' in await page.text()
        assert await refused(running, path="/ws/home/Ada") == 404


def test_a_token_made_at_random_is_shown_once_on_the_terminal_with_a_warning(home: Path) -> None:
    with on_terminal(home, "serve", "--host", "0.0.0.0", "--port", "0") as terminal:
        terminal.wait_for("unless a proxy")
        assert "http://0.0.0.0" not in terminal.said
        said = terminal.said
        (token,) = re.findall(r"Token, shown this once: (\S+)", said)
        assert len(token) == 32
        assert said.count(token) == 1
        terminal.type("\x03")
        assert terminal.leave() == 0
        assert token.encode() not in (home / "crosspour.sqlite3").read_bytes()


@pytest.mark.parametrize(
    ("arguments", "more", "words", "code"),
    [
        (["--host", "0.0.0.0"], {}, "no terminal to show a token on", 1),
        (["--host", "0.0.0.0"], {"CROSSPOUR_TOKEN": "short"}, "16 are the least", 2),
        (["--host", "256.1.1.1"], {}, "cannot listen at 256.1.1.1 port 8000", 1),
        (["--host", "." * 70], {}, "cannot listen at", 1),
        (["--port", "70000"], {}, "70000 is not 0 to 65535", 2),
        (["--port", "x"], {}, "no whole number", 2),
        (["--visitors", "0"], {}, "0 is not 1 to 64", 2),
    ],
)
def test_what_cannot_be_served_is_said_in_one_sentence(
    home: Path, arguments: list[str], more: dict[str, str], words: str, code: int
) -> None:
    done = crosspour(home, "serve", *arguments, **more)
    assert done.returncode == code
    assert words in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""


def test_a_port_that_is_taken_is_said(home: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        done = crosspour(home, "serve", "--port", str(taken.getsockname()[1]))
    assert done.returncode == 1
    assert "in use" in done.stderr


def test_without_the_extra_it_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda _: None)
    assert main(["serve"]) == 1
    assert "pip install '.[serve]'" in capsys.readouterr().err


def test_the_servers_page_folder_holds_no_address_elsewhere() -> None:
    folder = Path(__file__).parents[2] / "drills" / "serving" / "pages"
    files = [file for file in folder.rglob("*") if file.is_file()]
    assert len(files) >= 8
    for file in files:
        assert not re.search(r"(?<!ws)(?<!wss)://(?!\")", file.read_text()), file
    assert os.sep not in "".join(file.suffix for file in files)
