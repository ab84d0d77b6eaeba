"""Who may come in: names of the server, tokens, origins."""

from __future__ import annotations

import pytest

from drills.errors import UsageError
from drills.serving.guard import Guard, checked_token, is_loopback, random_token
from drills.serving.visit import COLUMNS, within

TOKEN = "lighthouse-cellar-2026"


@pytest.mark.parametrize(
    "host", ["localhost", "localhost:8000", "127.0.0.1:8000", "[::1]:8000", "LocalHost"]
)
def test_without_a_token_this_machine_may_ask(host: str) -> None:
    assert Guard(None).knows_host(host)


@pytest.mark.parametrize(
    "host",
    ["", "cellar.example", "localhost.cellar.example:8000", "localhost:8000 x", "a;b", "127.0.0.2"],
)
def test_without_a_token_no_other_name_leads_here(host: str) -> None:
    assert not Guard(None).knows_host(host)


def test_with_a_token_any_name_may_lead_here_but_nothing_that_is_no_name() -> None:
    guard = Guard(TOKEN)
    assert guard.knows_host("cellar.example")
    assert not guard.knows_host("cellar.example; script-src *")


@pytest.mark.parametrize("given", [None, "", TOKEN[:-1], TOKEN + "x", TOKEN.upper(), "é" * 22])
def test_only_the_token_itself_opens(given: str | None) -> None:
    assert Guard(TOKEN).knows_token(TOKEN)
    assert not Guard(TOKEN).knows_token(given)
    assert Guard(None).knows_token(given)


@pytest.mark.parametrize(
    ("origin", "same"),
    [
        ("http://cellar.example:8000", True),
        ("https://Cellar.example:8000", True),
        ("http://cellar.example", False),
        ("http://other.example:8000", False),
        ("http://cellar.example:8000.other.example", False),
        ("null", False),
        ("", False),
        (None, False),
    ],
)
def test_only_pages_of_the_server_are_its_own(origin: str | None, same: bool) -> None:
    assert Guard.same_origin(origin, "cellar.example:8000") is same


def test_a_token_of_ones_own_must_be_long_and_fit_into_a_cookie() -> None:
    assert checked_token(f" {TOKEN}\n") == TOKEN
    with pytest.raises(UsageError, match="has 5 characters; 16 are the least"):
        checked_token("short")
    with pytest.raises(UsageError, match="letters, digits"):
        checked_token("a token; with spaces and more")


def test_random_tokens_differ_and_pass_the_check() -> None:
    tokens = {random_token() for _ in range(100)}
    assert len(tokens) == 100
    assert all(checked_token(one) == one and len(one) == 32 for one in tokens)


@pytest.mark.parametrize(
    ("address", "near"),
    [("127.0.0.1", True), ("127.1.2.3", True), ("::1", True), ("0.0.0.0", False), ("::", False)],
)
def test_only_addresses_of_this_machine_are_near(address: str, near: bool) -> None:
    assert is_loopback(address) is near


@pytest.mark.parametrize(
    ("given", "becomes"),
    [(80, 80), ("120", 120), (10**9, 500), (-1, 20), ("wide", 20), (None, 20), (float("inf"), 20)],
)
def test_a_made_up_size_stays_within_bounds(given: object, becomes: int) -> None:
    assert within(COLUMNS, given) == becomes
