"""Nothing of a flight is lost, half entered or kept."""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import sys
import time
from collections.abc import Callable

import pytest

from cards.scale import Level
from drills.screens.debrief import DebriefScreen
from drills.screens.home import HomeScreen
from drills.screens.tasting import TastingScreen
from drills.screens.tasting_cautions import keep_seen
from drills.screens.tasting_draft import DraftKeeper, half_entered
from drills.screens.tasting_flight import SAVE_AFTER
from drills.screens.tasting_sheet import FlightSheet
from drills.screens.tasting_start import TastingStartScreen
from drills.service.desk import Desk
from drills.tastings.notes import Candidate
from tests.screens.sitting import (
    ROOT,
    begin,
    go_to,
    home_screen,
    kept,
    page,
    planned,
    sheet_of,
    typed,
    until,
    value,
)
from tests.screens.terminal import current, notices, opened, refusing, seen

# ---- nothing is lost


async def test_what_was_typed_is_on_disk_within_a_second(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, name="[Tue]sday")
        assert half_entered(desk) == []
        await go_to(pilot, "nose")
        await typed(pilot, "half a wo")
        # With time to spare for a slow disk.
        assert SAVE_AFTER <= 0.5
        await until(pilot, lambda: sheet_of(desk).pours[0].text("nose") == "half a wo")
        sheet = sheet_of(desk)
        assert sheet.name == "[Tue]sday"
        assert sheet.pours[0].texts == {"nose": "half a wo"}


async def test_leaving_keeps_the_flight_and_the_first_screen_offers_it(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, name="Tuesday", pours=3)
        await pilot.press("pagedown", "r", "2", "3")
        await go_to(pilot, "candidate")
        await typed(pilot, "Barolo")
        await pilot.press("enter")
        await typed(pilot, "unfinish")
        await pilot.press("escape", "escape")
        await pilot.pause()
        # The first Escape sends the offers away where there are any.
        if isinstance(pilot.app.screen, TastingScreen):
            await pilot.press("escape")
            await pilot.pause()
        while not isinstance(pilot.app.screen, HomeScreen):
            await pilot.press("escape")
            await pilot.pause()
        assert "1 flight left half entered: N goes on" in " ".join(seen(pilot).split())
        await pilot.press("n")
        await pilot.pause()
        assert "Tuesday" in seen(pilot)
        await pilot.press("enter")
        await pilot.pause()
        assert page(pilot).sheet.at == 1
        assert (value(pilot, "hue"), value(pilot, "depth")) == ("ruby", 2)
        assert value(pilot, "candidate") == "unfinish"
        assert page(pilot).sheet.pour.candidates == [Candidate("Barolo", "nebbiolo-barolo")]


async def test_leaving_the_program_in_the_middle_of_a_word_loses_no_letter(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        await go_to(pilot, "palate")
        await typed(pilot, "bitter alm")
        await pilot.press("ctrl+q")
    assert sheet_of(desk).pours[0].text("palate") == "bitter alm"


def test_a_sheet_comes_back_from_its_draft_as_it_was() -> None:
    sheet = planned("Barolo")
    sheet.minutes, sheet.seconds, sheet.at, sheet.quick = 12.5, 61.5, 2, True
    sheet.pours[0].levels = {"acid": Level.HIGH}
    sheet.pours[0].choices = {"hue": "ruby"}
    sheet.pours[0].sureness = {"final": 3}
    sheet.pours[0].candidates = [Candidate("x", None, "because")]
    sheet.pours[0].seconds, sheet.pours[0].opened, sheet.pours[0].skipped = 3.5, True, True
    assert FlightSheet.from_plain(json.loads(json.dumps(sheet.to_plain()))) == sheet


async def test_a_half_entered_flight_is_discarded_only_when_asked_twice(desk: Desk) -> None:
    DraftKeeper(desk, planned("Barolo")).save(1, json.dumps(planned("Barolo").to_plain()))
    keep_seen(desk)
    async with opened(desk, home_screen) as pilot:
        await pilot.press("n")
        await pilot.pause()
        await pilot.press("delete")
        assert len(half_entered(desk)) == 1
        (said,) = notices(pilot)
        assert "again discards it" in said
        assert "Barolo" not in said
        await pilot.press("delete")
        assert half_entered(desk) == []
        assert "half entered" not in seen(pilot)


async def test_a_draft_that_makes_no_sense_is_passed_over(desk: Desk) -> None:
    taster = desk.taster.id
    for content in ("{", "[]", '{"pours": 3}', '{"pours": [{"levels": {"acid": "loud"}}]}', "null"):
        desk.repository.save_draft(taster, content)
    keep_seen(desk)
    async with opened(desk, home_screen) as pilot:
        await pilot.press("n")
        await pilot.pause()
        current(pilot, TastingStartScreen)
        assert notices(pilot) == []
        await pilot.press("enter")
        await pilot.pause()
        page(pilot)


async def test_a_database_that_is_locked_is_told_and_tried_again(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    async with opened(desk, home_screen) as pilot:
        await begin(pilot)
        monkeypatch.setattr(repository, "save_draft", refusing(1, repository.save_draft))
        await pilot.press("w", "1")
        await until(pilot, lambda: bool(notices(pilot)))
        assert "Not on disk yet: another program is writing [to it]" in notices(pilot)[0]
        await until(pilot, lambda: bool(half_entered(desk)))
        assert sheet_of(desk).pours[0].choices == {"hue": "greenish"}


async def test_an_older_state_never_covers_a_later_one(desk: Desk) -> None:
    sheet = planned("Barolo")
    keeper = DraftKeeper(desk, sheet)
    early = keeper.snapshot()
    sheet.name = "later"
    late = keeper.snapshot()
    keeper.save(*late)
    keeper.save(*early)
    assert sheet_of(desk).name == "later"
    keeper.shut()
    sheet.name = "too late"
    keeper.save(*keeper.snapshot())
    assert sheet_of(desk).name == "later"


def test_kill_minus_nine_at_the_table_loses_nothing_that_is_a_second_old(
    desk: Desk, open_desk: Callable[[], Desk]
) -> None:
    """The whole program on a terminal of its own, killed while a flight is being entered."""
    keep_seen(desk)
    desk.close()
    process, terminal = on_a_terminal("crosspour")
    try:
        for keys, wanted in (
            ("", "start the drill"),
            ("n", "what you call it"),
            ("\r", "W white"),
        ):
            os.write(terminal, keys.encode())
            read_until(terminal, wanted)
        os.write(terminal, b"r25")
        read_until(terminal, "ruby")
        # Up twice, then Tab to the nose, as slowly as people type.
        for sign in ("\t", *"tar, violets"):
            os.write(terminal, sign.encode())
            drain(terminal, 0.05)
        read_until(terminal, "violet", quiet=True)
        drain(terminal, 1.0)
        process.send_signal(signal.SIGKILL)
        process.wait(10)
    finally:
        process.kill()
        os.close(terminal)
    again = open_desk()
    sheet = sheet_of(again)
    assert sheet.pours[0].choices == {"hue": "ruby"}
    assert sheet.pours[0].levels == {"depth": Level.HIGH}
    assert sheet.pours[0].text("nose") == "tar, violets"


def on_a_terminal(command: str) -> tuple[subprocess.Popen[bytes], int]:
    """Start the program on a terminal of 80 columns and 24 lines."""
    import fcntl
    import struct
    import termios

    terminal, inside = pty.openpty()
    fcntl.ioctl(inside, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    process = subprocess.Popen(
        [
            sys.executable,
            "-c",
            f"import sys; sys.argv[0] = '{command}'\nfrom drills.cli import main; sys.exit(main())",
        ],
        cwd=ROOT,
        stdin=inside,
        stdout=inside,
        stderr=inside,
        env={**os.environ, "TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"},
        start_new_session=True,
    )
    os.close(inside)
    return process, terminal


_READ: dict[int, bytes] = {}


def drain(terminal: int, seconds: float) -> None:
    """Take in what the program paints, for so long."""
    import select

    end = time.monotonic() + seconds
    while (left := end - time.monotonic()) > 0:
        if select.select([terminal], [], [], left)[0]:
            _READ[terminal] = _READ.get(terminal, b"") + os.read(terminal, 65536)


def read_until(terminal: int, wanted: str, *, quiet: bool = False) -> None:
    """Wait until the program has painted some words."""
    end = time.monotonic() + 30
    while wanted.encode() not in _READ.get(terminal, b""):
        if time.monotonic() > end:
            if quiet:
                return
            raise AssertionError(f"“{wanted}” never came: {_READ.get(terminal, b'')[-2000:]!r}")
        drain(terminal, 0.1)
    if not quiet:
        _READ[terminal] = b""


# ---- keeping


async def test_pours_without_a_reveal_are_kept_only_when_asked_twice(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=3)
        await pilot.press("f9")
        assert notices(pilot) == ["Nothing is entered yet."]
        await pilot.press("w", "1", "pagedown", "w", "2", "f9")
        await pilot.pause()
        page(pilot)
        assert notices(pilot)[-1] == "2 pours are not revealed. F9 again keeps the flight so."
        await pilot.press("f9")
        await pilot.pause()
        screen = current(pilot, DebriefScreen)
        assert "not revealed" in seen(pilot)
        assert len(screen.pours) == 2
    assert [pour.note.readings for pour in kept(desk)] == [{"hue": "greenish"}, {"hue": "straw"}]
    assert half_entered(desk) == []


async def test_a_flight_that_cannot_be_kept_stays_as_it_is_and_is_kept_at_the_next_try(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    record = repository.record_flight
    refuse = refusing(1, lambda given, named: record(*given, **named))
    monkeypatch.setattr(repository, "record_flight", lambda *given, **named: refuse(given, named))
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=1)
        await go_to(pilot, "final")
        await typed(pilot, "Barolo")
        await pilot.press("f5")
        await typed(pilot, "Barolo")
        await pilot.press("f9")
        await pilot.pause()
        page(pilot)
        assert "Not kept: another program is writing [to it]" in notices(pilot)[-1]
        assert kept(desk) == []
        assert len(half_entered(desk)) == 1
        await pilot.press("f9")
        await pilot.pause()
        current(pilot, DebriefScreen)
    assert len(kept(desk)) == 1
    assert half_entered(desk) == []


async def test_after_keeping_nothing_brings_the_draft_back(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await begin(pilot, pours=1)
        await pilot.press("w", "1")
        await until(pilot, lambda: bool(half_entered(desk)))
        await pilot.press("w", "up", "2")
        await pilot.press("f9", "f9")
        await pilot.pause(0.6)
        await pilot.app.workers.wait_for_complete()
        current(pilot, DebriefScreen)
    assert half_entered(desk) == []
    assert len(kept(desk)) == 1
