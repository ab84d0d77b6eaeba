"""The profile page: every fact of the table in words, with its basis, and the laterals."""

from __future__ import annotations

from dataclasses import replace

import pytest
from textual.pilot import Pilot
from textual.widgets import Static

from cards.cellar import FARTHEST
from cards.scale import LevelRange, Typical
from drills.screens.compare import CompareScreen
from drills.screens.profile import LateralLine, ProfileScreen
from drills.screens.widgets.fact_sheet import FactSheet, scale
from drills.service.desk import Desk
from drills.service.profile import MOST_LATERALS, profile_view
from tests.screens.sitting import until
from tests.screens.terminal import LEAST, SIZES, USUAL, WIDE, current, opened, seen

WINE = "riesling-clare"


def page(pilot: Pilot[int]) -> ProfileScreen:
    """The profile page, on top."""
    return current(pilot, ProfileScreen)


def told(pilot: Pilot[int]) -> str:
    """Everything on the page, seen or not, in single blanks."""
    parts = [str(one.content) for one in page(pilot).query(Static)]
    return " ".join(" ".join(parts).split())


def test_every_fact_of_every_wine_is_on_its_page(desk: Desk) -> None:
    for key, profile in desk.table.profiles.items():
        view = profile_view(desk, key)
        facts = [fact for section in view.sections for fact in section.facts]
        words = "\n".join(f"{fact.label} {fact.words}" for fact in facts)
        for expected in (
            profile.rim,
            profile.ageing,
            f"{profile.alcohol}% vol",
            profile.sugar_class,
            f"{profile.sugar} g/L",
            profile.region,
            profile.country,
            profile.climate,
            profile.vessel,
            profile.quality,
            f"{profile.window} years",
        ):
            assert expected in words, (key, expected)
        levels = {fact.label: fact.levels for fact in facts if fact.levels}
        assert levels == {**profile.structure, "depth": profile.depth}
        noted = {note.name: note.typical for fact in facts for note in fact.notes}
        lexicon = desk.table.lexicon
        assert noted == {lexicon.name_of(k): how for k, how in profile.descriptors.items()}
        for grape in profile.grapes:
            assert desk.table.names.grapes[grape].name in words
        # Every basis that a fact names is explained.
        for fact in facts:
            for basis in [note.basis for note in fact.notes] or [fact.basis]:
                assert view.sources[basis]
        assert set(profile.bases.values()) <= view.sources.keys()


def test_families_come_strongest_first_and_what_is_never_met_last(desk: Desk) -> None:
    order = list(Typical)
    for key in desk.table.profiles:
        nose = next(s for s in profile_view(desk, key).sections if s.title == "nose")
        best = [min(order.index(note.typical) for note in fact.notes) for fact in nose.facts]
        assert best == sorted(best)


def test_what_a_wine_is_known_for_has_its_cause_beside_it(desk: Desk) -> None:
    for key, profile in desk.table.profiles.items():
        names = {desk.table.lexicon.name_of(k): k for k in profile.descriptors}
        for section in profile_view(desk, key).sections:
            for note in (note for fact in section.facts for note in fact.notes):
                cause = desk.table.cause_of(names[note.name], key)
                signature = note.typical is Typical.SIGNATURE
                assert note.because == (cause.because if cause and signature else "")


def test_laterals_are_named_first_each_group_nearest_first(desk: Desk) -> None:
    for key, profile in desk.table.profiles.items():
        near = profile_view(desk, key).laterals
        assert len(near) <= MOST_LATERALS
        named = [one for one in near if one.named]
        assert {one.wine for one in named} <= set(profile.laterals)
        assert near[: len(named)] == tuple(named)
        for group in (named, [one for one in near if not one.named]):
            gaps = [one.separation_db for one in group]
            assert gaps == sorted(gaps)
        for one in near:
            assert one.separation_db == round(desk.cellar.separation(key, one.wine), 2)
            # What no trader takes for the wine and lies far off is not called near.
            assert one.named or one.separation_db <= FARTHEST


def test_five_steps_show_a_range() -> None:
    assert scale(LevelRange.parse("low")) == "■ · · · ·"
    assert scale(LevelRange.parse("med to high")) == "· · ■ ■ ■"


@pytest.mark.parametrize("size", SIZES)
async def test_the_page_reads_the_same_on_every_terminal(desk: Desk, size: tuple[int, int]) -> None:
    async with opened(desk, lambda: ProfileScreen(WINE), size=size) as pilot:
        await pilot.pause()
        words = told(pilot)
        profile = desk.table.profiles[WINE]
        for expected in (profile.telling, "lime", "petrol", "11.5 to 12.8% vol", "laterals"):
            assert expected in words
        assert all(len(line) <= size[0] for line in seen(pilot).splitlines())
        two_columns = [line for line in seen(pilot).splitlines() if "sight" in line]
        assert ("palate" in two_columns[0]) == (size == WIDE)
        for sheet in page(pilot).query(FactSheet):
            assert all(len(line) <= sheet.size.width for line in str(sheet.content).splitlines())


async def test_the_column_of_bases_comes_and_goes(desk: Desk) -> None:
    async with opened(desk, lambda: ProfileScreen(WINE)) as pilot:
        await pilot.pause()
        before = told(pilot)
        citation = desk.table.sources["sacks-2012"].citation
        sources = page(pilot).query_one("#sources", Static)
        assert not sources.display
        await pilot.press("b")
        await pilot.pause()
        assert sources.display
        assert citation in str(sources.content)
        sheet = next(s for s in page(pilot).query(FactSheet) if s.section.title == "nose")
        line = next(text for text in str(sheet.content).splitlines() if "petrol, " in text)
        mark = line.split()[-1]
        assert f"{mark}  {citation}" in str(sources.content)
        await pilot.press("b")
        await pilot.pause()
        assert told(pilot) == before
        assert not sources.display


@pytest.mark.parametrize("size", [USUAL, LEAST])
async def test_a_lateral_opens_the_comparison_by_key_number_and_mouse(
    desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(desk, lambda: ProfileScreen(WINE), size=size) as pilot:
        near = profile_view(desk, WINE).laterals

        async def compared(with_place: int) -> None:
            comparison = current(pilot, CompareScreen).comparison
            assert comparison is not None
            assert (comparison.left, comparison.right) == (WINE, near[with_place].wine)
            await pilot.press("escape")

        await pilot.press("l", "enter")
        await compared(0)
        await pilot.press("l", "down", "down", "up", "enter")
        await compared(1)
        await pilot.press("3")
        await compared(2)
        line = list(page(pilot).query(LateralLine))[3]
        line.scroll_visible(animate=False)
        await pilot.pause()
        await pilot.click(line)
        await compared(3)


async def test_the_arrows_scroll_the_page(desk: Desk) -> None:
    async with opened(desk, lambda: ProfileScreen(WINE), size=LEAST) as pilot:
        scroll = page(pilot).query_one("#page")
        assert scroll.has_focus
        await pilot.press("end")
        await until(pilot, lambda: scroll.scroll_y == scroll.max_scroll_y > 0)


async def test_a_changed_fact_is_on_the_page_when_the_taster_comes_back(desk: Desk) -> None:
    async with opened(desk, lambda: ProfileScreen(WINE)) as pilot:
        await pilot.press("b", "1")
        profiles = dict(desk.table.profiles)
        profiles[WINE] = replace(profiles[WINE], telling="Changed [b]by[/b] the taster.")
        desk.table = replace(desk.table, profiles=profiles)
        await pilot.press("escape")
        await pilot.pause()
        assert "Changed [b]by[/b] the taster." in seen(pilot)
        assert page(pilot).query_one("#page").has_focus
        await pilot.press("2")
        current(pilot, CompareScreen)
