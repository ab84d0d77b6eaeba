"""The study day: it turns at four by the wall clock, wherever and whatever the season."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest

from drills.clock import Clock, study_day

Place = Callable[[str], None]


@pytest.fixture
def living_in() -> Iterator[Place]:
    """Move the process to a time zone; the one it came from is put back."""
    if not hasattr(time, "tzset"):
        pytest.skip("this system cannot move a running process to another time zone")
    before = os.environ.get("TZ")

    def move(zone: str) -> None:
        os.environ["TZ"] = zone
        time.tzset()

    yield move
    if before is None:
        del os.environ["TZ"]
    else:
        os.environ["TZ"] = before
    time.tzset()


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def day(text: str) -> int:
    return date.fromisoformat(text).toordinal()


@pytest.mark.parametrize(
    ("moment", "expected"),
    [
        ("2024-05-02T03:59:59.999999", "2024-05-01"),
        ("2024-05-02T04:00", "2024-05-02"),
        ("2024-05-02T23:59", "2024-05-02"),
        ("2024-05-03T00:00", "2024-05-02"),
        ("2024-05-03T03:59", "2024-05-02"),
        ("2024-01-01T01:00", "2023-12-31"),
        ("2024-02-29T12:00", "2024-02-29"),
        ("2024-03-01T03:00", "2024-02-29"),
    ],
)
def test_the_day_turns_at_four(living_in: Place, moment: str, expected: str) -> None:
    living_in("UTC")
    assert study_day(utc(moment)) == day(expected)


@pytest.mark.parametrize(
    ("zone", "moment", "expected"),
    [
        # Paris, 31 March 2024: two o'clock becomes three, so four comes at 02:00 UTC.
        ("Europe/Paris", "2024-03-31T00:59", "2024-03-30"),
        ("Europe/Paris", "2024-03-31T01:59", "2024-03-30"),
        ("Europe/Paris", "2024-03-31T02:00", "2024-03-31"),
        ("Europe/Paris", "2024-03-30T03:00", "2024-03-30"),
        ("Europe/Paris", "2024-03-30T02:59", "2024-03-29"),
        # Paris, 27 October 2024: three o'clock becomes two; half past two comes twice.
        ("Europe/Paris", "2024-10-27T00:30", "2024-10-26"),
        ("Europe/Paris", "2024-10-27T01:30", "2024-10-26"),
        ("Europe/Paris", "2024-10-27T02:59", "2024-10-26"),
        ("Europe/Paris", "2024-10-27T03:00", "2024-10-27"),
        # São Paulo, 4 November 2018: midnight becomes one.
        ("America/Sao_Paulo", "2018-11-04T05:59", "2018-11-03"),
        ("America/Sao_Paulo", "2018-11-04T06:00", "2018-11-04"),
        # Lord Howe Island shifts by half an hour; 6 October 2024, two o'clock becomes half past.
        ("Australia/Lord_Howe", "2024-10-05T16:59", "2024-10-05"),
        ("Australia/Lord_Howe", "2024-10-05T17:00", "2024-10-06"),
        # Samoa left out 30 December 2011.
        ("Pacific/Apia", "2011-12-30T09:59", "2011-12-29"),
        ("Pacific/Apia", "2011-12-30T13:59", "2011-12-30"),
        ("Pacific/Apia", "2011-12-30T14:00", "2011-12-31"),
        # Auckland and Los Angeles, far from Greenwich on either side.
        ("Pacific/Auckland", "2024-07-01T15:59", "2024-07-01"),
        ("Pacific/Auckland", "2024-07-01T16:00", "2024-07-02"),
        ("America/Los_Angeles", "2024-07-01T10:59", "2024-06-30"),
        ("America/Los_Angeles", "2024-07-01T11:00", "2024-07-01"),
    ],
)
def test_the_day_turns_at_four_local_time(
    living_in: Place, zone: str, moment: str, expected: str
) -> None:
    living_in(zone)
    assert study_day(utc(moment)) == day(expected)


ZONES = (
    "Europe/Paris",
    "America/New_York",
    "America/St_Johns",
    "Asia/Kathmandu",
    "Australia/Adelaide",
    "Pacific/Chatham",
    "Pacific/Kiritimati",
    "America/Santiago",
    "Africa/Casablanca",
)


@pytest.mark.parametrize("zone", ZONES)
def test_every_hour_of_two_years_against_the_zone_s_own_rules(living_in: Place, zone: str) -> None:
    """The system's clock against Python's copy of the time zone database, an hour at a time."""
    living_in(zone)
    rules = ZoneInfo(zone)
    moment, last = utc("2023-01-01T00:30"), 0
    for _ in range(2 * 365 * 24):
        local = moment.astimezone(rules)
        before_four = local.hour < 4
        expected = local.date() - timedelta(days=1) if before_four else local.date()
        found = study_day(moment)
        assert found == expected.toordinal()
        # A season's change never takes a taster back to yesterday.
        assert found >= last
        last = found
        moment += timedelta(hours=1)


def test_a_moment_is_the_same_in_any_zone_it_is_written_in(living_in: Place) -> None:
    living_in("Europe/Paris")
    moment = utc("2024-05-02T01:30")
    for hours in (-11, -3, 0, 5.5, 13):
        elsewhere = moment.astimezone(timezone(timedelta(hours=hours)))
        assert study_day(elsewhere) == study_day(moment) == day("2024-05-01")


def test_a_moment_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="time zone"):
        study_day(datetime(2024, 5, 2, 12))


def test_the_zone_of_the_environment_counts_from_the_start() -> None:
    """As a taster meets it: the variable is set before the program starts."""
    program = (
        "from datetime import UTC, datetime\n"
        "from drills.clock import study_day\n"
        "print(study_day(datetime(2024, 3, 31, 1, 59, tzinfo=UTC)),"
        " study_day(datetime(2024, 3, 31, 2, 0, tzinfo=UTC)))\n"
    )
    days = {}
    for zone in ("Europe/Paris", "America/New_York"):
        run = subprocess.run(
            [sys.executable, "-c", program],
            env={**os.environ, "TZ": zone, "PYTHONPATH": os.pathsep.join(sys.path)},
            capture_output=True,
            text=True,
            check=True,
        )
        days[zone] = [int(word) for word in run.stdout.split()]
    assert days["Europe/Paris"] == [day("2024-03-30"), day("2024-03-31")]
    assert days["America/New_York"] == [day("2024-03-30"), day("2024-03-30")]


def test_a_clock_of_one_s_own(living_in: Place) -> None:
    living_in("UTC")
    clock = Clock(now=lambda: utc("2024-05-02T03:00"), stopwatch=lambda: 7.0)
    assert clock.today() == day("2024-05-01")
    assert clock.stopwatch() == 7.0


def test_the_real_clock_is_aware_and_its_stopwatch_never_runs_back() -> None:
    clock = Clock()
    assert clock.now().utcoffset() == timedelta(0)
    assert abs(clock.today() - date.today().toordinal()) <= 1
    first = clock.stopwatch()
    assert clock.stopwatch() >= first
