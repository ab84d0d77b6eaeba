"""The collector waits for the first screen, and never longer than the program runs."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from pathlib import Path

import pytest

from drills import cli
from drills.collector import free_collector, hold_collector
from drills.commands import asking


@pytest.fixture(autouse=True)
def thawed() -> Iterator[None]:
    yield
    gc.unfreeze()
    gc.enable()


def test_what_is_there_when_it_is_freed_is_left_alone() -> None:
    hold_collector()
    assert not gc.isenabled()
    free_collector()
    assert gc.isenabled()
    assert gc.get_freeze_count() > 10_000


def test_where_it_was_not_held_nothing_happens() -> None:
    free_collector()
    assert gc.isenabled()
    assert gc.get_freeze_count() == 0


def test_it_is_freed_when_the_screens_cannot_open(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CROSSPOUR_HOME", str(tmp_path))
    monkeypatch.setattr(asking, "check_terminal", lambda: None)
    (tmp_path / "settings.toml").write_text("minutes = 0", encoding="utf-8")
    assert cli.main(["drill"]) == 2
    assert "minutes should be" in capsys.readouterr().err
    assert gc.isenabled()
