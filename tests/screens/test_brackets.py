"""Square brackets in names and tastings stand as they are: nothing typed is read as markup."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import TextArea

from drills.screens.home import HomeScreen
from drills.screens.intake import IntakeScreen
from drills.screens.summary import SummaryScreen
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from tests.desks import Watch, answer_all, mix_up
from tests.screens.logged import NEAR
from tests.screens.terminal import current, drilling, opened, rows_of, seen, settled

HOSTILE = "[red]Château [/] [b"


@pytest.fixture
def hostile(home: Path, watch: Watch) -> Desk:
    """A desk whose own profiles and log are full of what a terminal library reads as markup."""
    folder = home / "table" / "white"
    folder.mkdir(parents=True)
    for wine in NEAR:
        (folder / f"{wine}.toml").write_text(
            f'name = "{HOSTILE}{wine[10:]}"\nshort = "{HOSTILE}"\ntelling = "[/nope] {HOSTILE}"\n'
            f'[place]\nregion = "{HOSTILE}"\n',
            encoding="utf-8",
        )
    (home / "table" / "causes.toml").write_text(
        "".join(
            f'[[causes]]\ncue = "{cue}"\nwines = {list(NEAR)}\nbecause = "{HOSTILE}"\n'
            for cue in ("acid", "alcohol", "passion-fruit", "flint")
        ).replace("'", '"'),
        encoding="utf-8",
    )
    (home / "table" / "lexicon.toml").write_text(
        f'[descriptors.passion-fruit]\nname = "{HOSTILE}"\n', encoding="utf-8"
    )
    desk = Desk(clock=watch.clock)
    mix_up(desk, *NEAR, flight=HOSTILE)
    return desk


async def test_square_brackets_in_names_stand_as_they_are_on_every_screen(
    hostile: Desk, watch: Watch
) -> None:
    answer_all(DrillSession(hostile, 600, pair=NEAR), 3)
    watch.next_morning(9)
    async with opened(hostile, HomeScreen, size=(100, 40)) as pilot:
        await pilot.press("w")
        await settled(pilot)
        assert HOSTILE in seen(pilot)
        await pilot.press("d")
        await pilot.pause()
        screen = drilling(pilot)
        assert HOSTILE in seen(pilot)
        for _ in range(5):
            if pilot.app.screen is not screen:
                break
            assert screen.showing is not None
            if screen.showing.question.options:
                await pilot.press("1")
            await pilot.press("a", "w")
            await pilot.pause()
            assert HOSTILE in seen(pilot)
            await pilot.press("escape", "space")
        await pilot.press("escape")
        await pilot.pause()
        current(pilot, SummaryScreen)
    hostile.close()


async def test_square_brackets_in_a_tasting_stand_as_they_are(desk: Desk) -> None:
    async with opened(desk, IntakeScreen) as pilot:
        area = current(pilot, IntakeScreen).query_one(TextArea)
        area.text = f"{HOSTILE} > Barolo # {HOSTILE}\n[/b] [link=x] > [@click=app.quit]x[/]\n[/]"
        await pilot.press("f2")
        rows = await rows_of(pilot)
        assert f"? {HOSTILE}" in rows[0][2]
        assert HOSTILE in seen(pilot)
        await pilot.press("f3")
        await settled(pilot)
        kept = desk.repository.pours(desk.taster.id)
        assert kept[0].draft.called_text == HOSTILE
