"""Home, weak pairs, adding a tasting, and whatever a taster may have typed in their names."""

from __future__ import annotations

import asyncio
import threading
from pathlib import Path

import pytest
from textual.screen import Screen
from textual.widgets import DataTable, Input, TextArea

from cards.cellar import Cellar
from cards.tables import Table
from drills.phrases import clock
from drills.screens.drill import DrillScreen
from drills.screens.home import HomeScreen
from drills.screens.intake import IntakeScreen
from drills.screens.summary import SummaryScreen
from drills.screens.weak import WeakScreen
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.resuming import left_over
from drills.service.weak import weak
from tests.desks import Watch, answer_all, mix_up
from tests.screens.terminal import (
    SIZES,
    current,
    drilling,
    notices,
    opened,
    refusing,
    seen,
    settled,
    text_of,
    truth_key,
)

NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")
FAR = ("aglianico-taurasi", "cabernet-napa")
LINES = """2026-02-27 Sancerre > Marlborough Sauvignon Blanc # passion fruit
2026-02-27 Barolo > Barolo
2026-02-27 Plonk of the house > Barolo"""


def home_screen() -> Screen[None]:
    return HomeScreen()


# ---- home


@pytest.mark.parametrize("size", SIZES)
async def test_the_first_screen_says_what_waits_and_how_to_begin(
    desk: Desk, size: tuple[int, int]
) -> None:
    mix_up(desk, *NEAR)
    async with opened(desk, home_screen, size=size) as pilot:
        text = " ".join(seen(pilot).split())
        confused = len(desk.repository.contrasts_of_pair(*NEAR))
        assert f"{confused} cards of pairs mixed up in a tasting" in text
        assert "0 cards due today" in text
        assert "contrasts unseen" in text
        assert "D start the drill" in text
        # Alcohol can hurt: the cautions stand here, and promise nothing of driving.
        assert "does not make driving safe" in text


async def test_the_first_screen_counts_one_card_as_one(desk: Desk, watch: Watch) -> None:
    async with opened(desk) as pilot:
        await pilot.press(truth_key(drilling(pilot)), "escape")
        await pilot.pause()
        current(pilot, SummaryScreen)
        watch.go_on(60 * 86_400)
        await pilot.press("enter")
        await pilot.pause()
        assert "1  card due today" in seen(pilot)


async def test_one_key_starts_the_drill(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await pilot.press("d")
        await pilot.pause()
        assert drilling(pilot).showing is not None


async def test_coming_back_the_first_screen_counts_anew(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        unseen = desk.repository.counts(desk.taster.id, desk.clock.today()).unseen
        assert f"{unseen:,}  contrasts unseen" in seen(pilot)
        await pilot.press("d")
        await pilot.pause()
        await pilot.press("a", "space", "a", "escape")
        await pilot.pause()
        current(pilot, SummaryScreen)
        await pilot.press("enter")
        await pilot.pause()
        current(pilot, HomeScreen)
        assert f"{unseen - 2:,}  contrasts unseen" in seen(pilot)
        assert "the next card is due tomorrow" in seen(pilot) or "due in" in seen(pilot)


async def test_a_drill_that_was_stopped_goes_on_from_its_summary_and_from_the_first_screen(
    desk: Desk, watch: Watch
) -> None:
    async with opened(desk, home_screen) as pilot:
        await pilot.press("r")
        await pilot.pause()
        current(pilot, HomeScreen)
        assert notices(pilot) == ["no drill was stopped today with time left"]
        await pilot.press("d")
        await pilot.pause()
        watch.go_on(240)
        await pilot.press("a", "escape")
        await pilot.pause()
        left = left_over(desk)
        assert 0 < left < 60 * desk.settings.minutes
        assert f"{clock(left)} are left of this drill" in seen(pilot)
        await pilot.press("r")
        await pilot.pause()
        assert drilling(pilot).session.left == pytest.approx(left)
        await pilot.press("a", "escape", "enter")
        await pilot.pause()
        current(pilot, HomeScreen)
        assert f"a drill stopped with {clock(left_over(desk))} left:  R  goes on" in seen(pilot)
        left = left_over(desk)
        await pilot.press("r")
        await pilot.pause()
        assert drilling(pilot).session.left == pytest.approx(left)
        # One that is left without an answer takes nothing away.
        await pilot.press("escape")
        await pilot.pause()
        assert left_over(desk) == left


async def test_a_drill_that_used_its_time_up_does_not_go_on(desk: Desk, watch: Watch) -> None:
    async with opened(desk) as pilot:
        for _ in range(desk.settings.minutes):
            watch.go_on(60)
            await pilot.press("a", "space")
        await pilot.pause()
        current(pilot, SummaryScreen)
        assert "go on" not in seen(pilot)
        await pilot.press("r")
        await pilot.pause()
        current(pilot, SummaryScreen)


async def test_a_drill_that_cannot_start_says_so_and_starts_at_the_next_try(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    monkeypatch.setattr(repository, "start_drill", refusing(1, repository.start_drill))
    async with opened(desk, home_screen) as pilot:
        await pilot.press("d")
        current(pilot, HomeScreen)
        assert notices(pilot) == ["another program is writing [to it]; try again in a moment"]
        await pilot.press("d")
        await pilot.pause()
        assert isinstance(pilot.app.screen, DrillScreen)


async def test_numbers_that_cannot_be_read_are_said_to_be_missing(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    monkeypatch.setattr(repository, "counts", refusing(1, repository.counts))
    async with opened(desk, home_screen) as pilot:
        current(pilot, HomeScreen)
        assert "is writing [to it]" in text_of(pilot, "#waiting")


async def test_one_key_leaves_the_program(desk: Desk) -> None:
    async with opened(desk, home_screen) as pilot:
        await pilot.press("q")
        await pilot.pause()
        assert not pilot.app.is_running


# ---- weak pairs


@pytest.mark.parametrize("size", SIZES)
async def test_weak_pairs_are_listed_the_most_costly_first(
    desk: Desk, size: tuple[int, int]
) -> None:
    mix_up(desk, *NEAR, times=3)
    mix_up(desk, *FAR, flight="Wednesday")
    expected = weak(desk)
    async with opened(desk, home_screen, size=size) as pilot:
        await pilot.press("w")
        await settled(pilot)
        screen = current(pilot, WeakScreen)
        table = screen.query_one(DataTable)
        rows = [[str(cell) for cell in table.get_row_at(n)] for n in range(table.row_count)]
        assert [row[1:5] for row in rows] == [
            [desk.short(p.called), desk.short(p.was), str(p.times), f"{p.rate:.0%}"]
            for p in expected
        ]
        assert desk.short(expected[0].was) in seen(pilot)
        await pilot.press("escape")
        current(pilot, HomeScreen)


async def test_the_pair_under_the_cursor_can_be_drilled(desk: Desk) -> None:
    mix_up(desk, *NEAR, times=3)
    mix_up(desk, *FAR, flight="Wednesday")
    async with opened(desk, home_screen) as pilot:
        await pilot.press("w")
        await settled(pilot)
        await pilot.press("down", "d")
        await pilot.pause()
        showing = drilling(pilot).showing
        assert showing is not None
        assert showing.question.contrast.pair == FAR


async def test_from_a_pairs_drill_the_way_leads_home(desk: Desk) -> None:
    mix_up(desk, *NEAR)
    async with opened(desk, home_screen) as pilot:
        await pilot.press("w")
        await settled(pilot)
        await pilot.press("d")
        await pilot.pause()
        await pilot.press(truth_key(drilling(pilot)), "escape")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        current(pilot, HomeScreen)


async def test_without_a_confusion_the_list_says_what_would_stand_there(desk: Desk) -> None:
    async with opened(desk, lambda: WeakScreen()) as pilot:
        await settled(pilot)
        assert "No confusion is logged yet" in seen(pilot)
        await pilot.press("d")
        current(pilot, WeakScreen)


async def test_a_log_that_cannot_be_read_says_so(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = desk.repository
    monkeypatch.setattr(repository, "reveals", refusing(1, repository.reveals))
    async with opened(desk, lambda: WeakScreen()) as pilot:
        await settled(pilot)
        assert "another program is writing [to it]" in text_of(pilot, "#head")


async def test_leaving_while_the_pairs_are_still_counted_is_no_trouble(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    counting, go_on = threading.Event(), threading.Event()
    reveals = desk.repository.reveals

    def slow(taster: int) -> object:
        counting.set()
        assert go_on.wait(10)
        return reveals(taster)

    mix_up(desk, *NEAR)
    monkeypatch.setattr(desk.repository, "reveals", slow)
    async with opened(desk, home_screen) as pilot:
        await pilot.press("w")
        assert await asyncio.to_thread(counting.wait, 10)
        await pilot.press("escape")
        current(pilot, HomeScreen)
        go_on.set()
        await settled(pilot)
        await pilot.press("d")
        await pilot.pause()
        assert isinstance(pilot.app.screen, DrillScreen)


# ---- adding a tasting


async def previewed(pilot: object) -> list[list[str]]:
    """The rows of the preview."""
    await settled(pilot)  # type: ignore[arg-type]
    table = pilot.app.screen.query_one(DataTable)  # type: ignore[attr-defined]
    return [[str(cell) for cell in table.get_row_at(n)] for n in range(table.row_count)]


@pytest.mark.parametrize("size", SIZES)
async def test_lines_are_shown_first_and_kept_only_when_told(
    desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(desk, home_screen, size=size) as pilot:
        await pilot.press("i")
        screen = current(pilot, IntakeScreen)
        screen.query_one(TextArea).text = LINES
        await pilot.press("f2")
        rows = await previewed(pilot)
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
    async with opened(desk, lambda: IntakeScreen()) as pilot:
        screen = current(pilot, IntakeScreen)
        for time in (1, 2):
            screen.query_one(Input).value = str(file)
            await pilot.press("enter" if time == 1 else "f2")
            rows = await previewed(pilot)
            assert any("mixed up" in row or "known already" in row for row in rows)
            await pilot.press("f3")
            await settled(pilot)
            assert len(desk.repository.confusions(desk.taster.id)) == 1
        assert "0 new pours" in text_of(pilot, "#told")


async def test_there_is_nothing_to_keep_before_it_was_shown(desk: Desk) -> None:
    async with opened(desk, lambda: IntakeScreen()) as pilot:
        current(pilot, IntakeScreen).query_one(TextArea).text = LINES
        await pilot.press("f3")
        assert "F2 reads and shows it first" in text_of(pilot, "#told")
        assert desk.repository.pours(desk.taster.id) == []


async def test_what_was_changed_after_the_preview_is_not_kept_unseen(desk: Desk) -> None:
    async with opened(desk, lambda: IntakeScreen()) as pilot:
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
    async with opened(desk, lambda: IntakeScreen()) as pilot:
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
    async with opened(desk, lambda: IntakeScreen()) as pilot:
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
    async with opened(desk, home_screen) as pilot:
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


# ---- square brackets


HOSTILE = "[red]Château [/] [b"


@pytest.fixture
def hostile(home: Path, watch: Watch) -> Desk:
    """A desk whose own profiles and log are full of what a terminal library reads as markup."""
    folder = home / "table" / "white"
    folder.mkdir(parents=True)
    for wine in NEAR:
        (folder / f"{wine}.toml").write_text(
            f'name = "{HOSTILE}{wine[10:]}"\nshort = "{HOSTILE}"\ntelling = "[/nope] {HOSTILE}"\n'
            f'[place]\nregion = "{HOSTILE}"\n',
            encoding="utf-8",
        )
    (home / "table" / "causes.toml").write_text(
        "".join(
            f'[[causes]]\ncue = "{cue}"\nwines = {list(NEAR)}\nbecause = "{HOSTILE}"\n'
            for cue in ("acid", "alcohol", "passion-fruit", "flint")
        ).replace("'", '"'),
        encoding="utf-8",
    )
    (home / "table" / "lexicon.toml").write_text(
        f'[descriptors.passion-fruit]\nname = "{HOSTILE}"\n', encoding="utf-8"
    )
    desk = Desk(clock=watch.clock)
    mix_up(desk, *NEAR, flight=HOSTILE)
    return desk


async def test_square_brackets_in_names_stand_as_they_are_on_every_screen(
    hostile: Desk, watch: Watch
) -> None:
    answer_all(DrillSession(hostile, 600, pair=NEAR), 3)
    watch.next_morning(9)
    async with opened(hostile, home_screen, size=(100, 40)) as pilot:
        await pilot.press("w")
        await settled(pilot)
        assert HOSTILE in seen(pilot)
        await pilot.press("d")
        await pilot.pause()
        screen = drilling(pilot)
        assert HOSTILE in seen(pilot)
        for _ in range(5):
            if pilot.app.screen is not screen:
                break
            assert screen.showing is not None
            if screen.showing.question.options:
                await pilot.press("1")
            await pilot.press("a", "w")
            await pilot.pause()
            assert HOSTILE in seen(pilot)
            await pilot.press("escape", "space")
        await pilot.press("escape")
        await pilot.pause()
        current(pilot, SummaryScreen)
    hostile.close()


async def test_square_brackets_in_a_tasting_stand_as_they_are(desk: Desk) -> None:
    async with opened(desk, lambda: IntakeScreen()) as pilot:
        area = current(pilot, IntakeScreen).query_one(TextArea)
        area.text = f"{HOSTILE} > Barolo # {HOSTILE}\n[/b] [link=x] > [@click=app.quit]x[/]\n[/]"
        await pilot.press("f2")
        rows = await previewed(pilot)
        assert f"? {HOSTILE}" in rows[0][2]
        assert HOSTILE in seen(pilot)
        await pilot.press("f3")
        await settled(pilot)
        kept = desk.repository.pours(desk.taster.id)
        assert kept[0].draft.called_text == HOSTILE


# ---- small terminals


@pytest.mark.parametrize("size", [(59, 20), (60, 19), (40, 10), (20, 5)])
async def test_below_sixty_by_twenty_a_notice_says_what_is_needed(
    desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(desk, size=size) as pilot:
        await pilot.pause()
        assert notices(pilot) == ["Too small: crosspour needs 60 columns and 20 lines."]
        # It still runs, and an answer is still kept.
        await pilot.press("a")
        assert drilling(pilot).reveal is not None


async def test_the_least_size_is_not_complained_of(desk: Desk) -> None:
    async with opened(desk, size=(60, 20)) as pilot:
        await pilot.pause()
        assert notices(pilot) == []


async def test_made_smaller_and_larger_the_program_says_so_once_each_time(desk: Desk) -> None:
    async with opened(desk) as pilot:
        for size, told in (((50, 15), 1), ((45, 15), 1), ((100, 30), 1), ((30, 30), 2)):
            await pilot.resize_terminal(*size)
            await pilot.pause()
            assert len(notices(pilot)) == told, size
        await pilot.resize_terminal(80, 24)
        await pilot.press("a")
        assert drilling(pilot).reveal is not None


async def test_a_card_stands_again_after_the_terminal_was_made_larger(desk: Desk) -> None:
    async with opened(desk, size=(60, 20)) as pilot:
        await pilot.press("a")
        await pilot.resize_terminal(200, 60)
        await pilot.pause()
        screen = drilling(pilot)
        assert screen.showing is not None
        for glass in (screen.showing.left, screen.showing.right):
            assert glass.name in seen(pilot)


# ---- a pair without a contrast


async def test_two_wines_that_nothing_tells_apart_are_said_to_be_so(
    home: Path, watch: Watch, table: Table, cellar: Cellar
) -> None:
    assert cellar.table is table
    shipped = Path(__file__).parents[2] / "cards" / "table" / "white" / "chardonnay-chablis.toml"
    own = home / "table" / "white" / "twin-chablis.toml"
    own.parent.mkdir(parents=True)
    text = shipped.read_text(encoding="utf-8").replace('"Chablis"', '"Twin"')
    own.write_text(text, encoding="utf-8")
    desk = Desk(clock=watch.clock)
    mix_up(desk, "twin-chablis", "chardonnay-chablis")
    async with opened(desk, home_screen) as pilot:
        await pilot.press("w")
        await settled(pilot)
        await pilot.press("d")
        await pilot.pause()
        current(pilot, WeakScreen)
        (told,) = notices(pilot)
        assert told.startswith("no cue of the table tells")
    desk.close()
