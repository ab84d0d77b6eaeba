"""The table screen: search, filters, marks, and from a wine to its profile and the comparison."""

from __future__ import annotations

import pytest
from textual.pilot import Pilot
from textual.widgets import DataTable, Input, OptionList

from drills.screens.choose import ChooseScreen
from drills.screens.compare import CompareScreen
from drills.screens.home import HomeScreen
from drills.screens.profile import ProfileScreen
from drills.screens.table import FilterWord, SearchLine, TableScreen
from drills.screens.widgets.key_line import KeyLine
from drills.service.browsing import Browser, Filters
from drills.service.desk import Desk
from tests.screens.terminal import LEAST, SIZES, USUAL, WIDE, current, notices, opened, seen

NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")


def on_table(pilot: Pilot[int]) -> TableScreen:
    """The table screen, on top."""
    return current(pilot, TableScreen)


async def write(pilot: Pilot[int], text: str) -> None:
    """Type into the search line, from wherever the taster is on the table."""
    await pilot.press("slash")
    for letter in text:
        await pilot.press("space" if letter == " " else letter)
    await pilot.pause()


def listed(pilot: Pilot[int]) -> list[str]:
    """What really stands in the list, line by line."""
    table = on_table(pilot).query_one(DataTable)
    return [str(table.get_row_at(row)[0]) for row in range(table.row_count)]


def line_of(pilot: Pilot[int], words: str) -> tuple[int, int]:
    """Where on the terminal some words stand: column and line."""
    for number, line in enumerate(seen(pilot).splitlines()):
        if words in line:
            return line.index(words), number
    raise AssertionError(f"{words} is not on the screen")


# ---- what is listed


@pytest.mark.parametrize("size", SIZES)
async def test_every_wine_is_listed_with_what_tells_it(desk: Desk, size: tuple[int, int]) -> None:
    async with opened(desk, TableScreen, size=size) as pilot:
        lines = listed(pilot)
        assert len(lines) == len(desk.table.profiles)
        shown = seen(pilot)
        assert f"{len(lines)} wines" in shown
        chablis = next(line for line in lines if line.strip().startswith("Chablis"))
        for words in ("Chablis", "white", "France", "12–13"):
            assert words in chablis
        assert ("green apple" in chablis) == (size != LEAST)
        assert ("Chardonnay" in chablis) == (size == WIDE)
        assert "Chablis" in shown
        assert all(len(line) <= size[0] for line in shown.splitlines())


async def test_home_opens_the_table_and_escape_returns(desk: Desk) -> None:
    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("t")
        on_table(pilot)
        await pilot.press("escape")
        current(pilot, HomeScreen)


# ---- search


@pytest.mark.parametrize("size", [USUAL, LEAST])
async def test_the_list_follows_every_letter(desk: Desk, size: tuple[int, int]) -> None:
    async with opened(desk, TableScreen, size=size) as pilot:
        await pilot.press("slash")
        typed = ""
        for letter in "nz sauv":
            typed += letter
            await pilot.press("space" if letter == " " else letter)
            screen = on_table(pilot)
            assert screen.wines == screen.browser.find(typed, Filters())
            assert len(listed(pilot)) == len(screen.wines)
        assert "Marlborough Sauvignon" in seen(pilot)
        assert f"1 of {len(desk.table.profiles)}" in seen(pilot)


@pytest.mark.parametrize("typed", ["spätburgunder", "petrol", "new world red coconut", "13.5"])
async def test_searching_finds_what_the_search_finds(desk: Desk, typed: str) -> None:
    async with opened(desk, TableScreen) as pilot:
        await write(pilot, typed)
        screen = on_table(pilot)
        found = screen.browser.search.find(typed)
        assert screen.wines == found
        shorts = [line[2:26].strip() for line in listed(pilot)]
        assert shorts == [desk.short(wine) for wine in found]


async def test_letters_are_letters_while_typing_and_commands_in_the_list(desk: Desk) -> None:
    async with opened(desk, TableScreen) as pilot:
        await write(pilot, "mc?/")
        screen = on_table(pilot)
        assert screen.query_one(Input).value == "mc?/"
        assert screen.marked is None
        await pilot.press("f8", "enter", "m")
        assert screen.marked is not None
        assert screen.query_one(Input).value == ""


async def test_enter_and_down_go_to_the_list_escape_too_and_then_back(desk: Desk) -> None:
    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("t")
        for key in ("enter", "down", "escape"):
            await write(pilot, "r")
            assert on_table(pilot).query_one(SearchLine).has_focus
            await pilot.press(key)
            assert on_table(pilot).query_one(DataTable).has_focus
        await pilot.press("escape")
        current(pilot, HomeScreen)


async def test_nothing_found_says_so_and_how_to_see_all_again(desk: Desk) -> None:
    async with opened(desk, TableScreen) as pilot:
        await pilot.press("f5")
        await write(pilot, "[b]zzq")
        words = " ".join(seen(pilot).split())
        assert "No wine of the table answers to “[b]zzq” with these filters. F8 shows all." in words
        await pilot.press("escape", "p", "m", "c")
        assert on_table(pilot).marked is None
        await pilot.press("f8")
        assert len(listed(pilot)) == len(desk.table.profiles)
        assert "No wine" not in seen(pilot)


async def test_the_cursor_goes_to_the_best_wine_and_stays_on_it_when_the_words_go(
    desk: Desk,
) -> None:
    async with opened(desk, TableScreen) as pilot:
        await write(pilot, "barolo")
        await pilot.press("enter", "f8")
        screen = on_table(pilot)
        row = screen.query_one(DataTable).cursor_row
        assert screen.wines[row] == "nebbiolo-barolo"
        await pilot.pause()
        assert "Barolo" in seen(pilot)


# ---- filters


async def test_style_and_world_go_round_by_their_keys(desk: Desk) -> None:
    async with opened(desk, TableScreen) as pilot:
        screen = on_table(pilot)
        every = list(screen.wines)
        met = []
        for _ in range(7):
            await pilot.press("f5")
            met.append(screen.filters.style)
            wines = desk.table.profiles.values()
            wanted = {w.key for w in wines if screen.filters.style in ("", w.style)}
            assert set(screen.wines) == wanted
        assert met == ["white", "rose", "red", "sparkling", "sweet", "fortified", ""]
        assert screen.wines == every
        await pilot.press("f6")
        assert {desk.table.profiles[wine].world for wine in screen.wines} == {"old"}
        assert "f6 old world" in seen(pilot)
        await pilot.press("f6")
        assert {desk.table.profiles[wine].world for wine in screen.wines} == {"new"}


async def test_a_country_a_grape_and_a_cue_are_chosen_from_a_list(desk: Desk) -> None:
    async with opened(desk, TableScreen) as pilot:
        screen = on_table(pilot)
        await pilot.press("f7")
        current(pilot, ChooseScreen)
        await pilot.press(*"aus", "down", "enter")
        assert screen.filters.country == "Austria"
        assert {desk.table.profiles[wine].country for wine in screen.wines} == {"Austria"}
        await pilot.press("f8", "f2", *"pinot n", "enter")
        assert screen.filters.grape == "pinot-noir"
        assert all("pinot-noir" in desk.table.profiles[wine].grapes for wine in screen.wines)
        await pilot.press("f8", "f3", *"petrol", "enter")
        assert screen.filters.cue == "petrol"
        assert screen.wines == screen.browser.find("", Filters(cue="petrol"))
        assert "f3 petrol" in seen(pilot)
        await pilot.press("f3")
        await pilot.pause()
        assert "any cue" in seen(pilot)
        await pilot.press("enter")
        assert screen.filters.cue == ""
        await pilot.press("f3", *"high acid", "enter")
        assert screen.filters.cue == "acid high"
        await pilot.press("f3", "escape")
        assert screen.filters.cue == "acid high"


async def test_filters_and_words_combine(desk: Desk) -> None:
    async with opened(desk, TableScreen) as pilot:
        await pilot.press("f5", "f6", "f6")
        await write(pilot, "riesling")
        screen = on_table(pilot)
        assert screen.wines
        for wine in screen.wines:
            profile = desk.table.profiles[wine]
            assert (profile.style, profile.world) == ("white", "new")
            assert "riesling" in profile.grapes


def test_a_filter_offers_only_what_leaves_a_wine(desk: Desk) -> None:
    browser = Browser(desk.table)
    filters = Filters(style="rose")
    for name in ("world", "country", "grape", "cue"):
        for choice in browser.choices(name, "", filters):
            one = Filters(**{"style": "rose", name: choice.key})
            assert len(browser.find("", one)) == choice.wines > 0
            assert choice.words
    assert browser.choices("style", "", filters) == browser.choices("style", "", Filters())


# ---- marks


async def test_marking_a_second_wine_compares_the_two(desk: Desk) -> None:
    async with opened(desk, TableScreen) as pilot:
        await write(pilot, "marlborough")
        await pilot.press("enter", "m")
        assert "● Marlborough Sauvignon" in seen(pilot)
        await pilot.press("f8")
        await write(pilot, "sancerre")
        await pilot.press("enter", "m")
        comparison = current(pilot, CompareScreen).comparison
        assert comparison is not None
        assert (comparison.left, comparison.right) == NEAR
        await pilot.press("escape")
        assert on_table(pilot).marked is None
        assert "●" not in seen(pilot)


async def test_c_compares_with_the_mark_and_asks_for_one_where_there_is_none(desk: Desk) -> None:
    async with opened(desk, TableScreen) as pilot:
        await pilot.press("c")
        assert notices(pilot) == ["Mark one wine, then go to another."]
        await pilot.press("m", "c")
        assert len(notices(pilot)) == 2
        await pilot.press("down", "c")
        current(pilot, CompareScreen)


async def test_a_mark_is_taken_back_by_the_same_key(desk: Desk) -> None:
    async with opened(desk, TableScreen) as pilot:
        await pilot.press("m")
        assert listed(pilot)[0].startswith("● ")
        await pilot.press("m")
        assert listed(pilot)[0].startswith("  ")
        assert on_table(pilot).marked is None


# ---- the mouse


@pytest.mark.parametrize("size", [USUAL, LEAST])
async def test_the_mouse_opens_a_wine_sets_a_filter_and_takes_the_search_line(
    desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(desk, TableScreen, size=size) as pilot:
        screen = on_table(pilot)
        at = line_of(pilot, "Chablis")
        await pilot.click(offset=at)
        assert screen.wines[screen.query_one(DataTable).cursor_row] == "chardonnay-chablis"
        await pilot.click(offset=at)
        assert current(pilot, ProfileScreen).wine == "chardonnay-chablis"
        await pilot.press("escape")
        await pilot.click("#filter-style")
        assert screen.filters.style == "white"
        await pilot.click("#filter-country")
        chooser = current(pilot, ChooseScreen)
        await pilot.click(offset=line_of(pilot, "Germany"))
        assert pilot.app.screen is screen
        assert not chooser.is_current
        assert screen.filters.country == "Germany"
        await pilot.click(SearchLine)
        assert screen.query_one(SearchLine).has_focus


# ---- looks


@pytest.mark.parametrize("theme", ["crosspour-dark", "crosspour-light"])
@pytest.mark.parametrize("size", SIZES)
async def test_the_table_stands_on_every_terminal(
    desk: Desk, size: tuple[int, int], theme: str
) -> None:
    async with opened(desk, TableScreen, size=size) as pilot:
        pilot.app.theme = theme
        await pilot.pause()
        foot = " ".join(" ".join(seen(pilot).splitlines()[-2:]).split())
        assert " ".join(pilot.app.screen.query_one(KeyLine).text.split()) in foot
        words = [str(one.content) for one in pilot.app.screen.query(FilterWord)]
        assert words == ["f5 style", "f6 world", "f7 country", "f2 grape", "f3 cue"]


async def test_another_size_shares_the_line_out_anew(desk: Desk) -> None:
    async with opened(desk, TableScreen, size=LEAST) as pilot:
        await pilot.press("down", "down")
        before = on_table(pilot).query_one(DataTable).cursor_row
        await pilot.resize_terminal(*WIDE)
        await pilot.pause()
        assert on_table(pilot).query_one(DataTable).cursor_row == before == 2
        assert "grapes" in seen(pilot)


async def test_a_changed_table_is_read_anew(desk: Desk) -> None:
    from dataclasses import replace

    async with opened(desk, TableScreen) as pilot:
        await pilot.press("m", "p")
        profiles = dict(desk.table.profiles)
        first = on_under(pilot)
        profiles[first] = replace(profiles[first], short="[red]Changed[/red]")
        desk.table = replace(desk.table, profiles=profiles)
        desk.__dict__.pop("cellar", None)
        await pilot.press("escape")
        await pilot.pause()
        # Nothing is read as markup, whatever a taster calls a wine.
        assert "[red]Changed[/red]" in seen(pilot)
        assert "● [red]Changed[/red]" in seen(pilot)


def on_under(pilot: Pilot[int]) -> str:
    """The wine whose profile is open."""
    return current(pilot, ProfileScreen).wine


async def test_the_list_to_choose_from_can_be_walked(desk: Desk) -> None:
    async with opened(desk, TableScreen) as pilot:
        await pilot.press("f7")
        options = current(pilot, ChooseScreen).query_one(OptionList)
        assert options.highlighted == 0
        await pilot.press("up")
        assert options.highlighted == 0
        await pilot.press("pagedown", "pagedown", "pagedown")
        assert options.highlighted == options.option_count - 1
        await pilot.press(*"qqq", "enter", "down")
        assert options.option_count == 0
        current(pilot, ChooseScreen)
