"""What waits for a server stands on disk line by line, or is said not to."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from drills.errors import StorageError
from drills.storage.outbox import Outbox

resource = pytest.importorskip("resource", reason="the system limits no files")


@contextmanager
def files_end_at(size: int) -> Iterator[None]:
    """Let no file grow beyond so many bytes, as on a disk that is full."""
    usual = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, usual[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, usual)


def left(folder: Path) -> list[dict[str, Any]]:
    """What another process finds once the first is gone."""
    with Outbox(folder, "group").left_behind() as found:
        return [entry for entries in found.values() for entry in entries]


def test_a_line_that_the_disk_had_no_room_for_spoils_no_other(tmp_path: Path) -> None:
    outbox = Outbox(tmp_path, "group")
    outbox.put({"answer": "first"})
    (file,) = tmp_path.iterdir()
    before = file.read_bytes()
    with files_end_at(len(before) + 5), pytest.raises(StorageError, match="cannot wait in"):
        outbox.put({"answer": "no room"})
    assert file.read_bytes() == before
    outbox.put({"answer": "second"})
    assert outbox.entries == [{"answer": "first"}, {"answer": "second"}]
    outbox.close()
    assert left(tmp_path) == outbox.entries


def test_a_line_that_may_not_be_on_disk_is_taken_out_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    outbox = Outbox(tmp_path, "group")
    outbox.put({"answer": "first"})

    def fail(_: int) -> None:
        raise OSError(5, "Input/output error")

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", fail)
        with pytest.raises(StorageError, match="Input/output error"):
            outbox.put({"answer": "unsure"})
    outbox.close()
    assert left(tmp_path) == [{"answer": "first"}]
