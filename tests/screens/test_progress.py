"""Progress in pictures, their numbers, and what can be set there."""

from __future__ import annotations

import threading
from datetime import date, timedelta
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Static

from drills.screens.ask import AskScreen
from drills.screens.home import HomeScreen
from drills.screens.progress import ProgressScreen
from drills.screens.weak import WeakScreen
from drills.service.desk import Desk
from drills.service.progress import progress
from tests.desks import TODAY, Watch
from tests.screens.logged import live
from tests.screens.terminal import SIZES, current, notices, opened, refusing, seen, settled, text_of


@pytest.mark.parametrize("size", SIZES)
async def test_progress_stands_with_its_numbers_and_pictures(
    desk: Desk, watch: Watch, size: tuple[int, int]
) -> None:
    live(desk, watch)
    found = progress(desk)
    async with opened(desk, HomeScreen, size=size) as pilot:
        await pilot.press("p")
        await settled(pilot)
        await settled(pilot)
        screen = current(pilot, ProgressScreen)
        assert screen.found == found
        recall = text_of(pilot, "#recall .numbers")
        assert found.basics.recall is not None
        assert f"{found.basics.recall:.0%}" in recall
        assert found.forecast.sentence in recall
        assert "bias +0.50% vol" in text_of(pilot, "#alcohol .numbers")
        assert "acid" in text_of(pilot, "#structure .numbers")
        assert "lost by changing 2" in text_of(pilot, "#calls .numbers")
        assert "Marlborough" in text_of(pilot, "#confusions .numbers")
        words = found.sureness[0].words[0]
        assert f"of {words.n}" in text_of(pilot, "#sureness .numbers")
        # The plots are drawn: marks that no frame has.
        assert "●" in seen(pilot)
        assert "100" in seen(pilot)
        for line in seen(pilot).splitlines():
            assert len(line) <= size[0]
        await pilot.press("escape")
        current(pilot, HomeScreen)


async def test_the_keys_go_from_picture_to_picture(desk: Desk, watch: Watch) -> None:
    live(desk, watch)
    async with opened(desk, ProgressScreen) as pilot:
        await settled(pilot)
        titles = ("minutes a day", "sureness against outcome", "alcohol called less label")
        for title in titles:
            await pilot.press("n")
            await pilot.pause()
            assert any(title in line for line in seen(pilot).splitlines()[:3])
        await pilot.press("b")
        await pilot.pause()
        assert any(titles[1] in line for line in seen(pilot).splitlines()[:3])
        await pilot.press("w")
        await settled(pilot)
        current(pilot, WeakScreen)


async def test_an_empty_log_says_in_a_sentence_what_each_part_waits_for(desk: Desk) -> None:
    async with opened(desk, ProgressScreen) as pilot:
        await settled(pilot)
        for part in ("recall", "sureness", "alcohol", "structure", "confusions", "calls"):
            said = text_of(pilot, f"#{part} .numbers")
            assert said.endswith("."), part
            assert "counting" not in said


async def answer_question(pilot: Pilot[int], key: str, text: str) -> None:
    await pilot.press(key)
    await pilot.pause()
    asked = pilot.app.screen
    assert isinstance(asked, AskScreen)
    asked.query_one(Input).value = text
    await pilot.press("enter")
    await settled(pilot)


async def test_exam_date_and_minutes_are_set_by_key_and_kept(
    desk: Desk, watch: Watch, home: Path
) -> None:
    exam = (date.fromordinal(TODAY) + timedelta(days=50)).isoformat()
    (home / "settings.toml").write_text("# mine\nminutes = 7  # short\n", encoding="utf-8")
    live(desk, watch)
    async with opened(desk, ProgressScreen) as pilot:
        await settled(pilot)
        await answer_question(pilot, "e", "next spring")
        asked = pilot.app.screen
        assert isinstance(asked, AskScreen)
        assert "write the date as" in str(asked.query_one("#wrong", Static).content)
        asked.query_one(Input).value = exam
        await pilot.press("enter")
        await settled(pilot)
        current(pilot, ProgressScreen)
        assert "50 days to the exam" in text_of(pilot, "#recall .numbers")
        await answer_question(pilot, "m", "0")
        await pilot.press("escape")
        assert desk.settings.minutes == 7
        await answer_question(pilot, "m", "22")
        assert "set 22" in text_of(pilot, "#minutes .numbers")
    kept = (home / "settings.toml").read_text(encoding="utf-8")
    assert f"exam = {exam}" in kept
    assert "minutes = 22  # short" in kept
    assert "# mine" in kept


async def test_settings_that_cannot_be_written_are_said_to_be_so(desk: Desk, home: Path) -> None:
    assert desk.settings.minutes == 10
    async with opened(desk, ProgressScreen) as pilot:
        await settled(pilot)
        (home / "settings.toml").mkdir()
        await answer_question(pilot, "m", "12")
        (told,) = notices(pilot)
        assert "cannot be changed" in told
        assert desk.settings.minutes == 10


async def test_numbers_that_cannot_be_read_are_said_to_be_missing(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    monkeypatch.setattr(repository, "pair_memories", refusing(1, repository.pair_memories))
    async with opened(desk, ProgressScreen) as pilot:
        await settled(pilot)
        assert "another program is writing [to it]" in text_of(pilot, "#recall .numbers")


async def test_opening_waits_for_nothing_that_is_counted(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    go_on = threading.Event()
    counted = desk.repository.answer_counts

    def slow(taster: int) -> object:
        assert go_on.wait(20)
        return counted(taster)

    monkeypatch.setattr(desk.repository, "answer_counts", slow)
    async with opened(desk, ProgressScreen) as pilot:
        await pilot.pause()
        assert "recall, and its forecast" in seen(pilot)
        assert "counting" in text_of(pilot, "#calls .numbers")
        # What needs no statistics is there before what does.
        for _ in range(200):
            if "counting" not in text_of(pilot, "#recall .numbers"):
                break
            await pilot.pause(0.02)
        assert "No card is answered yet" in text_of(pilot, "#recall .numbers")
        go_on.set()
        await settled(pilot)
        assert "counting" not in text_of(pilot, "#calls .numbers")


async def test_leaving_while_it_counts_is_no_trouble(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    go_on = threading.Event()
    counted = desk.repository.answer_counts

    def slow(taster: int) -> object:
        assert go_on.wait(20)
        return counted(taster)

    monkeypatch.setattr(desk.repository, "answer_counts", slow)
    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("p")
        await pilot.pause()
        await pilot.press("escape")
        go_on.set()
        await settled(pilot)
        current(pilot, HomeScreen)


async def test_other_colours_draw_the_plots_anew(desk: Desk, watch: Watch) -> None:
    live(desk, watch)
    async with opened(desk, ProgressScreen) as pilot:
        await settled(pilot)
        before = seen(pilot)
        await pilot.press("f4")
        await pilot.pause()
        assert seen(pilot) == before
