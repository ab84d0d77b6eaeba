"""The help lists what really works: it is made from the bindings as they are."""

from __future__ import annotations

import importlib
import io
import pkgutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from textual.actions import parse
from textual.binding import Binding
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Input, Static, TextArea

import drills.screens
from cards.scale import Level
from drills.errors import UsageError
from drills.grading import Sureness
from drills.screens.app import CrosspourApp
from drills.screens.backups import BackupsScreen
from drills.screens.base import DeskScreen
from drills.screens.compare import CompareScreen
from drills.screens.correct import CorrectScreen
from drills.screens.debrief import DebriefScreen
from drills.screens.flight import NextFlightScreen
from drills.screens.help import HelpScreen
from drills.screens.home import HomeScreen
from drills.screens.imports import ImportsScreen
from drills.screens.intake import IntakeScreen
from drills.screens.keys import binding_ids, keymap
from drills.screens.live_keys import working
from drills.screens.opening import drill_screen
from drills.screens.pair import PairScreen
from drills.screens.profile import ProfileScreen
from drills.screens.progress import ProgressScreen
from drills.screens.summary import SummaryScreen
from drills.screens.table import TableScreen
from drills.screens.tasting import TastingScreen
from drills.screens.tasting_cautions import keep_seen
from drills.screens.tasting_open import OpenFlight
from drills.screens.tasting_quick import QuickScreen
from drills.screens.tasting_sheet import FlightSheet, PourSheet
from drills.screens.tasting_start import TastingStartScreen
from drills.screens.tray import TrayScreen
from drills.screens.weak import WeakScreen
from drills.screens.widgets.key_line import KeyLine
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.intake import read_lines, take_in
from drills.service.tasting import debrief_pours
from drills.storage.records import AnswerRecord
from drills.tastings.drafts import Named
from drills.tastings.notes import FullPour, Note, Verdict
from tests.desks import answer, mix_up
from tests.screens.terminal import LOOKS, SIZES, current, drilling, opened, seen, settled, truth_key

Make = Callable[[Desk], Screen[Any]]


def summary_screen(desk: Desk) -> Screen[None]:
    return SummaryScreen(DrillSession(desk, 60).end())


def start_screen(desk: Desk) -> Screen[Any]:
    # The cautions that stand before the first flight were read.
    keep_seen(desk)
    return TastingStartScreen()


def flight(desk: Desk) -> OpenFlight:
    return OpenFlight(desk, FlightSheet(name="Tuesday", pours=[PourSheet(), PourSheet()]))


def debrief_screen(desk: Desk) -> Screen[Any]:
    called = FullPour(
        position=1,
        note=Note(readings={"acid": Level.HIGH, "grass": True}),
        final=Verdict("Sancerre", "sauvignon-sancerre"),
        reveal=Named("NZ Sauvignon Blanc", "sauvignon-marlborough"),
    )
    return DebriefScreen(debrief_pours(desk, [called, replace(called, position=2)]))


def with_lines(desk: Desk, make: Make) -> Screen[Any]:
    """A screen once lines were taken in, one of them with a name that is not clear."""
    with read_lines(desk, io.StringIO("Barolo > Barolo\nRiesling > Plonk of the house\n")) as lines:
        take_in(desk, lines)
    return make(desk)


SCREENS: dict[str, Make] = {
    "home": lambda _: HomeScreen(),
    "drill": drill_screen,
    "summary": summary_screen,
    "weak": lambda _: WeakScreen(),
    "pair": lambda _: PairScreen("sauvignon-sancerre", "sauvignon-marlborough"),
    "progress": lambda _: ProgressScreen(),
    "intake": lambda _: IntakeScreen(),
    "next flight": lambda _: NextFlightScreen(),
    "backups": lambda _: BackupsScreen(),
    "imports": lambda desk: with_lines(desk, lambda _: ImportsScreen()),
    "tray": lambda desk: with_lines(desk, lambda _: TrayScreen()),
    "tasting start": start_screen,
    "tasting": lambda desk: TastingScreen(flight(desk)),
    "tasting, short": lambda desk: QuickScreen(flight(desk)),
    "debrief": debrief_screen,
    "correct": lambda desk: CorrectScreen(desk, 1, FullPour(position=1)),
    "table": lambda _: TableScreen(),
    "profile": lambda _: ProfileScreen("chardonnay-chablis"),
    "compare": lambda _: CompareScreen("chardonnay-chablis", "chardonnay-meursault"),
}


def listed(pilot: Pilot[int]) -> list[tuple[list[str], str]]:
    """The lines of the help panel: keys, and what they do."""
    panel = current(pilot, HelpScreen)
    _, lines = panel.query(Static)
    rows = []
    for line in str(lines.content).splitlines():
        keys, _, words = line.strip().partition("  ")
        rows.append((keys.split(", "), words))
    return rows


def own_bindings(screen: Screen[Any]) -> list[Binding]:
    """Every binding that the program itself declares for the screen."""
    return [
        binding
        for owner in (*type(screen).__mro__, CrosspourApp)
        if owner is CrosspourApp or issubclass(owner, DeskScreen)
        for binding in Binding.make_bindings(vars(owner).get("BINDINGS", ()))
    ]


def asleep(screen: Screen[Any], binding: Binding) -> bool:
    """Whether a key has nothing to do in the state that the screen is in."""
    _, name, arguments = parse(binding.action)
    return screen.check_action(name, arguments) is False


def types(screen: Screen[Any]) -> bool:
    """Whether keys are letters of a text just now."""
    return isinstance(screen.focused, Input | TextArea)


async def test_every_screen_is_looked_at_here(desk: Desk) -> None:
    modules = [
        importlib.import_module(f"drills.screens.{one.name}")
        for one in pkgutil.iter_modules(drills.screens.__path__)
    ]
    assert modules
    kinds: list[type[Any]] = DeskScreen.__subclasses__()
    for kind in kinds:
        kinds += kind.__subclasses__()
    # What other screens are made from is never shown itself; a test's own screens do not count.
    shown = {
        kind
        for kind in kinds
        if not kind.__subclasses__() and kind.__module__.startswith("drills.screens.")
    }
    assert shown - {type(make(desk)) for make in SCREENS.values()} == set()


@pytest.mark.parametrize("name", SCREENS)
async def test_the_help_lists_every_key_of_a_screen_with_what_it_does(
    desk: Desk, name: str
) -> None:
    async with opened(desk, lambda: SCREENS[name](desk)) as pilot:
        await settled(pilot)
        screen = pilot.app.screen
        expected = own_bindings(screen)
        works = working(screen)
        await pilot.press("f1")
        rows = listed(pilot)
        for binding in expected:
            if asleep(screen, binding):
                continue
            if binding.key not in works:
                # Where one types, ? is a letter.
                assert types(screen)
                assert binding.key == "question_mark"
                continue
            active = works[binding.key].binding
            # A list under the cursor takes Enter first, and says so; a line takes what edits it.
            edits = types(screen) and works[binding.key].node is screen.focused
            assert active.id == binding.id or binding.key == "enter" or edits, binding
            key = pilot.app.get_key_display(replace(active, key_display=None))
            words = active.tooltip or active.description
            assert any(key in keys and words == said for keys, said in rows), (binding.key, rows)
        # Nothing is listed twice.
        assert len({said for _, said in rows}) == len(rows)


@pytest.mark.parametrize("name", SCREENS)
async def test_every_key_of_a_screen_can_be_changed_and_explains_itself(
    desk: Desk, name: str
) -> None:
    async with opened(desk, lambda: SCREENS[name](desk)) as pilot:
        for binding in own_bindings(pilot.app.screen):
            assert binding.id, binding
            assert binding.description, binding


@pytest.mark.parametrize("key", ["escape", "question_mark", "f1", "q", "enter", "space"])
async def test_any_likely_key_closes_the_help(desk: Desk, key: str) -> None:
    async with opened(desk) as pilot:
        screen = drilling(pilot)
        await pilot.press("question_mark")
        current(pilot, HelpScreen)
        await pilot.press(key)
        assert pilot.app.screen is screen
        assert screen.reveal is None


@pytest.mark.parametrize("size", SIZES)
async def test_the_whole_help_can_be_reached(desk: Desk, size: tuple[int, int]) -> None:
    async with opened(desk, size=size) as pilot:
        await pilot.press("question_mark")
        await pilot.pause()
        assert "?, f1  every key that works here" in seen(pilot)
        await pilot.press("end")
        await pilot.pause()
        assert "leave the program" in seen(pilot)


@pytest.mark.parametrize("name", SCREENS)
async def test_the_line_at_the_foot_shows_keys_that_work(desk: Desk, name: str) -> None:
    async with opened(desk, lambda: SCREENS[name](desk)) as pilot:
        await settled(pilot)
        line = pilot.app.screen.query_one(KeyLine).text
        shown = [
            active.binding
            for active in pilot.app.screen.active_bindings.values()
            if active.binding.description in line and active.binding.id
        ]
        assert shown
        help_key = "f1" if types(pilot.app.screen) else "?"
        assert f" {help_key} keys" in line


@pytest.mark.parametrize("width", [60, 72, 80, 100])
async def test_no_key_at_the_foot_stands_on_another_line_than_its_words(
    desk: Desk, width: int
) -> None:
    async with opened(desk, lambda: SCREENS["home"](desk), size=(width, 24)) as pilot:
        await settled(pilot)
        lines = pilot.app.screen.query_one(KeyLine).text.splitlines()
        stand = [line.strip() for line in seen(pilot).splitlines()[-len(lines) :]]
        assert stand == [line.strip() for line in lines]
        for words in ("d drill", "n note", "w weak pairs", "t table", "? keys", "q leave"):
            assert sum(words in line for line in lines) == 1


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


# ---- keys of one's own


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


# ---- the colours


@pytest.mark.parametrize("name", SCREENS)
async def test_one_key_changes_between_dark_and_light_everywhere(desk: Desk, name: str) -> None:
    async with opened(desk, lambda: SCREENS[name](desk)) as pilot:
        assert pilot.app.theme == "crosspour-dark"
        await pilot.press("f4")
        assert pilot.app.theme == "crosspour-light"
        await pilot.press("f4")
        assert pilot.app.theme == "crosspour-dark"


async def test_a_theme_that_does_not_exist_leaves_the_dark_one(desk: Desk, home: Path) -> None:
    (home / "settings.toml").write_text('theme = "burgundy"', encoding="utf-8")
    async with opened(desk) as pilot:
        assert pilot.app.theme == "crosspour-dark"


# ---- every screen on every terminal


@pytest.mark.parametrize(("size", "theme"), LOOKS)
@pytest.mark.parametrize("name", SCREENS)
async def test_every_screen_stands_on_every_terminal(
    desk: Desk, home: Path, name: str, size: tuple[int, int], theme: str
) -> None:
    (home / "settings.toml").write_text(f'theme = "{theme}"', encoding="utf-8")
    mix_up(desk, "sauvignon-sancerre", "sauvignon-marlborough")
    answer(DrillSession(desk, 60))
    async with opened(desk, lambda: SCREENS[name](desk), size=size) as pilot:
        await settled(pilot)
        for line in seen(pilot).splitlines():
            assert len(line) <= size[0]
        foot = " ".join(" ".join(seen(pilot).splitlines()[-2:]).split())
        assert "keys" in foot
        # No key is cut off, however narrow the terminal.
        assert " ".join(pilot.app.screen.query_one(KeyLine).text.split()) in foot
        if name == "drill":
            await pilot.press(truth_key(drilling(pilot)))
            assert "next card" in "\n".join(seen(pilot).splitlines()[-2:])
