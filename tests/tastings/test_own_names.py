"""A name that the taster explained is known everywhere."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from drills.cli import main
from drills.errors import NotPossibleError, UsageError
from drills.service.desk import Desk
from drills.service.tasting import log_flight, remember_name
from drills.tastings.drafts import Named
from drills.tastings.notes import Candidate, Verdict
from tests.tastings.logged import MARLBOROUGH, SANCERRE, flight, pour


def test_a_name_once_explained_is_known_everywhere(open_desk: Callable[[], Desk]) -> None:
    desk = open_desk()
    waiting = [
        pour(1, None, final=Verdict("Zzyxcru")),
        pour(2, None, final=Verdict("  ZZYXCRÚ ")),
        pour(3, reveal=Named("Zzyxcru"), candidates=(Candidate("zzyxcru"),)),
        pour(4, None, final=Verdict("Zzyxcru", MARLBOROUGH)),
    ]
    log_flight(desk, flight(*waiting))
    assert desk.names.resolve("zzyxcru").wine is None
    syrah = "syrah-northern-rhone"
    assert remember_name(desk, "Zzyxcru", syrah) == 3
    assert desk.names.resolve("zzyxcru").wine == syrah
    assert open_desk().names.resolve("Zzyxcru").wine == syrah
    kept = [one.draft for one in desk.repository.pours(desk.taster.id, full=True)]
    assert [one.called_wine for one in kept] == [syrah, syrah, MARLBOROUGH, MARLBOROUGH]
    assert [one.called_text for one in kept] == ["Zzyxcru", "  ZZYXCRÚ ", "Marlborough", "Zzyxcru"]
    assert kept[2].was_wine == syrah
    urgent = {
        (row.contrast.wine_a, row.contrast.wine_b)
        for row in desk.repository.urgent(desk.taster.id, 99)
    }
    assert (SANCERRE, syrah) in urgent
    assert (MARLBOROUGH, syrah) in urgent
    assert remember_name(desk, "Zzyxcru", syrah) == 0


def test_a_name_cannot_stand_for_nothing(desk: Desk) -> None:
    with pytest.raises(UsageError, match="is no name"):
        remember_name(desk, " ?! ", SANCERRE)
    with pytest.raises(NotPossibleError, match="has no wine “no-such-wine”"):
        remember_name(desk, "Zzyxcru", "no-such-wine")
    assert desk.repository.own_names(desk.taster.id) == []


def test_looking_up_a_wine_makes_no_database(tmp_path: Path) -> None:
    file = tmp_path / "new.sqlite3"
    assert main(["--database", str(file), "laterals", "Sancerre"]) == 0
    assert not file.exists()
    file.write_bytes(b"no database at all" * 99)
    assert main(["--database", str(file), "laterals", "Sancerre"]) == 0
    assert file.read_bytes() == b"no database at all" * 99
