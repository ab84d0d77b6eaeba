"""The drill on a real terminal, from the shell's command to the answer in the file."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from drills.storage.records import AnswerRecord
from drills.storage.repository import open_repository
from tests.cli.running import on_terminal

ESCAPE = "\x1b"
CONTROL_Q = "\x11"


def answers(home: Path) -> list[AnswerRecord]:
    with open_repository(home / "crosspour.sqlite3", readonly=True) as repository:
        me = repository.taster().id
        return [
            answer
            for drill in repository.drills(me)
            for answer in repository.answers_of_drill(drill.id)
        ]


def test_a_card_is_shown_and_answered_and_the_answer_is_kept_after_leaving(home: Path) -> None:
    with on_terminal(home, "drill") as terminal:
        terminal.wait_for("Which of these two?")
        terminal.type("a")
        verdict = terminal.wait_for("✓ right", "✗ wrong")
        terminal.type(" ")
        terminal.wait_to_lose(verdict)
        terminal.type("k")
        terminal.wait_for("✓ right", "✗ wrong")
        terminal.type(ESCAPE)
        terminal.wait_for("drill over")
        terminal.type(ESCAPE)
        terminal.wait_for("contrasts unseen")
        terminal.type("q")
        assert terminal.leave() == 0
        assert "Traceback" not in terminal.said
    # Closed properly, the database is one file.
    assert [file.name for file in home.glob("crosspour.sqlite3*")] == ["crosspour.sqlite3"]
    first, second = answers(home)
    assert (first.sureness, second.sureness) == (3, 2)
    assert first.correct == (verdict == "✓ right")


def test_an_answer_is_kept_even_if_the_program_is_killed_as_soon_as_the_next_card_shows(
    home: Path,
) -> None:
    with on_terminal(home, "drill", "--minutes", "5") as terminal:
        terminal.wait_for("Which of these two?")
        terminal.type("d")
        verdict = terminal.wait_for("✓ right", "✗ wrong")
        terminal.type(" ")
        terminal.wait_to_lose(verdict)
        terminal.kill()
    (answer,) = answers(home)
    assert answer.sureness == 1
    with closing(sqlite3.connect(home / "crosspour.sqlite3")) as reader:
        assert reader.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        (planned,) = reader.execute("SELECT planned_seconds FROM drill").fetchone()
    assert planned == 300
    # The next start finds everything in order, with that one contrast no longer unseen.
    with on_terminal(home) as terminal:
        terminal.wait_for("contrasts unseen")
        terminal.type("d")
        terminal.wait_for("Which of these two?")
        terminal.type(CONTROL_Q)
        assert terminal.leave() == 0


def test_a_drill_of_two_wines_named_as_a_list_names_them(home: Path) -> None:
    with on_terminal(home, "drill", "--pair", "Sancerre", "NZ Sauvignon Blanc") as terminal:
        terminal.wait_to_see("this pair was asked for")
        terminal.wait_to_see("Sancerre")
        terminal.wait_to_see("Marlborough")
        terminal.type(CONTROL_Q)
        assert terminal.leave() == 0


def test_the_very_first_start_makes_the_database_and_shows_the_first_screen(
    tmp_path: Path,
) -> None:
    fresh = tmp_path / "new" / "home"
    with on_terminal(fresh) as terminal:
        terminal.wait_for("contrasts unseen")
        terminal.type("q")
        assert terminal.leave() == 0
    assert (fresh / "crosspour.sqlite3").is_file()


@pytest.mark.parametrize("size", [(59, 24), (80, 19)])
def test_a_terminal_that_is_too_small_is_told_so_before_anything_opens(
    home: Path, size: tuple[int, int]
) -> None:
    with on_terminal(home, "drill", size=size) as terminal:
        terminal.wait_for(f"too small ({size[0]}x{size[1]}); 60x20 is the least")
        assert terminal.leave() == 1
        assert terminal.said.count("\n") == 1


def test_a_mistake_in_the_settings_is_one_line_on_a_terminal_that_was_left_alone(
    home: Path,
) -> None:
    (home / "settings.toml").write_text('[keys]\nleft-shure = "q"\n', encoding="utf-8")
    with on_terminal(home, "drill") as terminal:
        terminal.wait_for("did you mean left-sure?")
        assert terminal.leave() == 2
        assert terminal.said.count("\n") == 1
        # The other screen of the terminal was never asked for.
        assert b"\x1b[?1049h" not in terminal._said


def test_a_drill_that_cannot_begin_is_one_line_on_a_terminal_that_was_left_alone(
    home: Path,
) -> None:
    with closing(sqlite3.connect(home / "crosspour.sqlite3", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with on_terminal(home, "drill") as terminal:
            terminal.wait_for("another program")
            assert terminal.leave() == 1
            assert "Traceback" not in terminal.said
            assert b"\x1b[?1049h" not in terminal._said
    assert answers(home) == []
