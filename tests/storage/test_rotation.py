"""Backups that make themselves: when, how many stay, and what a bad one may never cost."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.errors import DatabaseCorrupt, StorageError
from drills.storage.backup import backup_folder
from drills.storage.locks import turn
from drills.storage.repository import Repository
from drills.storage.rotation import (
    DAYS,
    MONTHS,
    WEEKS,
    Named,
    back_up,
    inspect,
    named_backups,
    newest_good,
    unwanted,
)
from tests.storage.making import answer, contrast, dump, memory

MONDAY = date(2026, 3, 2)


@pytest.fixture
def answering(repository: Repository, me: int) -> Repository:
    """A database with one answer, and contrasts for more."""
    repository.keep_contrasts([contrast(n) for n in range(1, 50)], "f")
    add_answer(repository, me, 1)
    return repository


def add_answer(repository: Repository, me: int, number: int) -> None:
    drill = repository.start_drill(me, 600)
    repository.record_answer(answer(me, number, drill.id), memory(me, number))


def names(file: Path) -> list[str]:
    return [one.file.name for one in named_backups(file)]


def test_a_day_with_new_answers_gets_one_backup(answering: Repository, file: Path, me: int) -> None:
    made = back_up(file, MONDAY, only_if_new=True)
    assert made is not None
    assert (made.answers, made.pours, made.problem) == (1, 0, "")
    assert dump(made.file) == dump(file)
    add_answer(answering, me, 2)
    assert back_up(file, MONDAY, only_if_new=True) is None
    assert back_up(file, MONDAY + timedelta(1), only_if_new=True) is not None
    # Nothing was answered since.
    assert back_up(file, MONDAY + timedelta(2), only_if_new=True) is None
    assert names(file) == ["crosspour.2026-03-03.sqlite3", "crosspour.2026-03-02.sqlite3"]


def test_an_empty_database_is_not_backed_up_by_itself(repository: Repository, file: Path) -> None:
    repository.taster()
    assert back_up(file, MONDAY, only_if_new=True) is None
    assert not backup_folder(file).exists()


def test_a_backup_that_is_asked_for_never_replaces_another(
    answering: Repository, file: Path, me: int
) -> None:
    first = back_up(file, MONDAY)
    add_answer(answering, me, 2)
    second = back_up(file, MONDAY)
    assert first is not None
    assert second is not None
    assert [inspect(one).answers for one in named_backups(file)] == [2, 1]


def test_a_damaged_database_costs_no_backup(answering: Repository, file: Path) -> None:
    for day in range(3):
        back_up(file, MONDAY + timedelta(day))
    answering.close()
    content = bytearray(file.read_bytes())
    content[5 * 4096 :] = b"\xa5" * (len(content) - 5 * 4096)
    file.write_bytes(content)
    before = names(file)
    with pytest.raises(DatabaseCorrupt, match="is damaged"):
        back_up(file, MONDAY + timedelta(9))
    assert names(file) == before
    assert [inspect(one).problem for one in named_backups(file)] == ["", "", ""]
    assert [path for path in backup_folder(file).iterdir() if ".part" in path.name] == []


@pytest.mark.usefixtures("answering")
def test_a_backup_that_cannot_be_written_costs_no_backup(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for day in range(DAYS + 3):
        back_up(file, MONDAY + timedelta(day))
    before = names(file)

    def full(*_: object, **__: object) -> None:
        raise StorageError("the disk is full")

    monkeypatch.setattr("drills.storage.rotation.copy_database", full)
    with pytest.raises(StorageError, match="disk is full"):
        back_up(file, MONDAY + timedelta(30))
    assert names(file) == before


@pytest.mark.usefixtures("answering")
def test_a_damaged_backup_is_passed_over_and_made_again(file: Path) -> None:
    back_up(file, MONDAY)
    newer = back_up(file, MONDAY + timedelta(1))
    assert newer is not None
    newer.file.write_bytes(newer.file.read_bytes()[:20_000])
    good = newest_good(file)
    assert good is not None
    assert good.day == MONDAY
    assert "damaged" in inspect(named_backups(file)[0]).problem
    # Tuesday's holds nothing, so Wednesday asks what Monday's holds: as much as there is.
    assert back_up(file, MONDAY + timedelta(2), only_if_new=True) is None


@pytest.mark.usefixtures("answering")
def test_a_backup_of_another_program_or_a_later_version_is_not_sound(file: Path) -> None:
    back_up(file, MONDAY)
    with closing(sqlite3.connect(named_backups(file)[0].file)) as editor:
        editor.execute("UPDATE alembic_version SET version_num = '9999'")
        editor.commit()
    assert "later version" in inspect(named_backups(file)[0]).problem
    other = backup_folder(file) / "crosspour.2026-03-03.sqlite3"
    with closing(sqlite3.connect(other)) as editor:
        editor.execute("CREATE TABLE recipe (name TEXT)")
    assert "another program" in inspect(named_backups(file)[0]).problem
    assert newest_good(file) is None


@pytest.mark.usefixtures("answering")
def test_files_that_are_no_backup_are_left_alone(file: Path) -> None:
    back_up(file, MONDAY)
    folder = backup_folder(file)
    strange = [folder / "holiday.jpg", folder / "crosspour.2026-99-01.sqlite3", folder / "x"]
    for one in strange:
        one.write_bytes(b"mine")
    for day in range(1, 40):
        back_up(file, MONDAY + timedelta(day))
    assert all(one.read_bytes() == b"mine" for one in strange)
    assert len(names(file)) < 15


@pytest.mark.usefixtures("answering")
def test_what_a_killed_backup_left_is_swept_up_by_the_next(file: Path) -> None:
    back_up(file, MONDAY)
    left = backup_folder(file) / ".crosspour.2026-03-03.sqlite3.part"
    left.write_bytes(b"half a backup")
    assert back_up(file, MONDAY + timedelta(1)) is not None
    assert not left.exists()


@pytest.mark.usefixtures("answering")
def test_two_windows_do_not_back_up_at_once(file: Path) -> None:
    back_up(file, MONDAY)
    # What another window holds while it backs up.
    with turn(backup_folder(file) / ".lock", wait=False) as mine:
        assert mine
        assert back_up(file, MONDAY + timedelta(1)) is None
    assert back_up(file, MONDAY + timedelta(1)) is not None


@pytest.mark.usefixtures("answering")
def test_a_clock_that_was_ahead_costs_no_backup_of_today(file: Path) -> None:
    for day in range(60):
        back_up(file, date(2031, 1, 1) + timedelta(31 * day))
    made = back_up(file, MONDAY)
    assert made is not None
    assert made.file.exists()


days = st.lists(st.dates(date(2020, 1, 1), date(2032, 1, 1)), min_size=1, max_size=200, unique=True)


@given(days)
def test_the_rotation_keeps_the_newest_of_days_weeks_and_months(found: list[date]) -> None:
    named = [Named(day, 1, Path(f"{day}")) for day in found]
    kept = {one.day for one in named} - {one.day for one in unwanted(named)}
    newest_first = sorted(found, reverse=True)
    assert set(newest_first[:DAYS]) <= kept
    for most, period in ((WEEKS, "%G %V"), (MONTHS, "%Y %m")):
        # The newest of each period comes last into the dictionary.
        newest = {day.strftime(period): day for day in sorted(found)}
        assert set(sorted(newest.values())[-most:]) <= kept
    assert len(kept) <= DAYS + WEEKS + MONTHS


@given(st.sets(st.integers(0, 800), min_size=30, max_size=400))
def test_years_of_rotation_keep_a_backup_from_each_of_the_last_months(drilled: set[int]) -> None:
    """What is let go day by day must not empty a month that later days should find."""
    held: list[Named] = []
    for number in sorted(drilled):
        day = date(2024, 1, 1) + timedelta(number)
        held.append(Named(day, 1, Path(f"{day}")))
        gone = unwanted(held)
        held = [one for one in held if one not in gone]
    months = sorted({(date(2024, 1, 1) + timedelta(n)).strftime("%Y %m") for n in drilled})
    assert {one.day.strftime("%Y %m") for one in held} >= set(months[-MONTHS:])


def test_several_backups_of_the_newest_day_all_stay() -> None:
    named = [Named(MONDAY, number, Path(f"{number}")) for number in range(1, 6)]
    assert unwanted(named) == []
    later = [Named(MONDAY + timedelta(1), 1, Path("later")), *named]
    assert {one.number for one in unwanted(later)} == {1, 2, 3, 4}
