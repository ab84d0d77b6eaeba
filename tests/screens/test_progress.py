"""Weak pairs between theory and glass, the page of a pair, and progress in pictures."""

from __future__ import annotations

import re
import threading
from datetime import date, timedelta
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import DataTable, Input, Static

from cards.scale import Level
from drills.screens.ask import AskScreen
from drills.screens.compare import CompareScreen
from drills.screens.home import HomeScreen
from drills.screens.pair import PairScreen
from drills.screens.progress import ProgressScreen
from drills.screens.weak import WeakScreen
from drills.screens.widgets.corners import CornersPicture
from drills.screens.widgets.pictures import about_zero, stacked
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.progress import progress
from drills.service.tasting import log_flight
from drills.service.weak import overview
from drills.statistics.shares import Estimate
from drills.tastings.drafts import Named
from drills.tastings.notes import FullFlight, FullPour, Note, Verdict
from tests.desks import TODAY, Watch, answer, mix_up
from tests.screens.terminal import (
    LEAST,
    SIZES,
    USUAL,
    WIDE,
    current,
    drilling,
    notices,
    opened,
    refusing,
    seen,
    settled,
    text_of,
)

NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")
FAR = ("aglianico-taurasi", "cabernet-napa")


def weak_screen() -> Screen[None]:
    return WeakScreen()


def progress_screen() -> Screen[None]:
    return ProgressScreen()


def confuse(desk: Desk) -> None:
    mix_up(desk, *NEAR, times=3)
    mix_up(desk, *FAR, flight="Wednesday")


def live(desk: Desk, watch: Watch) -> None:
    """Answers and a flight with a note, under a name that looks like markup."""
    session = DrillSession(desk, 1200)
    for number in range(22):
        watch.go_on(8)
        answer(session, right=number % 3 != 0)
    session.end()
    was, called = NEAR
    pours = tuple(
        FullPour(
            number + 1,
            note=Note({"alcohol": 13.5, "acid": Level.HIGH}),
            first=Verdict(was, was),
            final=Verdict(called, called),
            reveal=Named(was, was),
            label_alcohol=13.0,
        )
        for number in range(2)
    )
    log_flight(desk, FullFlight("Cellar [bold]b[/] [", date.fromordinal(TODAY), pours))


# ---- weak pairs


@pytest.mark.parametrize("size", [USUAL, LEAST])
async def test_one_key_shows_the_pairs_between_four_corners(
    desk: Desk, size: tuple[int, int]
) -> None:
    confuse(desk)
    async with opened(desk, weak_screen, size=size) as pilot:
        await settled(pilot)
        assert not pilot.app.screen.query_one(CornersPicture).display
        await pilot.press("v")
        await pilot.pause()
        text = seen(pilot)
        for words in ("resolved", "more cards", "pour side by side", "cards lag behind"):
            assert words in text
        assert re.search(r"[┈┊│ ]ab?[┈┊│ ]", text)
        assert "Marlborough Sauvignon / Sancerre" in text_of(pilot, "#advice")
        await pilot.press("v")
        await pilot.pause()
        assert pilot.app.screen.query_one(DataTable).has_focus


async def test_on_a_wide_terminal_list_and_picture_stand_side_by_side(desk: Desk) -> None:
    confuse(desk)
    async with opened(desk, weak_screen, size=WIDE) as pilot:
        await settled(pilot)
        screen = current(pilot, WeakScreen)
        assert screen.query_one(DataTable).display
        picture = screen.query_one(CornersPicture)
        assert picture.display
        assert picture.at == 0
        await pilot.press("down", "down")
        await pilot.pause()
        # The cursor of the list marks the point.
        assert screen.corner is not None
        assert picture.corners[picture.at].wines == screen.corner.wines


async def test_every_point_can_be_reached_by_arrows_and_opened(desk: Desk) -> None:
    confuse(desk)
    async with opened(desk, weak_screen) as pilot:
        await settled(pilot)
        await pilot.press("v")
        picture = pilot.app.screen.query_one(CornersPicture)
        reached = {picture.at}
        for key in ("left", "right", "up", "down") * 2:
            await pilot.press(key)
            reached.add(picture.at)
        assert reached == {0, 1}
        wanted = picture.corners[picture.at].wines
        await pilot.press("enter")
        await settled(pilot)
        page = current(pilot, PairScreen).page
        assert page is not None
        assert page.wines == wanted
        await pilot.press("escape")
        current(pilot, WeakScreen)


async def test_a_click_marks_a_point_and_a_second_opens_it(desk: Desk) -> None:
    confuse(desk)
    async with opened(desk, weak_screen) as pilot:
        await settled(pilot)
        await pilot.press("v")
        await pilot.pause()
        picture = pilot.app.screen.query_one(CornersPicture)
        ((x, y),) = [cell for cell, number in picture.places().items() if number == 1]
        # A frame and a line of words come before the first cell, a column of padding as well.
        offset = (x + 2, y + 2)
        await pilot.click(CornersPicture, offset=offset)
        assert picture.at == 1
        assert isinstance(pilot.app.screen, WeakScreen)
        await pilot.click(CornersPicture, offset=offset)
        await settled(pilot)
        page = current(pilot, PairScreen).page
        assert page is not None
        assert page.wines == picture.corners[1].wines


async def test_one_key_drills_the_weakest_pairs_together(desk: Desk) -> None:
    confuse(desk)
    async with opened(desk, weak_screen) as pilot:
        await settled(pilot)
        await pilot.press("w")
        await pilot.pause()
        assert drilling(pilot).session.pairs == (NEAR, FAR)
        assert len(pilot.app.screen_stack) <= 2


async def test_a_resolved_pair_is_off_the_list_and_in_the_picture(desk: Desk, watch: Watch) -> None:
    mix_up(desk, *NEAR)
    for _ in range(12):
        watch.next_morning()
        for wine in NEAR:
            right(desk, wine, watch)
    async with opened(desk, weak_screen) as pilot:
        await settled(pilot)
        assert "No pair is weak now; 1 pair resolved" in text_of(pilot, "#head")
        assert pilot.app.screen.query_one(DataTable).row_count == 0
        await pilot.press("v")
        await pilot.pause()
        assert "You tell" in text_of(pilot, "#advice")
        await pilot.press("w")
        current(pilot, WeakScreen)


def right(desk: Desk, wine: str, watch: Watch) -> None:
    """Log a pour that was called rightly."""
    flight = FullFlight(
        f"{watch.at} {wine}",
        watch.at.astimezone().date(),
        (FullPour(1, final=Verdict(wine, wine), reveal=Named(wine, wine)),),
    )
    log_flight(desk, flight)


# ---- a pair


@pytest.mark.parametrize("size", SIZES)
async def test_the_page_of_a_pair_says_what_is_known(
    desk: Desk, watch: Watch, size: tuple[int, int]
) -> None:
    live(desk, watch)
    async with opened(desk, lambda: PairScreen(*NEAR), size=size) as pilot:
        await settled(pilot)
        (corner,) = overview(desk).corners
        told = text_of(pilot, "#told")
        assert corner.verdict.sentence in told
        for words in ("confused, each way", "in the glass, 2 pours", "✗✗", "cards", "unseen"):
            assert words in told
        assert "cues that were missed" in told
        assert "of 2 confused pours" in told
        # What was typed is shown as typed.
        assert "Cellar [bold]b[/] [" in told
        await pilot.press("end")
        await pilot.press("c")
        await pilot.pause()
        current(pilot, CompareScreen)
        await pilot.press("escape")
        await pilot.press("d")
        await pilot.pause()
        assert drilling(pilot).session.pairs == (NEAR,)


async def test_a_page_that_cannot_be_read_says_so(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    monkeypatch.setattr(repository, "reveals", refusing(1, repository.reveals))
    async with opened(desk, lambda: PairScreen(*NEAR)) as pilot:
        await settled(pilot)
        assert "another program is writing [to it]" in text_of(pilot, "#told")


# ---- progress


@pytest.mark.parametrize("size", SIZES)
async def test_progress_stands_with_its_numbers_and_pictures(
    desk: Desk, watch: Watch, size: tuple[int, int]
) -> None:
    live(desk, watch)
    found = progress(desk)
    async with opened(desk, lambda: HomeScreen(), size=size) as pilot:
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
    async with opened(desk, progress_screen) as pilot:
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
    async with opened(desk, progress_screen) as pilot:
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
    async with opened(desk, progress_screen) as pilot:
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
    async with opened(desk, progress_screen) as pilot:
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
    async with opened(desk, progress_screen) as pilot:
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
    async with opened(desk, progress_screen) as pilot:
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
    async with opened(desk, lambda: HomeScreen()) as pilot:
        await pilot.press("p")
        await pilot.pause()
        await pilot.press("escape")
        go_on.set()
        await settled(pilot)
        current(pilot, HomeScreen)


async def test_other_colours_draw_the_plots_anew(desk: Desk, watch: Watch) -> None:
    live(desk, watch)
    async with opened(desk, progress_screen) as pilot:
        await settled(pilot)
        before = seen(pilot)
        await pilot.press("f4")
        await pilot.pause()
        assert seen(pilot) == before


# ---- pictures of characters


def test_an_interval_about_zero_marks_zero_and_the_value() -> None:
    assert about_zero(Estimate(1.0, 0.5, 1.5), 2.0, 9) == "····│─●─·"
    assert about_zero(Estimate(0.0, -5.0, 5.0), 2.0, 9) == "────●────"
    assert about_zero(Estimate(-9.0, -9.0, 0.5), 2.0, 9) == "●───┼─···"


def test_shares_fill_the_whole_bar() -> None:
    assert stacked([("a", 1), ("b", 1), ("c", 2)], 8) == "aabbcccc"
    assert stacked([("a", 0), ("b", 3)], 5) == "bbbbb"
    assert stacked([("a", 0)], 5) == ""
