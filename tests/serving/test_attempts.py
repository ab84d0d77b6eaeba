"""Wrong tokens are slowed down, then refused for a while, by the address they come from."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.serving.attempts import FREE, KNOWN, MOST, REFUSED_SECONDS, Attempts

HOME, ELSEWHERE = "192.0.2.7", "198.51.100.20"


class Stopwatch:
    """Seconds that pass when told to."""

    def __init__(self) -> None:
        self.seconds = 0.0

    def __call__(self) -> float:
        return self.seconds


@pytest.fixture
def stopwatch() -> Stopwatch:
    return Stopwatch()


@pytest.fixture
def attempts(stopwatch: Stopwatch) -> Attempts:
    return Attempts(stopwatch)


def guess(attempts: Attempts, stopwatch: Stopwatch, times: int, address: str = HOME) -> list[float]:
    """Guess as soon as it is allowed; returns what each wrong token costs."""
    costs = []
    for _ in range(times):
        stopwatch.seconds += attempts.wait(address)
        costs.append(attempts.wrong(address))
    return costs


def test_a_few_mistypings_cost_nothing_and_then_each_doubles_the_wait(
    attempts: Attempts, stopwatch: Stopwatch
) -> None:
    costs = guess(attempts, stopwatch, MOST)
    assert costs == [0, 0, 1, 2, 4, 8, 16, 32, 64, REFUSED_SECONDS]
    assert costs[: FREE - 1] == [0] * (FREE - 1)
    assert attempts.wait(HOME) == REFUSED_SECONDS


def test_an_address_is_looked_at_again_after_its_time_and_begins_anew(
    attempts: Attempts, stopwatch: Stopwatch
) -> None:
    guess(attempts, stopwatch, MOST)
    stopwatch.seconds += REFUSED_SECONDS - 1
    assert attempts.wait(HOME) == 1
    stopwatch.seconds += 1
    assert attempts.wait(HOME) == 0
    assert attempts.wrong(HOME) == 0


def test_no_address_waits_for_another(attempts: Attempts, stopwatch: Stopwatch) -> None:
    guess(attempts, stopwatch, MOST)
    assert attempts.wait(ELSEWHERE) == 0
    assert attempts.wrong(ELSEWHERE) == 0


def test_the_right_token_and_a_quiet_while_make_up_for_mistypings(
    attempts: Attempts, stopwatch: Stopwatch
) -> None:
    guess(attempts, stopwatch, FREE + 1)
    attempts.right(HOME)
    assert attempts.wait(HOME) == 0
    guess(attempts, stopwatch, FREE + 1)
    stopwatch.seconds += REFUSED_SECONDS
    assert attempts.wrong(HOME) == 0


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("192.0.2.7", "::ffff:192.0.2.7", True),
        ("2001:db8:1:2::7", "2001:db8:1:2:ffff::1", True),
        ("2001:db8:1:2::7", "2001:db8:1:3::7", False),
        ("fe80::1%eth0", "fe80::1", True),
        ("192.0.2.7", "192.0.2.8", False),
        ("no address", None, True),
    ],
)
def test_what_one_household_may_choose_among_counts_as_one_address(
    attempts: Attempts, stopwatch: Stopwatch, one: str, other: str, same: bool
) -> None:
    guess(attempts, stopwatch, MOST, one)
    assert (attempts.wait(other) > 0) is same


def test_only_the_latest_addresses_are_remembered(attempts: Attempts, stopwatch: Stopwatch) -> None:
    guess(attempts, stopwatch, MOST)
    for number in range(KNOWN):
        attempts.wrong(f"10.0.{number // 256}.{number % 256}")
    assert len(attempts._known) == KNOWN
    assert attempts.wait(HOME) == 0


@given(st.lists(st.floats(0, 100), min_size=1, max_size=300))
def test_however_guesses_are_spread_only_so_many_are_looked_at_an_hour(pauses: list[float]) -> None:
    stopwatch = Stopwatch()
    attempts = Attempts(stopwatch)
    looked_at: list[float] = []
    for pause in pauses:
        stopwatch.seconds += pause
        if attempts.wait(HOME) == 0:
            looked_at.append(stopwatch.seconds)
            attempts.wrong(HOME)
    for first in looked_at:
        # After ten come fifteen minutes of nothing, so an hour holds parts of five rounds at most.
        assert sum(first <= one < first + 3600 for one in looked_at) <= 5 * MOST
