"""The tray, earlier imports, and a preview of every kind of file."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from textual.screen import Screen
from textual.widgets import Input, ProgressBar, TextArea

from drills.screens.home import HomeScreen
from drills.screens.imports import ImportsScreen
from drills.screens.intake import IntakeScreen
from drills.screens.pick_wine import PickWineScreen
from drills.screens.tray import TrayScreen
from drills.service.desk import Desk
from drills.service.imports import imports
from drills.service.intake import MOST_SHOWN, read_lines, take_in
from drills.service.stock import cellar
from drills.service.tray import new_wine_command, set_lacking, waiting
from drills.storage.planned_records import StockRow
from tests.screens.terminal import SIZES, current, opened, refusing, rows_of, seen, settled, text_of
from tests.tastings.making import xlsx

LINES = """2026-02-27 Sancerre > Plonk of the house
2026-02-27 Riesling > Sancerre
2026-02-28 Riesling > riesling
2026-02-28 Barolo > Plonk of the House
2026-03-01 Barolo > PLONK of the house
"""
NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")


def tray_screen() -> Screen[None]:
    return TrayScreen()


@pytest.fixture
def waiting_desk(desk: Desk) -> Desk:
    """A desk with two names that wait, one of them near wines of the table."""
    with read_lines(desk, io.StringIO(LINES)) as intake:
        take_in(desk, intake)
    return desk


# ---- the tray


@pytest.mark.parametrize("size", SIZES)
async def test_names_are_grouped_with_their_pours_and_suggestions_have_numbers(
    waiting_desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(waiting_desk, lambda: HomeScreen(), size=size) as pilot:
        assert "with a name the table does not know:  Y" in seen(pilot)
        await pilot.press("y")
        screen = current(pilot, TrayScreen)
        assert await rows_of(pilot) == [
            ["3", "Plonk of the house  (and 2 other spellings)"],
            ["3", "Riesling  (and 1 other spelling)"],
        ]
        assert "nothing near it is in the table" in seen(pilot)
        await pilot.press("down")
        await pilot.pause()
        name = screen.names[1]
        for number, wine in enumerate(name.suggestions, 1):
            assert f" {number}   {waiting_desk.short(wine)}" in seen(pilot)
        await pilot.press("escape")
        current(pilot, HomeScreen)


async def test_one_key_picks_for_every_pour_that_waits_and_is_remembered(
    waiting_desk: Desk,
) -> None:
    desk = waiting_desk
    async with opened(desk, tray_screen) as pilot:
        screen = current(pilot, TrayScreen)
        wine = screen.names[1].suggestions[0]
        before = desk.repository.counts(desk.taster.id, desk.clock.today()).urgent
        await pilot.press("down", "1")
        await pilot.pause()
        assert [name.text for name in screen.names] == ["Plonk of the house"]
        assert f"“Riesling” is {desk.short(wine)} from now on, in 2 pours" in " ".join(
            text_of(pilot, "#head").split()
        )
        drafts = [one.draft for one in desk.repository.pours(desk.taster.id)]
        assert [one.called_wine for one in drafts if one.called_text == "Riesling"] == [wine, wine]
        assert [one.was_wine for one in drafts if one.was_text == "riesling"] == [wine]
        # The pair that it shows to be mixed up heads the next drill.
        assert desk.repository.counts(desk.taster.id, desk.clock.today()).urgent > before
    # Remembered: the next list needs no asking.
    with read_lines(desk, io.StringIO("RIESLING > Barolo")) as intake:
        assert len(take_in(desk, intake).unresolved) == 0


async def test_a_pick_can_be_taken_back(waiting_desk: Desk) -> None:
    desk = waiting_desk
    before = [one.draft for one in desk.repository.pours(desk.taster.id, full=True)]
    async with opened(desk, tray_screen) as pilot:
        screen = current(pilot, TrayScreen)
        await pilot.press("u")
        assert "Nothing was picked here yet" in text_of(pilot, "#head")
        await pilot.press("down", "2", "u")
        await pilot.pause()
        assert "waits again" in text_of(pilot, "#head")
        assert len(screen.names) == 2
    assert [one.draft for one in desk.repository.pours(desk.taster.id, full=True)] == before
    assert desk.repository.own_names(desk.taster.id) == []
    assert desk.names.resolve("Riesling").wine is None


async def test_any_other_wine_can_be_picked_by_typing(waiting_desk: Desk) -> None:
    desk = waiting_desk
    async with opened(desk, tray_screen) as pilot:
        await pilot.press("slash")
        await pilot.pause()
        current(pilot, PickWineScreen)  # type: ignore[type-var]
        await pilot.press(*"barol")
        await pilot.pause()
        await pilot.press("down", "up", "enter")
        await pilot.pause()
        screen = current(pilot, TrayScreen)
        assert [name.text for name in screen.names] == ["Riesling"]
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert len(current(pilot, TrayScreen).names) == 1
    was = [one.draft.was_wine for one in desk.repository.pours(desk.taster.id)]
    assert was.count("nebbiolo-barolo") == 3


async def test_a_wine_that_the_table_lacks_is_counted_and_can_be_added(
    waiting_desk: Desk,
) -> None:
    desk = waiting_desk
    async with opened(desk, tray_screen, size=(120, 30)) as pilot:
        screen = current(pilot, TrayScreen)
        await pilot.press("0")
        await pilot.pause()
        assert "crosspour table new plonk-of-the-house --like WINE" in seen(pilot)
        assert (await rows_of(pilot))[-1][1].startswith("not in the table: Plonk of the house")
        assert "1 name in 3 pours to be made clear; 1 not in the table" in seen(pilot)
        # Once more takes it back; what it is called stays.
        await pilot.press("down", "0")
        await pilot.pause()
        assert "waits again" in text_of(pilot, "#head")
        assert not any(name.lacking for name in screen.names)


def test_the_command_that_is_named_is_one_that_the_program_has(waiting_desk: Desk) -> None:
    from drills.cli import _parser

    for name in waiting(waiting_desk):
        command = new_wine_command(name, name.suggestions or ("nebbiolo-barolo",))
        options = _parser().parse_args(command.split()[1:])
        assert options.like in waiting_desk.table.profiles


def test_lacking_is_kept(waiting_desk: Desk) -> None:
    plonk = waiting(waiting_desk)[0]
    set_lacking(waiting_desk, plonk, True)
    assert [(name.text, name.lacking) for name in waiting(waiting_desk)] == [
        ("Riesling", False),
        ("Plonk of the house", True),
    ]


async def test_an_empty_tray_says_so_and_no_key_does_harm(desk: Desk) -> None:
    async with opened(desk, tray_screen) as pilot:
        assert "No name waits" in seen(pilot)
        await pilot.press("1", "0", "slash", "u", "down")
        await pilot.pause()
        current(pilot, TrayScreen)


async def test_a_tray_that_cannot_be_changed_says_so(
    waiting_desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = waiting_desk.repository
    monkeypatch.setattr(repository, "remember_name", refusing(1, repository.remember_name))
    async with opened(waiting_desk, tray_screen) as pilot:
        await pilot.press("down", "1")
        await pilot.pause()
        assert "Nothing was changed: another program" in " ".join(text_of(pilot, "#head").split())
        await pilot.press("1")
        await pilot.pause()
        assert len(current(pilot, TrayScreen).names) == 1


async def test_square_brackets_in_names_that_wait_stand_as_they_are(desk: Desk) -> None:
    with read_lines(desk, io.StringIO("[red]Plonk [/] [b > [@click=app.quit]x[/]")) as intake:
        take_in(desk, intake)
    async with opened(desk, tray_screen) as pilot:
        assert "[red]Plonk [/] [b" in seen(pilot)
        assert "“[@click=app.quit]x[/]” means" in seen(pilot)
        await pilot.press("0", "slash")
        await pilot.pause()
        assert "“[@click=app.quit]x[/]” is not in the table" in seen(pilot)
        assert "what “[red]Plonk [/] [b” means" in seen(pilot)


async def test_names_of_the_cellar_wait_there_too_and_are_picked_and_taken_back(
    desk: Desk,
) -> None:
    with read_lines(desk, io.StringIO("2026-02-27 Sancerre > Plonk of the house")) as intake:
        take_in(desk, intake)
    rows_of_cellar = [StockRow("plonk of the HOUSE"), StockRow("Riesling"), StockRow("Barolo")]
    desk.repository.change_stock(desk.taster.id, "list", rows_of_cellar)
    async with opened(desk, tray_screen) as pilot:
        screen = current(pilot, TrayScreen)
        assert await rows_of(pilot) == [
            ["1", "Plonk of the house  (and 1 other spelling)  (in the cellar)"],
            ["0", "Riesling  (in the cellar)"],
        ]
        assert "2 names in 1 pour and the cellar to be made clear" in seen(pilot)
        await pilot.press("down")
        await pilot.pause()
        wine = screen.names[1].suggestions[0]
        await pilot.press("1")
        assert f"is {desk.short(wine)} from now on, in the cellar." in seen(pilot)
        assert [row.wine for row in cellar(desk)] == [None, wine, "nebbiolo-barolo"]
        assert len(screen.names) == 1
        await pilot.press("u")
        assert [one.text for one in screen.names] == ["Plonk of the house", "Riesling"]
        assert [row.wine for row in cellar(desk)][1] is None


# ---- earlier imports


async def test_an_import_is_taken_back_by_one_key_pressed_twice(waiting_desk: Desk) -> None:
    desk = waiting_desk
    with read_lines(desk, io.StringIO("Chinon > Barolo")) as intake:
        take_in(desk, intake)
    async with opened(desk, lambda: IntakeScreen()) as pilot:
        await pilot.press("f5")
        current(pilot, ImportsScreen)
        assert [row[2] for row in await rows_of(pilot)] == ["1", "5"]
        await pilot.press("down", "u")
        assert "Take out the 5 pours of “typed”?" in " ".join(text_of(pilot, "#told").split())
        # Another line: what was asked no longer holds.
        await pilot.press("up", "down", "u")
        assert len(desk.repository.pours(desk.taster.id)) == 6
        await pilot.press("u")
        await pilot.pause()
        assert "5 pours of “typed” taken out" in text_of(pilot, "#told")
        assert len(desk.repository.pours(desk.taster.id)) == 1
        await pilot.press("u")
        assert "was taken back already" in text_of(pilot, "#told")
    assert [one.undone_at is None for one in imports(desk)] == [True, False]


async def test_without_an_import_the_list_says_so(desk: Desk) -> None:
    async with opened(desk, lambda: ImportsScreen()) as pilot:
        assert "Nothing was imported yet" in seen(pilot)
        await pilot.press("u", "u")
        current(pilot, ImportsScreen)


# ---- taking in


async def test_a_workbook_is_shown_with_what_was_noted(desk: Desk, tmp_path: Path) -> None:
    file = tmp_path / "flights.xlsx"
    sheet = [
        ["date", "called", "was", "acid", "descriptors", "vintage"],
        [45780, "Sancerre", "NZ Sauvignon Blanc", 4, "lime, no petrol", "???"],
        [45780, "Barolo", "Barolo", "zippy", None, "the nineties"],
    ]
    file.write_bytes(xlsx(sheet))
    async with opened(desk, lambda: IntakeScreen(), size=(100, 30)) as pilot:
        current(pilot, IntakeScreen).query_one(Input).value = str(file)
        await pilot.press("f2")
        found = await rows_of(pilot)
        assert [row[1] for row in found] == ["2025-05-03", "2025-05-03"]
        assert [row[4] for row in found] == ["mixed up; 3 noted", ""]
        assert "3 parts of notes kept as typed, such as “???” in row 2" in text_of(pilot, "#told")
        await pilot.press("f3")
        await settled(pilot)
        assert "Kept." in text_of(pilot, "#told")
    assert len(desk.repository.pours(desk.taster.id)) == 2


async def test_the_order_of_dates_is_one_key(desk: Desk) -> None:
    async with opened(desk, lambda: IntakeScreen()) as pilot:
        current(pilot, IntakeScreen).query_one(TextArea).text = "3/5/2025; Chablis > Barolo"
        await pilot.press("f2")
        assert "left out" in (await rows_of(pilot))[0][4]
        await pilot.press("f7")
        assert (await rows_of(pilot))[0][1] == "2025-05-03"
        await pilot.press("f7")
        assert (await rows_of(pilot))[0][1] == "2025-03-05"


async def test_a_long_file_shows_how_far_it_is_and_its_first_rows(
    desk: Desk, tmp_path: Path
) -> None:
    file = tmp_path / "long.csv"
    row = "2025-05-03,Chablis,Barolo," + "x" * 200 + "\n"
    file.write_text("date,called,was,note\n" + row * 3_000, encoding="utf-8")
    moved: list[float] = []
    async with opened(desk, lambda: IntakeScreen()) as pilot:
        screen = current(pilot, IntakeScreen)
        bar = screen.query_one(ProgressBar)
        screen.watch(bar, "progress", lambda share: moved.append(share), init=False)
        screen.query_one(Input).value = str(file)
        await pilot.press("f2")
        found = await rows_of(pilot)
        assert len(found) == MOST_SHOWN
        assert "3,000 new pours" in text_of(pilot, "#told")
        assert f"The first {MOST_SHOWN:,} rows are shown" in " ".join(
            text_of(pilot, "#told").split()
        )
        assert len(moved) > 15
        assert not screen.has_class("busy")
        moved.clear()
        await pilot.press("f3")
        await settled(pilot)
        assert len(moved) > 8
    assert len(desk.repository.pours(desk.taster.id)) == 3_000


async def test_from_the_preview_one_key_leads_to_the_tray(desk: Desk) -> None:
    async with opened(desk, lambda: IntakeScreen()) as pilot:
        current(pilot, IntakeScreen).query_one(TextArea).text = "Plonk > Barolo"
        await pilot.press("f2")
        await settled(pilot)
        await pilot.press("f3")
        await settled(pilot)
        await pilot.press("f6")
        await pilot.pause()
        assert [name.text for name in current(pilot, TrayScreen).names] == ["Plonk"]
