"""Adding a tasting: lines and files are shown first, and kept only when told."""

from __future__ import annotations

import asyncio
import threading
from pathlib import Path

import pytest
from textual.widgets import Input, TextArea

from drills.errors import DatabaseLocked
from drills.screens.drill import DrillScreen
from drills.screens.home import HomeScreen
from drills.screens.intake import IntakeScreen
from drills.service.desk import Desk
from tests.screens.logged import NEAR
from tests.screens.terminal import (
    SIZES,
    current,
    notices,
    opened,
    refusing,
    rows_of,
    seen,
    settled,
    text_of,
)

LINES = """2026-02-27 Sancerre > Marlborough Sauvignon Blanc # passion fruit
2026-02-27 Barolo > Barolo
2026-02-27 Plonk of the house > Barolo"""


@pytest.mark.parametrize("size", SIZES)
async def test_lines_are_shown_first_and_kept_only_when_told(
    desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(desk, HomeScreen, size=size) as pilot:
        await pilot.press("i")
        screen = current(pilot, IntakeScreen)
        screen.query_one(TextArea).text = LINES
        await pilot.press("f2")
        rows = await rows_of(pilot)
        assert [row[:4] for row in rows] == [
            ["1", "2026-02-27", "Sancerre", desk.short("sauvignon-marlborough")],
            ["2", "2026-02-27", "Barolo", "Barolo"],
            ["3", "2026-02-27", "? Plonk of the house", "Barolo"],
        ]
        assert [row[4] for row in rows] == ["mixed up", "", ""]
        told = text_of(pilot, "#told")
        assert "3 new pours, 1 confusion" in told
        assert "“Plonk of the house” is kept as typed" in told
        assert desk.repository.pours(desk.taster.id) == []
        await pilot.press("f3")
        await settled(pilot)
        assert len(desk.repository.pours(desk.taster.id)) == 3
        assert "Kept." in text_of(pilot, "#told")
        await pilot.press("escape")
        await pilot.pause()
        confused = len(desk.repository.contrasts_of_pair(*NEAR))
        assert f"{confused}  cards of pairs mixed up" in seen(pilot)
        assert "1 pour with a name the table does not know" in seen(pilot)
        await pilot.press("d")
        await pilot.pause()
        assert "mixed up in a tasting" in seen(pilot)


async def test_a_file_is_shown_and_kept_and_known_the_second_time(
    desk: Desk, tmp_path: Path
) -> None:
    file = tmp_path / "flights [1].csv"
    file.write_text("called,was\nSancerre,NZ Sauvignon Blanc\n,\nChablis,\n", encoding="utf-8")
    async with opened(desk, IntakeScreen) as pilot:
        screen = current(pilot, IntakeScreen)
        for time in (1, 2):
            screen.query_one(Input).value = str(file)
            await pilot.press("enter" if time == 1 else "f2")
            rows = await rows_of(pilot)
            assert any("mixed up" in row or "known already" in row for row in rows)
            await pilot.press("f3")
            await settled(pilot)
            assert len(desk.repository.confusions(desk.taster.id)) == 1
        assert "0 new pours" in text_of(pilot, "#told")


async def test_there_is_nothing_to_keep_before_it_was_shown(desk: Desk) -> None:
    async with opened(desk, IntakeScreen) as pilot:
        current(pilot, IntakeScreen).query_one(TextArea).text = LINES
        await pilot.press("f3")
        assert "F2 reads and shows it first" in text_of(pilot, "#told")
        assert desk.repository.pours(desk.taster.id) == []


async def test_what_was_changed_after_the_preview_is_not_kept_unseen(desk: Desk) -> None:
    async with opened(desk, IntakeScreen) as pilot:
        area = current(pilot, IntakeScreen).query_one(TextArea)
        area.text = LINES
        await pilot.press("f2")
        await settled(pilot)
        area.text = LINES.replace("Barolo > Barolo", "Chinon > Barolo")
        await pilot.pause()
        await pilot.press("f3")
        assert desk.repository.pours(desk.taster.id) == []


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "Give a file or some lines first"),
        ("no-such-file.csv", "there is no file"),
        ("/", "is a folder"),
        ("~nobody-of-this-name/flights.csv", "nobody-of-this-name"),
        ("x" * 300 + ".csv", "cannot be read"),
        ("[bold]odd[/name].csv", "there is no file “[bold]odd[/name].csv”"),
    ],
)
async def test_a_file_that_cannot_be_read_is_named_and_nothing_breaks(
    desk: Desk, typed: str, said: str
) -> None:
    async with opened(desk, IntakeScreen) as pilot:
        current(pilot, IntakeScreen).query_one(Input).value = typed
        await pilot.press("f2")
        await settled(pilot)
        assert said in text_of(pilot, "#told")
        current(pilot, IntakeScreen)


async def test_a_tasting_that_could_not_be_kept_can_be_kept_at_the_next_try(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    monkeypatch.setattr(repository, "record_pours", refusing(1, repository.record_pours))
    async with opened(desk, IntakeScreen) as pilot:
        current(pilot, IntakeScreen).query_one(TextArea).text = LINES
        await pilot.press("f2")
        await settled(pilot)
        await pilot.press("f3")
        await settled(pilot)
        assert text_of(pilot, "#told").startswith("Nothing was kept: another program")
        assert repository.pours(desk.taster.id) == []
        await pilot.press("f3")
        await settled(pilot)
        assert len(repository.pours(desk.taster.id)) == 3


async def test_leaving_while_a_file_is_still_read_is_no_trouble(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    reading, go_on = threading.Event(), threading.Event()
    known = desk.repository.known_pours

    def slow(*given: object) -> object:
        reading.set()
        assert go_on.wait(10)
        return known(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(desk.repository, "known_pours", slow)
    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("i")
        current(pilot, IntakeScreen).query_one(TextArea).text = LINES
        await pilot.press("f2")
        assert await asyncio.to_thread(reading.wait, 10)
        await pilot.press("escape")
        current(pilot, HomeScreen)
        go_on.set()
        await settled(pilot)
        await pilot.press("d")
        await pilot.pause()
        assert isinstance(pilot.app.screen, DrillScreen)


@pytest.mark.parametrize("locked", [False, True])
async def test_who_leaves_while_it_is_kept_is_told_what_came_of_it(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, locked: bool
) -> None:
    keeping, go_on = threading.Event(), threading.Event()
    known = desk.repository.known_pours

    def slow(*given: object) -> object:
        keeping.set()
        assert go_on.wait(10)
        if locked:
            raise DatabaseLocked("another program is writing [to it]")
        return known(*given)  # type: ignore[arg-type]

    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("i")
        current(pilot, IntakeScreen).query_one(TextArea).text = LINES
        await pilot.press("f2")
        await rows_of(pilot)
        monkeypatch.setattr(desk.repository, "known_pours", slow)
        await pilot.press("f3")
        await asyncio.to_thread(keeping.wait, 10)
        await pilot.press("escape")
        current(pilot, HomeScreen)
        go_on.set()
        for _ in range(200):
            await pilot.pause(0.01)
            if notices(pilot):
                break
        (told,) = notices(pilot)
        kept = len(desk.repository.pours(desk.taster.id))
        if locked:
            assert told == "Nothing was kept: another program is writing [to it]"
            assert kept == 0
        else:
            assert told.startswith("3 new pours, 1 confusion. Kept.")
            assert kept == 3


async def test_the_words_name_the_keys_that_the_taster_has_set(desk: Desk, home: Path) -> None:
    (home / "settings.toml").write_text('[keys]\npreview = "f11"\nkeep = "f12"\n', encoding="utf-8")
    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("i")
        assert text_of(pilot, "#told") == "F11 shows what each row becomes; F12 keeps it."
        current(pilot, IntakeScreen).query_one(TextArea).text = LINES
        await pilot.press("f12")
        assert "F11 reads and shows it first" in text_of(pilot, "#told")
        await pilot.press("f11")
        await rows_of(pilot)
        assert "F12 keeps this." in text_of(pilot, "#told")
