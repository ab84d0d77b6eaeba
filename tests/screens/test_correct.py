"""Correcting a kept pour from its debrief."""

from __future__ import annotations

from datetime import date

import pytest

from drills.screens.correct import CorrectScreen
from drills.screens.debrief import DebriefScreen
from drills.service.desk import Desk
from drills.service.tasting import debrief_flight, find_flight, log_flight
from drills.service.weak import weak
from drills.tastings.drafts import Named
from drills.tastings.notes import FullFlight, FullPour, Verdict
from tests.screens.terminal import SIZES, Pilot, current, notices, opened, refusing, seen

KEPT = FullPour(
    position=1,
    first=Verdict("Chablis", "chardonnay-chablis", None, 2),
    final=Verdict("our [b]own word", "sauvignon-sancerre", 2018, 3),
    reveal=Named("Sancerre", "sauvignon-sancerre"),
    reveal_vintage=2021,
    label_alcohol=12.5,
    remark="[link=x]corked",
)


@pytest.fixture
def kept_desk(desk: Desk) -> Desk:
    """A desk with one right call in one flight."""
    log_flight(desk, FullFlight("Tuesday", date(2026, 3, 1), (KEPT,)))
    return desk


def debrief_screen(desk: Desk) -> DebriefScreen:
    return DebriefScreen.of_flight(desk, find_flight(desk))


def kept(desk: Desk) -> FullPour:
    (one,) = debrief_flight(desk, find_flight(desk)).pours
    return one.pour


async def write(pilot: Pilot[int], name: str, text: str) -> None:
    """Put the cursor on a line and write something else there."""
    line = current(pilot, CorrectScreen)._lines[name]
    line.focus()
    await pilot.pause()
    await pilot.press(
        "end",
        *["backspace"] * len(line.value),
        *("space" if sign == " " else sign for sign in text),
    )
    await pilot.pause()


@pytest.mark.parametrize("size", SIZES)
async def test_a_pour_stands_on_its_lines_as_it_is_kept(
    kept_desk: Desk, size: tuple[int, int]
) -> None:
    async with opened(kept_desk, lambda: debrief_screen(kept_desk), size=size) as pilot:
        await pilot.press("e")
        await pilot.pause()
        for words in ("our [b]own word", "2018", "Chablis", "2021", "12.5", "[link=x]corked"):
            assert words in seen(pilot)
        await pilot.press("f9")
        current(pilot, DebriefScreen)
    assert kept(kept_desk) == KEPT


async def test_a_call_that_proves_wrong_brings_its_pair_to_the_weak_ones(kept_desk: Desk) -> None:
    assert weak(kept_desk) == []
    async with opened(kept_desk, lambda: debrief_screen(kept_desk)) as pilot:
        await pilot.press("e")
        await write(pilot, "was", "Marlborough Sauvignon")
        await pilot.press("escape", "f9")
        await pilot.pause()
        current(pilot, DebriefScreen)
        assert "was Marlborough Sauvignon" in seen(pilot)
        assert notices(pilot) == ["Pour 1 is corrected."]
    assert kept(kept_desk).reveal == Named("Marlborough Sauvignon", "sauvignon-marlborough")
    # What was not touched stays, and how it was understood with it.
    assert kept(kept_desk).final == KEPT.final
    assert [(one.called, one.was) for one in weak(kept_desk)] == [
        ("sauvignon-sancerre", "sauvignon-marlborough")
    ]


async def test_what_was_typed_first_stays_in_the_history(kept_desk: Desk) -> None:
    async with opened(kept_desk, lambda: debrief_screen(kept_desk)) as pilot:
        await pilot.press("e")
        await write(pilot, "remark", "fine after all")
        await pilot.press("f9")
    assert kept(kept_desk).remark == "fine after all"
    (record,) = kept_desk.repository.pours(kept_desk.taster.id)
    changes = kept_desk.repository.changes(record.id)
    assert [(one.field, one.before, one.after) for one in changes] == [
        ("note", "[link=x]corked", "fine after all")
    ]


async def test_escape_changes_nothing(kept_desk: Desk) -> None:
    async with opened(kept_desk, lambda: debrief_screen(kept_desk)) as pilot:
        await pilot.press("e")
        await write(pilot, "remark", "oh")
        await pilot.press("escape")
        current(pilot, DebriefScreen)
    assert kept(kept_desk) == KEPT


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("final-vintage", "18xx", "“18xx” should be a year, or NV"),
        ("label", "much", "“much” should be % vol, as 13.5"),
    ],
)
async def test_what_cannot_be_read_is_said_and_nothing_is_kept(
    kept_desk: Desk, name: str, text: str, words: str
) -> None:
    async with opened(kept_desk, lambda: debrief_screen(kept_desk)) as pilot:
        await pilot.press("e")
        await write(pilot, name, text)
        await pilot.press("f9")
        assert current(pilot, CorrectScreen).focused is not None
        assert notices(pilot) == [words]
    assert kept(kept_desk) == KEPT


async def test_a_correction_that_cannot_be_kept_stays_on_its_lines_for_another_try(
    kept_desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository = kept_desk.repository
    monkeypatch.setattr(repository, "change_pour", refusing(1, repository.change_pour))
    async with opened(kept_desk, lambda: debrief_screen(kept_desk)) as pilot:
        await pilot.press("e")
        await write(pilot, "remark", "fine")
        await pilot.press("f9")
        current(pilot, CorrectScreen)
        assert notices(pilot)[0].startswith("Not kept: ")
        await pilot.press("f9")
        current(pilot, DebriefScreen)
    assert kept(kept_desk).remark == "fine"
