"""Fitting the memory model on the progress screen: started, followed, kept or not, taken back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from textual.pilot import Pilot
from textual.screen import Screen

from drills.errors import NotPossibleError
from drills.fitting import STEPS, Fit, Judged
from drills.memory import MemoryModel
from drills.phrases import how_to_add
from drills.screens import progress as screen_of_progress
from drills.screens.progress import ProgressScreen
from drills.screens.widgets import fit_part
from drills.screens.widgets.fit_part import FitPart
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.fitting import Step, keep, kept
from tests.desks import Watch, answer_all
from tests.drills.test_fitting import FORGETS_FAST, log_of, numbers
from tests.screens.terminal import LEAST, USUAL, WIDE, opened, settled, text_of

FOUND = Fit(numbers(FORGETS_FAST), Judged(0.4, 0.05), Judged(0.3, 0.02), 900, 200, 0.02)


def progress_screen() -> Screen[None]:
    return ProgressScreen()


def told(pilot: Pilot[int]) -> str:
    return text_of(pilot, "#numbers .numbers")


def practised(desk: Desk, watch: Watch) -> None:
    for _ in range(2):
        answer_all(DrillSession(desk, 600), 15, right=lambda one: one.question.contrast.id % 3 > 0)
        watch.next_morning(2)


@pytest.mark.parametrize("size", [USUAL, LEAST, WIDE])
async def test_one_key_fits_and_another_goes_back_to_the_usual_numbers(
    desk: Desk, watch: Watch, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    practised(desk, watch)
    before = desk.repository.memories(desk.taster.id)
    graded, log = desk.repository.graded, log_of(numbers(FORGETS_FAST), 2)
    async with opened(desk, progress_screen, size=size) as pilot:
        await settled(pilot)
        assert "The usual numbers are in use. F fits them" in told(pilot)
        monkeypatch.setattr(desk.repository, "graded", lambda _: log)
        await pilot.press("f")
        await settled(pilot)
        assert "later answers, foretold from 3,500 earlier ones" in told(pilot)
        assert "Kept: your numbers are in use. G goes back" in told(pilot)
        assert kept(desk) is not None
        monkeypatch.setattr(desk.repository, "graded", graded)
        await pilot.press("g")
        await settled(pilot)
        assert "The usual numbers are in use." in told(pilot)
    assert kept(desk) is None
    assert desk.memory.numbers == MemoryModel().numbers
    assert desk.repository.memories(desk.taster.id) == before


async def test_numbers_that_foretell_no_better_are_shown_and_not_kept(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    no_better = replace(FOUND, own=Judged(0.395, 0.05))
    monkeypatch.setattr(screen_of_progress, "fit_taster", lambda *_: no_better)
    async with opened(desk, progress_screen) as pilot:
        await pilot.press("f")
        await settled(pilot)
        assert "usual numbers  log loss 0.4000" in told(pilot)
        assert "your numbers   log loss 0.3950" in told(pilot)
        assert "Not kept" in told(pilot)


async def test_each_step_is_shown_while_the_fit_runs_and_a_second_one_is_not_begun(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown: list[str] = []
    begun: list[Desk] = []

    def slowly(at: Desk, say: Callable[[Step], None]) -> Fit:
        begun.append(at)
        for nth, words in enumerate(STEPS, 1):
            say(Step(nth, len(STEPS), words))
            app.call_from_thread(lambda: shown.append(told(pilot)))
            app.call_from_thread(app.screen.action_fit)
        return FOUND

    monkeypatch.setattr(screen_of_progress, "fit_taster", slowly)
    async with opened(desk, progress_screen) as pilot:
        app = pilot.app
        await settled(pilot)
        await pilot.press("f")
        await settled(pilot)
        assert not pilot.app.screen.query_one(FitPart).running
    assert len(begun) == 1
    for nth, (text, words) in enumerate(zip(shown, STEPS, strict=True), 1):
        assert f"step {nth} of {len(STEPS)}: {words}" in text


async def test_too_few_answers_are_said_and_nothing_changes(desk: Desk) -> None:
    async with opened(desk, progress_screen) as pilot:
        await pilot.press("f")
        await settled(pilot)
        assert told(pilot).startswith("Not fitted: too few answers to learn from")
    assert kept(desk) is None


async def test_without_the_extra_one_sentence_says_what_to_install(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(fit_part, "available", lambda: False)

    def refuse(*_: object) -> Fit:
        raise NotPossibleError(f"this needs an extra: {how_to_add('fit')}")

    monkeypatch.setattr(screen_of_progress, "fit_taster", refuse)
    async with opened(desk, progress_screen) as pilot:
        await settled(pilot)
        assert told(pilot).endswith(f"install the extra: {how_to_add('fit')}")
        await pilot.press("f")
        await settled(pilot)
        assert "pip install '.[fit]'" in told(pilot)


async def test_numbers_kept_earlier_are_shown_with_how_they_were_judged(
    desk: Desk, watch: Watch
) -> None:
    practised(desk, watch)
    keep(desk, FOUND)
    async with opened(desk, progress_screen) as pilot:
        await settled(pilot)
        assert "Your own numbers are in use; G goes back" in told(pilot)
        assert "gained 0.1000, standard error 0.0200" in told(pilot)
