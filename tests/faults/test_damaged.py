"""A damaged file is named in one sentence, kept, and replaced by the newest good backup."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from drills.errors import DatabaseCorrupt, StorageError
from drills.storage.backup import backup_folder
from drills.storage.repository import open_repository
from drills.storage.restore import restore_database
from drills.storage.rotation import back_up, inspect, named_backups, newest_good
from tests.cli.running import crosspour
from tests.faults.making import ANSWERS, DAY, answered

PAGE = 4096
Damage = Callable[[bytearray, random.Random], None]


def flip(content: bytearray, rng: random.Random) -> None:
    """Other bytes in a page of a table."""
    for _ in range(400):
        content[rng.randrange(PAGE, len(content))] ^= rng.randrange(1, 256)


def cut_short(content: bytearray, rng: random.Random) -> None:
    """The end is missing."""
    del content[rng.randrange(PAGE, len(content) - PAGE) :]


def zero_the_header(content: bytearray, rng: random.Random) -> None:
    """The first hundred bytes, or the first page, are zero."""
    size = rng.choice((100, PAGE))
    content[:size] = bytes(size)


def zero_pages(content: bytearray, rng: random.Random) -> None:
    """A run of pages is zero, as after a disk that lost a block."""
    first = rng.randrange(1, len(content) // PAGE - 8)
    content[first * PAGE : (first + 8) * PAGE] = bytes(8 * PAGE)


DAMAGES: list[Damage] = [flip, cut_short, zero_the_header, zero_pages]


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a database and its backup, made once; tests damage copies."""
    folder = tmp_path_factory.mktemp("sound")
    answered(folder / "crosspour.sqlite3")
    return folder


@pytest.fixture
def file(sound: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(sound, tmp_path / "damaged")) / "crosspour.sqlite3"


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("damage", DAMAGES)
def test_damage_is_found_by_the_backup_costs_none_and_is_mended_by_restore(
    file: Path, damage: Damage, seed: int
) -> None:
    content = bytearray(file.read_bytes())
    damage(content, random.Random(seed))
    file.write_bytes(content)
    with pytest.raises(StorageError) as told:
        back_up(file, DAY)
    assert str(told.value).count("\n") == 0
    good = newest_good(file)
    assert good is not None
    assert good.answers == ANSWERS - 1
    done = restore_database(good.file, file)
    assert done.kept is not None
    assert done.kept.name.startswith("crosspour.damaged")
    assert done.kept.read_bytes() == bytes(content)
    with open_repository(file) as repository:
        (drill,) = repository.drills(repository.taster().id)
        assert len(repository.answers_of_drill(drill.id)) == ANSWERS - 1
    assert back_up(file, DAY) is not None


def test_the_program_never_crashes_on_a_damaged_file(furnished: Path, file: Path) -> None:
    """Whatever was damaged, commands end with their answer or with one sentence."""
    rng = random.Random(5)
    sound = file.read_bytes()
    for damage in [*DAMAGES, flip, zero_pages]:
        content = bytearray(sound)
        damage(content, rng)
        file.write_bytes(content)
        for ending in ("-wal", "-shm"):
            file.with_name(file.name + ending).unlink(missing_ok=True)
        done = crosspour(furnished, "weak", "--database", str(file))
        assert "Traceback" not in done.stderr, done.stderr
        assert done.returncode in (0, 1)
        assert done.stderr.count("\n") == done.returncode


@pytest.mark.parametrize("seed", range(4))
def test_a_log_of_garbage_never_reaches_the_database(file: Path, seed: int) -> None:
    """SQLite passes over what does not bear its checksums; ours keeps what is strange."""
    log = file.with_name(file.name + "-wal")
    log.write_bytes(random.Random(seed).randbytes(50_000))
    with open_repository(file) as repository:
        (drill,) = repository.drills(repository.taster().id)
        assert len(repository.answers_of_drill(drill.id)) == ANSWERS
    with closing(sqlite3.connect(file)) as reader:
        assert reader.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


def test_a_log_left_by_a_database_that_is_gone_is_not_played_into_a_new_one(
    file: Path,
) -> None:
    with open_repository(file) as repository:
        repository.taster("Ada")
        log = file.with_name(file.name + "-wal").read_bytes()
        assert log
    file.unlink()
    file.with_name(file.name + "-wal").write_bytes(log)
    shutil.rmtree(backup_folder(file))
    with open_repository(file) as repository:
        repository.taster("Grace")
    (kept,) = file.parent.glob("crosspour.left-over*")
    assert kept.read_bytes() == log
    with open_repository(file) as repository:
        assert {one.name for one in repository.tasters()} == {"Grace"}
        assert repository.drills(repository.taster("Grace").id) == []
    with closing(sqlite3.connect(file)) as reader:
        assert reader.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


@pytest.mark.parametrize("how", ["empty", "gone"])
def test_a_file_gone_or_emptied_where_backups_are_is_not_begun_anew(file: Path, how: str) -> None:
    file.write_bytes(b"")
    if how == "gone":
        file.unlink()
    with pytest.raises(DatabaseCorrupt, match=f"is {how}, though .* holds backups"):
        open_repository(file)
    assert file.exists() == (how == "empty")
    good = newest_good(file)
    assert good is not None
    restore_database(good.file, file)
    with open_repository(file) as repository:
        assert len(repository.drills(repository.taster().id)) == 1


def test_damaged_backups_are_passed_over_down_to_the_newest_good_one(file: Path) -> None:
    for number in range(3):
        made = back_up(file, DAY.replace(day=3 + number))
        assert made is not None
        content = bytearray(made.file.read_bytes())
        DAMAGES[number](content, random.Random(number))
        made.file.write_bytes(content)
    assert [bool(inspect(one).problem) for one in named_backups(file)] == [True] * 3 + [False]
    good = newest_good(file)
    assert good is not None
    assert good.answers == ANSWERS - 1


def test_a_restore_by_command_says_what_it_did(furnished: Path, file: Path) -> None:
    content = bytearray(file.read_bytes())
    zero_the_header(content, random.Random(1))
    file.write_bytes(content)
    refused = crosspour(furnished, "weak", "--database", str(file))
    assert refused.returncode == 1
    assert "damaged" in refused.stderr
    assert "crosspour restore" in refused.stderr
    done = crosspour(furnished, "restore", "--database", str(file))
    assert done.returncode == 0
    assert f"{ANSWERS - 1} answers" in done.stdout
    assert os.fspath(file.with_name("crosspour.damaged.sqlite3")) in done.stdout
    assert crosspour(furnished, "weak", "--database", str(file)).returncode == 0
