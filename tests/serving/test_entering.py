"""At the door of a served program: wrong tokens wait, and whoever is in is not troubled by them."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest
from aiohttp import CookieJar
from aiohttp.test_utils import TestClient, TestServer

from drills.serving.attempts import FREE, MOST, REFUSED_SECONDS
from drills.serving.guard import COOKIE, Guard
from drills.serving.server import Server
from tests.serving.test_attempts import Stopwatch
from tests.serving.visiting import TOKEN

WRONG = "not-the-token-at-all"


class Visitor:
    """A browser on this machine that comes to a server whose time stands still."""

    def __init__(self, client: TestClient, stopwatch: Stopwatch) -> None:  # type: ignore[type-arg]
        self._client, self.stopwatch = client, stopwatch

    async def enter(self, token: str) -> tuple[int, str, str | None]:
        """Show a token: the status, what the page says, and after how long to come again."""
        origin = {"Origin": str(self._client.make_url("")).rstrip("/")}
        async with self._client.post(
            "/enter", data={"token": token}, headers=origin, allow_redirects=False
        ) as page:
            words = " ".join((await page.text()).split())
            return page.status, words, page.headers.get("Retry-After")

    async def look(self, cookie: str = "") -> int:
        """Ask for the first screen with the cookies that one has."""
        headers = {"Cookie": f"{COOKIE}={cookie}"} if cookie else {}
        async with self._client.get("/", headers=headers) as page:
            return page.status


@pytest.fixture
async def visitor() -> AsyncIterator[Visitor]:
    stopwatch = Stopwatch()
    server = Server(Guard(TOKEN), places=1, tasters=lambda: ["Ada"], stopwatch=stopwatch)
    app = await server._make_app()
    async with TestClient(TestServer(app), cookie_jar=CookieJar(unsafe=True)) as client:
        yield Visitor(client, stopwatch)


async def test_a_mistyped_token_may_be_typed_again_at_once(visitor: Visitor) -> None:
    for _ in range(FREE - 1):
        status, words, later = await visitor.enter(WRONG)
        assert (status, later) == (401, None)
        assert "That is not the token." in words
        assert "is looked at in" not in words
    assert (await visitor.enter(TOKEN))[0] == 303
    assert await visitor.look() == 200


async def test_further_wrong_tokens_wait_and_the_page_says_how_long(visitor: Visitor) -> None:
    for _ in range(FREE):
        status, words, _ = await visitor.enter(WRONG)
    assert status == 401
    assert "From your address the next one is looked at in 1 second." in words
    status, words, later = await visitor.enter(TOKEN)
    assert (status, later) == (429, "1")
    assert "For 1 second none from it is looked at, not even the right one" in words
    visitor.stopwatch.seconds += 1
    assert (await visitor.enter(TOKEN))[0] == 303


async def test_after_many_wrong_tokens_an_address_is_refused_for_a_while(visitor: Visitor) -> None:
    for _ in range(MOST):
        status, words, later = await visitor.enter(WRONG)
        visitor.stopwatch.seconds += 64
    assert (status, later) == (429, "900")
    assert "For 15 minutes none" in words
    for token in (WRONG, TOKEN):
        status, words, later = await visitor.enter(token)
        assert (status, later) == (429, "836")
        assert "For 14 minutes none from it is looked at, not even the right one" in words
    visitor.stopwatch.seconds += REFUSED_SECONDS - 64
    assert (await visitor.enter(TOKEN))[0] == 303


async def test_who_is_in_stays_in_whatever_others_try_from_there(visitor: Visitor) -> None:
    assert (await visitor.enter(TOKEN))[0] == 303
    for _ in range(MOST):
        await visitor.enter(WRONG)
        visitor.stopwatch.seconds += 64
    assert (await visitor.enter(TOKEN))[0] == 429
    assert await visitor.look() == 200


async def test_no_cookie_tells_whether_a_guessed_token_is_right(visitor: Visitor) -> None:
    assert await visitor.look(TOKEN) == 401
    assert await visitor.look(WRONG) == 401
    # Nor does one count as a wrong token: it may be of a server that ran before.
    for _ in range(MOST):
        await visitor.look(WRONG)
    assert (await visitor.enter(TOKEN))[0] == 303
    assert await visitor.look() == 200
