"""Keys of one's own, and capitals: what they do, and what the help says of them."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from drills.errors import UsageError
from drills.grading import Sureness
from drills.screens.app import CrosspourApp
from drills.screens.home import HomeScreen
from drills.screens.keys import binding_ids, keymap
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.storage.records import AnswerRecord
from tests.screens.every_screen import SCREENS
from tests.screens.terminal import drilling, listed, opened, seen, settled


async def test_a_capital_does_what_its_letter_does(desk: Desk) -> None:
    async with opened(desk) as pilot:
        await pilot.press("S")
        await pilot.pause()
        screen = drilling(pilot)
        assert screen.reveal is not None
        (kept,) = desk.repository.answers_of_drill(screen.session.drill_id)
        assert kept.sureness == Sureness.LEANING
        await pilot.press("U")
        await pilot.pause()
        assert screen.reveal is None


async def test_a_capital_that_is_typed_stays_one(desk: Desk) -> None:
    async with opened(desk, lambda: SCREENS["table"](desk)) as pilot:
        await settled(pilot)
        await pilot.press("slash", "B", "a", "r")
        await pilot.pause()
        assert pilot.app.screen.query_one(Input).value == "Bar"


async def test_changed_keys_answer_and_stand_under_the_glass_and_in_the_help(
    desk: Desk, home: Path
) -> None:
    (home / "settings.toml").write_text(
        '[keys]\nleft-sure = "q"\nnext = "n"\nhelp = "h"\nright-sure = ";"\n', encoding="utf-8"
    )
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        for words in ("Q sure", "; sure", " h keys"):
            assert words in seen(pilot)
        await pilot.press("a", "l")
        assert screen.reveal is None
        await pilot.press("h")
        rows = listed(pilot)
        assert (["q"], "left glass, sure") in rows
        assert (["n"], "next card") in rows
        assert ([";"], "right glass, sure") in rows
        assert not any("a" in keys for keys, _ in rows)
        await pilot.press("escape")
        first = screen.showing
        await pilot.press("q")
        assert screen.reveal is not None
        assert " n next card" in seen(pilot)
        await pilot.press("space", "enter")
        assert screen.showing is first
        await pilot.press("n")
        assert screen.showing is not first
        await pilot.press("semicolon")
        assert screen.reveal is not None
        given = [one.sureness for one in answers(desk, screen.session)]
        assert given == [3, 3]


async def test_two_keys_may_change_places(desk: Desk, home: Path) -> None:
    (home / "settings.toml").write_text(
        '[keys]\nleft-sure = "d"\nleft-guess = "a"\n', encoding="utf-8"
    )
    async with opened(desk) as pilot:
        await pilot.press("d", "space", "a")
        given = answers(desk, drilling(pilot).session)
        assert [one.sureness for one in given] == [3, 1]
        assert all((one.given == "b") == one.swapped for one in given)


async def test_a_key_taken_from_another_shows_in_the_help_as_what_it_does_now(
    desk: Desk, home: Path
) -> None:
    (home / "settings.toml").write_text('[keys]\nleft-sure = "u"\n', encoding="utf-8")
    async with opened(desk) as pilot:
        await pilot.press("question_mark")
        rows = listed(pilot)
        assert (["u"], "left glass, sure") in rows
        assert "take the last answer back" not in [said for _, said in rows]
        await pilot.press("escape", "u")
        assert drilling(pilot).reveal is not None


def answers(desk: Desk, session: DrillSession) -> list[AnswerRecord]:
    return desk.repository.answers_of_drill(session.drill_id)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ('left-shure = "q"', "no screen has left-shure; did you mean left-sure?"),
        ('left = "q"', "no screen has left"),
        ('left-sure = ""', "left-sure is on “”, which is no key"),
        ('left-sure = "q,,w"', "which is no key"),
    ],
)
def test_a_mistake_in_the_keys_is_named_before_the_screens_open(
    desk: Desk, home: Path, content: str, said: str
) -> None:
    (home / "settings.toml").write_text(f"[keys]\n{content}\n", encoding="utf-8")
    with pytest.raises(UsageError) as refused:
        CrosspourApp(desk, HomeScreen)
    assert said in str(refused.value)
    assert str(home / "settings.toml") in str(refused.value)


def test_the_keys_of_the_readme_exist() -> None:
    readme = Path(__file__).parents[2].joinpath("README.md").read_text(encoding="utf-8")
    named = {"left-sure", "left-leaning", "left-guess", "right-guess"}
    assert named <= binding_ids()
    assert all(name in readme for name in named)


def test_a_sign_may_be_written_as_itself() -> None:
    assert keymap({"next": "+", "undo": "ö", "why": "f9"}) == {
        "next": "plus",
        "undo": "ö",
        "why": "f9",
    }
    assert keymap({}) == {}
