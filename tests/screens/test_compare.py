"""The comparison: the same cues, order and directions as the command, drawn to either side."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise

import pytest
from textual.pilot import Pilot
from textual.widgets import OptionList, Static

from cards.cellar import Cellar
from cards.scale import Typical
from drills.commands.printing import pair_json
from drills.screens.compare import CompareScreen
from drills.screens.dispute import DisputeScreen
from drills.screens.drill import DrillScreen
from drills.screens.home import HomeScreen
from drills.screens.reason import ReasonScreen
from drills.screens.summary import SummaryScreen
from drills.screens.weak import WeakScreen
from drills.screens.widgets.cue_line import BESIDE, NO_CAUSE, CueColumns, cue_line
from drills.screens.widgets.key_line import KeyLine
from drills.service.comparing import ComparedCue, compare
from drills.service.desk import Desk
from drills.service.wines import pair_view
from tests.desks import mix_up
from tests.screens.terminal import LEAST, SIZES, USUAL, WIDE, current, opened, seen, settled

NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")
BLOCKS = "█▏▎▍▌▋▊▉"
PAIRS = [
    NEAR,
    ("nebbiolo-barolo", "pinot-noir-burgundy"),
    ("riesling-clare", "port-vintage"),
    ("champagne-brut", "cava-brut"),
    ("chardonnay-chablis", "albarino-rias-baixas"),
]


def comparing(pilot: Pilot[int]) -> CompareScreen:
    """The comparison, on top."""
    return current(pilot, CompareScreen)


def near_screen() -> CompareScreen:
    return CompareScreen(*NEAR)


def rows(pilot: Pilot[int]) -> list[str]:
    """The first line of every cue, as drawn."""
    return [
        str(option.prompt).splitlines()[0]
        for option in comparing(pilot).query_one(OptionList).options
    ]


# ---- what it says


@pytest.mark.parametrize("pair", PAIRS, ids=" ".join)
@pytest.mark.parametrize("turned", [False, True])
def test_order_directions_and_weights_are_those_of_the_command(
    desk: Desk, pair: tuple[str, str], turned: bool
) -> None:
    left, right = pair[::-1] if turned else pair
    printed = json.loads(json.dumps(pair_json(pair_view(desk, *pair))))
    comparison = compare(desk, left, right)
    assert comparison.separation_db == printed["separation_db"]
    assert len(comparison.cues) == len(printed["cues"])
    for cue, line in zip(comparison.cues, printed["cues"], strict=True):
        assert cue.story.attribute == line["cue"]
        assert cue.story.words == line["reading"]
        assert cue.toward == line["toward"]
        assert cue.points_left == (line["toward"] == left)
        assert abs(cue.story.weight) == line["weight_db"]
        assert cue.story.basis == line["basis"]
    weights = [abs(cue.story.weight) for cue in comparison.cues]
    assert all(one >= other for one, other in pairwise(weights))


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("pair", PAIRS[:3], ids=" ".join)
async def test_every_cue_is_drawn_to_the_wine_it_points_to(
    desk: Desk, pair: tuple[str, str], size: tuple[int, int]
) -> None:
    async with opened(desk, lambda: CompareScreen(*pair), size=size) as pilot:
        printed = pair_view(desk, *pair).cues
        drawn = rows(pilot)
        assert len(drawn) == len(printed)
        columns = CueColumns.of(size[0] - 3)
        middle = columns.side + 2 + columns.half
        for line, cue in zip(drawn, printed, strict=True):
            assert line[middle] == "│", line
            left, right = line[:middle], line[middle + 1 :]
            bars = [
                side.strip(" ") and any(c in side for c in "█▏▎▍▌▋▊▉") for side in (left, right)
            ]
            assert bars == [cue.toward == pair[0], cue.toward == pair[1]], line
            side = left if cue.toward == pair[0] else right
            assert f"{cue.weight_db:.1f}" in side
            assert cue.reading[:10] in side
        names = seen(pilot).splitlines()[0]
        assert desk.short(pair[0]) in names[:middle]
        assert desk.short(pair[1]) in names[middle:]
        assert "db apart" in names


async def test_a_longer_bar_is_a_stronger_cue(desk: Desk) -> None:
    async with opened(desk, near_screen, size=WIDE) as pilot:
        lengths: dict[bool, list[int]] = {True: [], False: []}
        for line, cue in zip(rows(pilot), comparing(pilot).shown, strict=True):
            lengths[cue.points_left].append(sum(line.count(block) for block in BLOCKS))
        for found in lengths.values():
            assert found == sorted(found, reverse=True)
            assert found[0] > found[-1]


# ---- causes


@pytest.mark.parametrize("size", [USUAL, LEAST])
async def test_the_cause_stands_below_the_cue_under_the_cursor(
    desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(desk, near_screen, size=size) as pilot:
        options = comparing(pilot).query_one(OptionList)
        for place in range(4):
            told = [len(str(option.prompt).splitlines()) > 1 for option in options.options]
            assert told.index(True) == place
            assert sum(told) == 1
            cue = comparing(pilot).shown[place]
            shown = " ".join(seen(pilot).split())
            assert " ".join(cue.story.because.split()[:6]) in shown
            await pilot.press("down")
            await pilot.pause()


async def test_the_cause_stands_beside_the_cue_where_there_is_room(desk: Desk) -> None:
    async with opened(desk, near_screen, size=WIDE) as pilot:
        for line, cue in zip(rows(pilot), comparing(pilot).shown, strict=True):
            assert " ".join((cue.story.because or NO_CAUSE).split()[:6]) in line
        # It is not told twice.
        assert len(str(comparing(pilot).query_one(OptionList).options[0].prompt).splitlines()) == 1


async def test_enter_shows_the_full_reason_with_its_sources(desk: Desk) -> None:
    async with opened(desk, lambda: CompareScreen("riesling-clare", "cortese-gavi")) as pilot:
        screen = comparing(pilot)
        place = next(i for i, cue in enumerate(screen.shown) if cue.story.attribute == "petrol")
        screen.query_one(OptionList).highlighted = place
        await pilot.press("enter")
        panel = current(pilot, ReasonScreen)
        words = str(panel.query_one(Static).content)
        cue = screen.shown[place]
        cause = desk.table.cause_of("petrol", "riesling-clare")
        assert cause is not None
        assert cause.threshold
        for expected in (
            "petrol",
            f"{abs(cue.story.weight):.1f} db",
            cause.because,
            f"detected from: {cause.threshold}",
            f"met at: {cause.typical}",
            desk.table.sources[cause.basis].citation,
            desk.table.sources[cue.story.basis].citation,
        ):
            assert expected in words
        await pilot.press("escape")
        comparing(pilot)


async def test_every_cue_of_a_pair_has_a_reason_to_show(desk: Desk) -> None:
    async with opened(desk, near_screen) as pilot:
        for number in range(len(comparing(pilot).shown)):
            await pilot.press("w")
            words = str(current(pilot, ReasonScreen).query_one(Static).content)
            assert comparing_cue(desk, number).story.words in words
            assert "the fact rests on: " in words
            await pilot.press("escape", "down")


def comparing_cue(desk: Desk, number: int) -> ComparedCue:
    return compare(desk, *NEAR).cues[number]


# ---- keys


async def test_swap_turns_every_bar_and_nothing_else(desk: Desk) -> None:
    async with opened(desk, near_screen) as pilot:
        screen = comparing(pilot)
        before = [(cue.story.words, cue.story.weight, cue.toward) for cue in screen.shown]
        await pilot.press("down", "down", "s")
        await pilot.pause()
        after = [(cue.story.words, -cue.story.weight, cue.toward) for cue in screen.shown]
        assert after == before
        assert screen.query_one(OptionList).highlighted == 2
        names = seen(pilot).splitlines()[0]
        assert names.index("Sancerre") < names.index("Marlborough")
        await pilot.press("s")
        assert [(c.story.words, c.story.weight, c.toward) for c in screen.shown] == before


async def test_only_strong_cues_or_all(desk: Desk) -> None:
    async with opened(desk, near_screen) as pilot:
        screen = comparing(pilot)
        every = list(screen.shown)
        await pilot.press("o")
        assert screen.shown == [cue for cue in every if abs(cue.story.weight) >= 5]
        assert 0 < len(screen.shown) < len(every)
        assert f"the {len(screen.shown)} strong cues of {len(every)}" in seen(pilot)
        await pilot.press("o")
        assert screen.shown == every


async def test_two_wines_without_a_strong_cue_show_an_empty_list(desk: Desk) -> None:
    profiles = dict(desk.table.profiles)
    twin = replace(profiles[NEAR[0]], key="twin", short="[b]Twin[/b]")
    profiles["twin"] = twin
    desk.table = replace(desk.table, profiles=profiles)
    desk.cellar = Cellar(desk.table)
    desk.__dict__.pop("names", None)
    async with opened(desk, lambda: CompareScreen(NEAR[0], "twin")) as pilot:
        assert comparing(pilot).shown == []
        assert "0 cues" in seen(pilot)
        # Nothing is read as markup.
        assert "[b]Twin[/b]" in seen(pilot)
        await pilot.press("o", "enter", "w", "s", "down", "d")
        await pilot.pause()
        # No contrast tells them apart, which is said and ends nothing.
        comparing(pilot)


async def test_d_drills_the_pair_and_the_drill_ends_on_the_first_screen(desk: Desk) -> None:
    async with opened(desk, HomeScreen) as pilot:
        await pilot.press("t", "m", "down", "m")
        comparison = comparing(pilot).comparison
        assert comparison is not None
        await pilot.press("d")
        drill = current(pilot, DrillScreen)
        assert drill.showing is not None
        wines = {drill.showing.left.wine, drill.showing.right.wine}
        assert wines == {comparison.left, comparison.right}
        await pilot.press("escape")
        current(pilot, SummaryScreen)
        await pilot.press("escape")
        current(pilot, HomeScreen)
        assert len(pilot.app.screen_stack) <= 2


async def test_weak_pairs_open_the_comparison(desk: Desk) -> None:
    mix_up(desk, *NEAR)
    async with opened(desk, WeakScreen) as pilot:
        await settled(pilot)
        assert " c compare" in seen(pilot)
        await pilot.press("c")
        comparison = comparing(pilot).comparison
        assert comparison is not None
        assert (comparison.left, comparison.right) == NEAR
        await pilot.press("escape")
        current(pilot, WeakScreen)


async def test_weak_pairs_without_a_pair_compare_nothing(desk: Desk) -> None:
    async with opened(desk, WeakScreen) as pilot:
        await settled(pilot)
        await pilot.press("c")
        current(pilot, WeakScreen)


async def test_the_mouse_tells_why(desk: Desk) -> None:
    async with opened(desk, near_screen) as pilot:
        lines = seen(pilot).splitlines()
        words = comparing(pilot).shown[3].story.words
        number = next(n for n, line in enumerate(lines) if words in line)
        await pilot.click(offset=(lines[number].index(words), number))
        panel = current(pilot, ReasonScreen)
        assert words in str(panel.query_one(Static).content)


# ---- disputes


async def test_x_disputes_the_cue_under_the_cursor_and_it_is_weighed_anew(desk: Desk) -> None:
    async with opened(desk, near_screen) as pilot:
        screen = comparing(pilot)
        place = next(i for i, cue in enumerate(screen.shown) if cue.story.words == "passion fruit")
        assert screen.shown[place].points_left
        screen.query_one(OptionList).highlighted = place
        await pilot.press("x")
        current(pilot, DisputeScreen)
        await pilot.pause()
        assert "Of which wine?" in seen(pilot)
        # Marlborough; never; no reason.
        await pilot.press("1", "4", "enter")
        await settled(pilot)
        await pilot.pause()
        profile = desk.table.profiles[NEAR[0]]
        assert profile.descriptors["passion-fruit"] is Typical.NEVER
        assert profile.basis_of("passion-fruit") == "own"
        comparison = comparing(pilot).comparison
        assert comparison == compare(desk, *NEAR)
        assert comparison is not None
        assert "passion fruit" not in [cue.story.words for cue in comparison.cues]


async def test_escape_leaves_a_dispute_where_it_began(desk: Desk) -> None:
    async with opened(desk, near_screen) as pilot:
        before = comparing(pilot).comparison
        await pilot.press("x", "1", "escape", "escape")
        assert comparing(pilot).comparison == before


# ---- looks


@pytest.mark.parametrize("width", range(60, 201, 7))
def test_a_cue_fits_its_line_at_every_width(desk: Desk, width: int) -> None:
    columns = CueColumns.of(width)
    for cue in compare(desk, *PAIRS[2]).cues:
        for told in (False, True):
            lines = str(cue_line(cue, columns, told=told)).splitlines()
            assert max(map(len, lines)) <= width
            assert len(lines) == 1 or told
    assert (columns.cause > 0) == (width >= BESIDE)


@pytest.mark.parametrize("size", SIZES)
async def test_the_keys_stand_at_the_foot_of_every_terminal(
    desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(desk, near_screen, size=size) as pilot:
        foot = " ".join(" ".join(seen(pilot).splitlines()[-2:]).split())
        assert " ".join(pilot.app.screen.query_one(KeyLine).text.split()) in foot


async def test_another_size_shares_the_line_out_anew(desk: Desk) -> None:
    async with opened(desk, near_screen, size=LEAST) as pilot:
        await pilot.press("down", "down")
        await pilot.resize_terminal(*WIDE)
        await pilot.pause()
        assert comparing(pilot).query_one(OptionList).highlighted == 2
        assert comparing(pilot).shown[5].story.because[:20] in rows(pilot)[5]


async def test_a_changed_fact_is_weighed_anew(desk: Desk) -> None:
    async with opened(desk, near_screen) as pilot:
        before = comparing(pilot).comparison
        await pilot.press("enter")
        profiles = dict(desk.table.profiles)
        profiles[NEAR[0]] = replace(profiles[NEAR[0]], descriptors={})
        desk.table = replace(desk.table, profiles=profiles)
        desk.cellar = Cellar(desk.table)
        await pilot.press("escape")
        await pilot.pause()
        assert comparing(pilot).comparison == compare(desk, *NEAR) != before


async def test_a_wine_that_left_the_table_is_compared_no_more(desk: Desk) -> None:
    async with opened(desk, near_screen) as pilot:
        await pilot.press("enter")
        profiles = {key: wine for key, wine in desk.table.profiles.items() if key != NEAR[0]}
        desk.table = replace(desk.table, profiles=profiles)
        await pilot.press("escape")
        await pilot.pause()
        assert "The table no longer holds both wines." in seen(pilot)
        await pilot.press("d", "s", "o", "w", "enter", "down")
        assert comparing(pilot).shown == []
