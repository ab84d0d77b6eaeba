"""A copy is whole and sound, or it is not there."""

from __future__ import annotations

import os
import sqlite3
import threading
from contextlib import closing
from pathlib import Path

import pytest

from drills.errors import StorageError
from drills.storage.repository import Repository, open_repository
from tests.storage.making import answer, contrast, dump, memory


@pytest.fixture
def filled(repository: Repository) -> Repository:
    repository.keep_contrasts([contrast(n) for n in range(1, 500)], "f")
    repository.taster()
    return repository


def test_a_copy_holds_everything_and_stands_alone(
    filled: Repository, file: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "stick"
    folder.mkdir()
    filled.backup(folder / "copy.sqlite3")
    assert [path.name for path in folder.iterdir()] == ["copy.sqlite3"]
    assert dump(folder / "copy.sqlite3") == dump(file)
    with open_repository(folder / "copy.sqlite3") as copy:
        assert copy.kept_fingerprint() == "f"


def test_an_existing_file_is_overwritten_only_when_told(filled: Repository, tmp_path: Path) -> None:
    target = tmp_path / "copy.sqlite3"
    target.write_bytes(b"holiday pictures")
    with pytest.raises(StorageError, match="exists already"):
        filled.backup(target)
    assert target.read_bytes() == b"holiday pictures"
    filled.backup(target, overwrite=True)
    with open_repository(target, readonly=True) as copy:
        assert copy.kept_fingerprint() == "f"


def test_the_database_is_never_copied_onto_itself(
    filled: Repository, file: Path, tmp_path: Path
) -> None:
    soft, hard = tmp_path / "soft", tmp_path / "hard"
    soft.symlink_to(file)
    os.link(file, hard)
    before = dump(file)
    for target in (file, soft, hard, tmp_path / "." / file.name):
        with pytest.raises(StorageError, match="onto itself"):
            filled.backup(target, overwrite=True)
    assert dump(file) == before


def test_a_database_in_use_is_not_replaced_by_a_copy(filled: Repository, tmp_path: Path) -> None:
    target = tmp_path / "other.sqlite3"
    with open_repository(target) as other:
        other.taster("Ada")
        with pytest.raises(StorageError, match="in use"):
            filled.backup(target, overwrite=True)
        assert [taster.name for taster in other.tasters()] == ["Ada"]


def test_a_target_that_cannot_be_written_is_named(filled: Repository, tmp_path: Path) -> None:
    with pytest.raises(StorageError, match="is a folder"):
        filled.backup(tmp_path)
    with pytest.raises(StorageError, match="no folder"):
        filled.backup(tmp_path / "none" / "copy.sqlite3")


def test_a_damaged_database_is_not_copied_over_a_sound_copy(
    filled: Repository, file: Path, tmp_path: Path
) -> None:
    copy = tmp_path / "copy.sqlite3"
    filled.backup(copy)
    filled.close()
    sound = copy.read_bytes()
    with closing(sqlite3.connect(file)) as reader:
        root = reader.execute("SELECT rootpage FROM sqlite_master WHERE name = 'contrast'")
        page = root.fetchone()[0]
    content = bytearray(file.read_bytes())
    content[(page - 1) * 4096 : page * 4096] = b"\x00" * 4096
    file.write_bytes(content)
    with open_repository(file) as damaged, pytest.raises(StorageError, match="damaged"):
        damaged.backup(copy, overwrite=True)
    assert copy.read_bytes() == sound
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


def test_a_copy_taken_while_answers_come_in_is_consistent(
    filled: Repository, me: int, tmp_path: Path
) -> None:
    drill = filled.start_drill(me, 600)
    stop = threading.Event()

    def answering() -> None:
        number = 1
        while not stop.is_set():
            kept = memory(me, number % 400 + 1, answers=number)
            filled.record_answer(answer(me, number % 400 + 1, drill.id), kept)
            number += 1

    thread = threading.Thread(target=answering)
    thread.start()
    try:
        for number in range(5):
            filled.backup(tmp_path / f"copy-{number}.sqlite3")
    finally:
        stop.set()
        thread.join()
    for number in range(5):
        with closing(sqlite3.connect(tmp_path / f"copy-{number}.sqlite3")) as copy:
            # The memory's count is written with the answer, so both agree in any one state.
            answers = copy.execute("SELECT count(*) FROM answer").fetchone()[0]
            newest = copy.execute("SELECT coalesce(max(answers), 0) FROM memory").fetchone()[0]
            assert answers == newest
            assert copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)
