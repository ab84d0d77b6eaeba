"""The daily backups on the screen: made beside the drill, listed, and put back by a key."""

from __future__ import annotations

import shutil
import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.screen import Screen

from drills.errors import DatabaseCorrupt
from drills.screens import opening
from drills.screens.app import CrosspourApp
from drills.screens.backups import BackupsScreen
from drills.screens.home import HomeScreen
from drills.screens.widgets.key_line import KeyLine
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.keeping_safe import back_up_now, backups, keep_safe
from tests.desks import Watch, answer_all
from tests.screens.terminal import SIZES, current, notices, opened, seen, settled, text_of


@pytest.fixture
def answering(desk: Desk) -> Desk:
    """A desk with three answers and a backup of them, and two answers more."""
    session = DrillSession(desk, 600)
    answer_all(session, 3)
    back_up_now(desk)
    answer_all(session, 2)
    return desk


def answers(desk: Desk) -> int:
    drills = desk.repository.drills(desk.taster.id)
    return sum(len(desk.repository.answers_of_drill(one.id)) for one in drills)


def damage(home: Path) -> None:
    (home / "crosspour.sqlite3").write_bytes(b"\0" * 20_000)


async def told(pilot: Pilot[int], words: str) -> None:
    await settled(pilot)
    assert words in " ".join(text_of(pilot, "#told").split())


async def test_the_foot_offers_to_put_one_back_only_where_there_is_one(desk: Desk) -> None:
    async with opened(desk, BackupsScreen) as pilot:
        await told(pilot, "There is no backup")
        foot = current(pilot, BackupsScreen).query_one(KeyLine)
        assert "put back" not in foot.text
        await pilot.press("b")
        await told(pilot, "R puts the backup")
        assert "put back" in foot.text


@pytest.mark.parametrize("size", SIZES)
async def test_the_list_says_what_each_backup_holds(
    answering: Desk, watch: Watch, size: tuple[int, int]
) -> None:
    watch.next_morning()
    back_up_now(answering)
    async with opened(answering, lambda: HomeScreen(), size=size) as pilot:
        await pilot.press("b")
        await settled(pilot)
        text = seen(pilot)
        rows = [line.split() for line in text.splitlines() if line.strip().startswith("2026-")]
        assert [(row[0], row[3], row[4]) for row in rows] == [
            ("2026-03-03", "5", "0"),
            ("2026-03-02", "3", "0"),
        ]
        assert "R puts the backup" in text
        await pilot.press("escape")
        current(pilot, HomeScreen)


async def test_a_backup_is_put_back_after_asking_once(answering: Desk, home: Path) -> None:
    async with opened(answering, lambda: BackupsScreen()) as pilot:
        await settled(pilot)
        await pilot.press("r")
        await told(pilot, "Go back to 2026-03-02, with 3 answers and 0 pours?")
        assert answers(answering) == 5
        await pilot.press("r")
        await pilot.pause()
        current(pilot, HomeScreen)
        assert answers(answering) == 3
        kept = home / "crosspour.replaced.sqlite3"
        assert any(str(kept) in notice for notice in notices(pilot))
        with closing(sqlite3.connect(kept)) as reader:
            assert reader.execute("SELECT count(*) FROM answer").fetchone() == (5,)


async def test_a_backup_made_by_the_key_joins_the_list(answering: Desk) -> None:
    async with opened(answering, lambda: BackupsScreen()) as pilot:
        await settled(pilot)
        await pilot.press("b")
        await settled(pilot)
        assert [one.answers for one in current(pilot, BackupsScreen).backups] == [5, 3]


async def test_a_damaged_backup_is_not_put_back(answering: Desk) -> None:
    (made,) = backups(answering)
    made.file.write_bytes(made.file.read_bytes()[:20_000])
    async with opened(answering, lambda: BackupsScreen()) as pilot:
        await settled(pilot)
        assert "cannot be put back" in seen(pilot)
        await pilot.press("r")
        await told(pilot, "damaged")
        await pilot.press("r")
        current(pilot, BackupsScreen)
        assert answers(answering) == 5


def run_by(
    monkeypatch: pytest.MonkeyPatch, act: Callable[[Screen[None]], int]
) -> list[Screen[None]]:
    """Let the app show its first screen to `act` instead of running."""
    shown: list[Screen[None]] = []

    def run(app: CrosspourApp) -> int:
        shown.append(app._first())
        return act(shown[-1])

    monkeypatch.setattr(CrosspourApp, "run", run)
    return shown


async def test_a_damaged_database_opens_on_its_backups_and_one_key_mends_it(
    answering: Desk, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answering.close()
    damage(home)
    shown = run_by(monkeypatch, lambda _: 1)
    assert opening.run_home(answering) == 1
    (screen,) = shown
    assert isinstance(screen, BackupsScreen)
    monkeypatch.undo()
    async with opened(answering, lambda: BackupsScreen(screen.damage)) as pilot:
        await told(pilot, "damaged")
        await pilot.press("r", "r")
        await pilot.pause()
        current(pilot, HomeScreen)
        assert answers(answering) == 3
        assert (home / "crosspour.damaged.sqlite3").read_bytes() == b"\0" * 20_000


def test_a_damaged_database_without_a_backup_is_told_and_left(
    desk: Desk, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk.close()
    damage(home)
    shown = run_by(monkeypatch, lambda _: 0)
    with pytest.raises(DatabaseCorrupt, match="damaged"):
        opening.run_home(desk)
    assert shown == []


@pytest.mark.parametrize("size", SIZES)
async def test_damage_met_by_the_first_screen_stays_on_it_and_b_leads_to_the_backups(
    answering: Desk, home: Path, size: tuple[int, int]
) -> None:
    answering.close()
    # Damage of which opening the file sees nothing.
    with closing(sqlite3.connect(home / "crosspour.sqlite3")) as reader:
        pages = reader.execute("SELECT rootpage FROM sqlite_master WHERE tbl_name = 'contrast'")
        at = [(page - 1) * 4096 for (page,) in pages]
    with (home / "crosspour.sqlite3").open("r+b") as stream:
        for place in at:
            stream.seek(place)
            stream.write(bytes(4096))
    async with opened(answering, lambda: HomeScreen(), size=size) as pilot:
        said = " ".join(text_of(pilot, "#waiting").split())
        assert "is damaged" in said
        assert "B the backups" in said
        await pilot.press("b", "r", "r")
        await settled(pilot)
        current(pilot, HomeScreen)
        assert answers(answering) == 3
        assert "cards due today" in text_of(pilot, "#waiting")


async def test_leaving_a_damaged_database_leaves_the_program(answering: Desk) -> None:
    async with opened(answering, lambda: BackupsScreen("it is damaged")) as pilot:
        await settled(pilot)
        await pilot.press("escape")
        await pilot.pause()
        assert pilot.app.return_code == 1


async def test_a_drill_whose_database_is_damaged_ends_on_the_backups(
    answering: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    def damaged(*_: object) -> None:
        raise DatabaseCorrupt("it is damaged")

    async with opened(answering) as pilot:
        monkeypatch.setattr(answering.repository, "end_drill", damaged)
        await pilot.press("escape")
        await told(pilot, "it is damaged")
        await pilot.press("r", "r")
        await pilot.pause()
        current(pilot, HomeScreen)
        assert answers(answering) == 3


# ---- by themselves


async def test_the_days_backup_is_made_beside_the_first_card(
    answering: Desk, watch: Watch, monkeypatch: pytest.MonkeyPatch
) -> None:
    watch.next_morning()
    done = threading.Event()
    monkeypatch.setattr(CrosspourApp, "KEEP_SAFE_AFTER", 0.001)
    real = CrosspourApp._back_up

    def back_up(app: CrosspourApp) -> None:
        real(app)
        done.set()

    monkeypatch.setattr(CrosspourApp, "_back_up", back_up)
    async with opened(answering) as pilot:
        await pilot.pause()
        assert done.wait(20)
        assert [one.day.isoformat() for one in backups(answering)] == ["2026-03-03", "2026-03-02"]
        assert notices(pilot) == []


async def test_a_database_found_damaged_by_the_backup_is_told(
    answering: Desk, watch: Watch, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answering.close()
    file = home / "crosspour.sqlite3"
    with closing(sqlite3.connect(file)) as reader:
        query = "SELECT rootpage FROM sqlite_master WHERE name = 'ix_answer_counted'"
        page = reader.execute(query).fetchone()[0]
    content = bytearray(file.read_bytes())
    content[(page - 1) * 4096 : page * 4096] = b"\xa5" * 4096
    file.write_bytes(content)
    watch.next_morning()
    monkeypatch.setattr(CrosspourApp, "KEEP_SAFE_AFTER", 3600.0)
    async with opened(answering, lambda: HomeScreen()) as pilot:
        # As the timer would, in a thread that this test can wait for.
        thread = threading.Thread(target=pilot.app._back_up)  # type: ignore[attr-defined]
        thread.start()
        while thread.is_alive():
            await pilot.pause()
        await pilot.pause()
        (notice,) = notices(pilot)
        assert "is damaged" in notice
        assert "B on the first screen" in notice
    assert [one.problem for one in backups(answering)] == [""]


def test_no_backup_is_made_where_the_settings_say_so(
    answering: Desk, watch: Watch, home: Path
) -> None:
    watch.next_morning()
    (home / "settings.toml").write_text("backups = false\n", encoding="utf-8")
    assert keep_safe(Desk(clock=watch.clock)) is None
    (home / "settings.toml").unlink()
    assert keep_safe(Desk(clock=watch.clock)) is not None
    assert len(backups(answering)) == 2


def test_a_copied_folder_takes_its_backups_along(
    answering: Desk, home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answering.close()
    shutil.copytree(home, tmp_path / "other")
    monkeypatch.setenv("CROSSPOUR_HOME", str(tmp_path / "other"))
    moved = Desk(clock=answering.clock)
    assert [one.answers for one in backups(moved)] == [3]
