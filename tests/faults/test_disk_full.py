"""On a full disk every step says so, loses nothing, and works once there is room again.

The disk is a small tmpfs where the tests run as root and may mount one; elsewhere these tests are
skipped. What needs no mount, a limit on the size of files (RLIMIT_FSIZE), is tested everywhere.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from cards.cellar import Cellar
from cards.tables import Table
from drills.errors import DrillsError, StorageError
from drills.grading import Sureness
from drills.screens.drill import DrillScreen
from drills.screens.home import HomeScreen
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.intake import read, take_in
from drills.storage.backup import backup_folder
from drills.storage.engine import locate
from drills.storage.restore import restore_database
from drills.storage.rotation import back_up, inspect, named_backups
from drills.storage.upgrade import prepare_file, read_revision
from tests.cli.running import crosspour
from tests.desks import Watch, answer_all, mix_up, right_answer
from tests.screens.terminal import notices, opened, truth_key
from tests.storage.making import dump

OLD = Path(__file__).parents[1] / "storage" / "old" / "revision-0001.sqlite3"
FULL = "disk is full"


class SmallDisk:
    """A disk that can be filled up and cleared again."""

    def __init__(self, home: Path) -> None:
        self.home = home
        self._filling = home / "filling"

    def fill(self, *, leave: int = 0) -> None:
        """Leave so many bytes free."""
        free = shutil.disk_usage(self.home).free
        with self._filling.open("ab") as stream:
            left = free - leave
            try:
                while left > 0:
                    left -= stream.write(b"\0" * min(left, 65536))
                    stream.flush()
            except OSError:
                pass

    def clear(self) -> None:
        """Make room."""
        self._filling.unlink(missing_ok=True)


@pytest.fixture
def disk(copied: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[SmallDisk]:
    """A furnished home on a disk of twelve megabytes."""
    place = tmp_path / "small"
    place.mkdir()
    mount = shutil.which("mount")
    made = mount and subprocess.run(
        [mount, "-t", "tmpfs", "-o", "size=12m", "tmpfs", str(place)],
        capture_output=True,
        check=False,
    )
    if not made or made.returncode != 0:
        pytest.skip("a small disk needs the right to mount one")
    try:
        home = place / "home"
        shutil.copytree(copied, home)
        monkeypatch.setenv("CROSSPOUR_HOME", str(home))
        yield SmallDisk(home)
    finally:
        subprocess.run(["umount", "-l", str(place)], check=True)


@pytest.fixture
def desk(disk: SmallDisk, watch: Watch, table: Table, cellar: Cellar) -> Iterator[Desk]:
    """A desk in that home."""
    desk = Desk(str(disk.home / "crosspour.sqlite3"), clock=watch.clock)
    desk.table, desk.cellar = table, cellar
    yield desk
    desk.close()


def answers(desk: Desk) -> int:
    drills = desk.repository.drills(desk.taster.id)
    return sum(len(desk.repository.answers_of_drill(one.id)) for one in drills)


def test_a_drill_goes_on_once_there_is_room_again(desk: Desk, disk: SmallDisk) -> None:
    session = DrillSession(desk, 600)
    answer_all(session, 3)
    disk.fill()
    # The log may have some room left from before.
    kept, said = 3, ""
    while not said and kept < 500:
        showing = session.next()
        assert showing is not None
        try:
            session.answer(right_answer(showing), Sureness.SURE, 5.0)
            kept += 1
        except StorageError as error:
            said = str(error)
    assert FULL in said
    assert answers(desk) == kept
    disk.clear()
    session.answer(right_answer(showing), Sureness.SURE, 5.0)
    assert answers(desk) == kept + 1
    assert session.end().answered == kept + 1


async def test_the_screen_says_so_and_going_on_tries_again(desk: Desk, disk: SmallDisk) -> None:
    async with opened(desk) as pilot:
        disk.fill()
        screen = pilot.app.screen
        assert isinstance(screen, DrillScreen)
        for _ in range(500):
            await pilot.press(truth_key(screen))
            if notices(pilot):
                break
            await pilot.press("space")
        assert FULL in notices(pilot)[0]
        answered, kept = screen.showing, answers(desk)
        assert screen.reveal is not None
        await pilot.press("space")
        assert screen.showing is answered
        disk.clear()
        await pilot.press("space")
        assert screen.showing is not answered
        assert answers(desk) == kept + 1


async def test_a_drill_can_be_left_though_the_disk_is_full(desk: Desk, disk: SmallDisk) -> None:
    async with opened(desk) as pilot:
        screen = pilot.app.screen
        assert isinstance(screen, DrillScreen)
        await pilot.press(truth_key(screen))
        disk.fill()
        for _ in range(500):
            if notices(pilot):
                break
            await pilot.press("space")
            await pilot.press(truth_key(screen))
        kept = answers(desk)
        await pilot.press("escape")
        assert "once more leaves" in notices(pilot)[-1]
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(pilot.app.screen, HomeScreen)
        disk.clear()
        assert answers(desk) == kept


def test_an_import_is_taken_whole_once_there_is_room_again(
    desk: Desk, disk: SmallDisk, tmp_path: Path
) -> None:
    mix_up(desk, "sauvignon-marlborough", "sauvignon-sancerre")
    file = tmp_path / "flights.csv"
    rows = [f"2026-02-{n % 28 + 1:02d},Barolo,Taurasi {n}" for n in range(4000)]
    file.write_text("\n".join(["date,called,was", *rows]), encoding="utf-8")
    disk.fill(leave=200_000)
    with read(desk, str(file)) as intake, pytest.raises(DrillsError, match=FULL):
        take_in(desk, intake)
    assert len(desk.repository.pours(desk.taster.id)) == 1
    disk.clear()
    with read(desk, str(file)) as intake:
        assert take_in(desk, intake).pours == 4000


def test_a_backup_leaves_those_there_are(desk: Desk, disk: SmallDisk) -> None:
    answer_all(DrillSession(desk, 600), 2)
    file = disk.home / "crosspour.sqlite3"
    back_up(file, date(2026, 3, 1))
    for leave in (0, 100_000, 1_000_000):
        disk.clear()
        disk.fill(leave=leave)
        with pytest.raises(StorageError, match=f"{FULL}|No space"):
            back_up(file, date(2026, 3, 2))
        assert [inspect(one).problem for one in named_backups(file)] == [""]
        assert not list(backup_folder(file).glob(".*.part*"))
    disk.clear()
    assert back_up(file, date(2026, 3, 2)) is not None


@pytest.mark.parametrize("leave", [0, 30_000, 100_000, 250_000])
def test_an_upgrade_leaves_the_file_as_it_was(disk: SmallDisk, leave: int) -> None:
    file = disk.home / "old.sqlite3"
    shutil.copyfile(OLD, file)
    before = dump(file)
    disk.fill(leave=leave)
    with pytest.raises(StorageError, match=f"{FULL}|No space"):
        prepare_file(locate(file))
    assert dump(file) == before
    assert read_revision(file) == "0001"
    disk.clear()
    prepare_file(locate(file))
    assert read_revision(file) != "0001"


def test_a_restore_leaves_the_database_as_it_was(desk: Desk, disk: SmallDisk) -> None:
    answer_all(DrillSession(desk, 600), 2)
    file = disk.home / "crosspour.sqlite3"
    made = back_up(file, date(2026, 3, 1))
    assert made is not None
    answer_all(DrillSession(desk, 600), 1)
    desk.close()
    disk.fill(leave=500_000)
    with pytest.raises(StorageError, match=f"{FULL}|No space"):
        restore_database(made.file, file)
    assert answers(desk) == 3
    desk.close()
    disk.clear()
    restore_database(made.file, file)
    assert answers(desk) == 2


def test_a_start_on_a_full_disk_is_one_clear_sentence_or_works(disk: SmallDisk) -> None:
    disk.fill()
    for command in (["weak"], ["backup"]):
        done = crosspour(disk.home, *command)
        assert "Traceback" not in done.stderr
        if done.returncode:
            assert done.returncode == 1
            assert FULL in done.stderr or "No space" in done.stderr
            assert done.stderr.count("\n") == 1
    disk.clear()
    assert crosspour(disk.home, "weak").returncode == 0


LIMITED = """
import resource, signal, sys
from pathlib import Path
from drills.errors import StorageError
from drills.storage.repository import open_repository
from tests.storage.making import answer, contrast, intake, memory, pour

repository = open_repository(sys.argv[1])
me = repository.taster().id
repository.keep_contrasts([contrast(n) for n in range(1, 40)], "f")
drill = repository.start_drill(me, 600).id
repository.record_answer(answer(me, 1, drill), memory(me, 1))
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
log = Path(sys.argv[1] + "-wal")
resource.setrlimit(resource.RLIMIT_FSIZE, (log.stat().st_size, resource.RLIM_INFINITY))
try:
    repository.record_pours(me, intake(), [pour(f"{n}") for n in range(3000)])
except StorageError as error:
    print("refused:", error)
print(len(repository.pours(me)), len(repository.answers_of_drill(drill)))
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
repository.record_pours(me, intake(), [pour(f"{n}") for n in range(3000)])
print(len(repository.pours(me)), len(repository.answers_of_drill(drill)))
"""


def test_a_file_that_may_not_grow_loses_the_last_step_only(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, str(tmp_path / "crosspour.sqlite3")],
        cwd=Path(__file__).parents[2],
        env={**os.environ},
        capture_output=True,
        text=True,
        check=True,
    )
    refused, after, then = done.stdout.splitlines()
    assert refused.startswith("refused:")
    assert "failed to read or write" in refused or FULL in refused
    assert after == "0 1"
    assert then == "3000 1"
