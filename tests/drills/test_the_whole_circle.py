"""Drill, weak pairs, flight, sheet, import, debrief, cards: once round, on real files."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from drills.service.beginning import begin
from drills.service.desk import Desk
from drills.service.flight_sheets import write_sheets
from drills.service.flight_showing import Asked
from drills.service.intake import read, take_in
from drills.service.planned_flights import find_record, planned_flights
from drills.service.pouring import plan
from drills.service.stock import cellar, import_cellar
from drills.service.tasting import debrief_flight, find_flight
from drills.service.today import today
from drills.service.weak import weak
from tests.desks import Watch, answer_all
from tests.tastings.making import xlsx

PAIR = {"nebbiolo-barolo", "sangiovese-brunello"}
FIRST = """date,flight,called,was
2026-02-27,Lantern hall,Barolo,Brunello
2026-02-27,Lantern hall,Brunello,Barolo
2026-02-27,Lantern hall,Sancerre,NZ Sauvignon Blanc
2026-02-27,Lantern hall,Chablis,Chablis
"""
BOTTLES = """wine,vintage,price,bottles
Barolo,2019,45,2
Brunello di Montalcino,2018,48,1
Sancerre,2022,24,3
Marlborough Sauvignon Blanc,2023,18,1
"""


def filled(sheet: Path, key: Path, called_for: Callable[[str], str]) -> list[list[str]]:
    """A taster's blank table with calls in it, as somebody who knows the key would have them."""
    with key.open(encoding="utf-8-sig", newline="") as stream:
        held = {row["code"]: row["key"] for row in csv.DictReader(stream)}
    with sheet.open(encoding="utf-8-sig", newline="") as stream:
        heads, *rows = list(csv.reader(stream))
    at = {head: place for place, head in enumerate(heads)}
    for row in rows:
        row[at["date"]] = "2026-03-05"
        row[at["called"]] = called_for(held[row[at["code"]]])
        row[at["acid"]], row[at["tannin"]] = "high", "high"
        row[at["sureness"]] = "sure"
    # A glass that nobody poured, and one that nobody called.
    wrong = list(rows[0])
    wrong[at["code"]] = "111"
    rows[-1][at["called"]] = ""
    return [heads, *rows, wrong]


def written(rows: list[list[str]], file: Path) -> Path:
    """The table as a CSV file, or as a spreadsheet."""
    if file.suffix == ".xlsx":
        numbers = [
            [int(cell) if cell.isdecimal() else cell or None for cell in row] for row in rows
        ]
        file.write_bytes(xlsx(numbers))
    else:
        with file.open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream, delimiter=";").writerows(rows)
    return file


@pytest.mark.parametrize("kind", [".csv", ".xlsx"])
def test_once_round_the_circle(
    open_desk: Callable[[], Desk], watch: Watch, tmp_path: Path, kind: str
) -> None:
    # A drill, and a first tasting.
    desk = open_desk()
    session = begin(desk, 2)
    answer_all(session, 6)
    session.end()
    (tmp_path / "first.csv").write_text(FIRST, encoding="utf-8")
    with read(desk, str(tmp_path / "first.csv")) as intake:
        assert take_in(desk, intake).confusions == 3
    before = {(one.called, one.was): one.times for one in weak(desk)}
    assert set(map(frozenset, before)) == {
        frozenset(PAIR),
        frozenset({"sauvignon-sancerre", "sauvignon-marlborough"}),
    }

    # Three days on: the bottles, the flight, its sheets.
    watch.next_morning(3)
    desk = open_desk()
    (tmp_path / "bottles.csv").write_text(BOTTLES, encoding="utf-8")
    assert import_cellar(desk, str(tmp_path / "bottles.csv")).unresolved == ()
    flight = plan(desk, Asked(bottles=4, decoys=0, cellar_only=True, tasters=("Ada",), seed=8))
    assert (flight.coverage.pairs, flight.coverage.to_buy) == (2, 0)
    sheets = write_sheets(desk, None, str(tmp_path / "sheets"))
    blank = next(path for path in sheets.tasters if path.suffix == ".csv")
    key = next(path for path in sheets.helper if path.name == "flight-1-helper-key.csv")

    # The taster calls every wine Barolo or Sancerre, and hands the sheet in.
    reds = {*PAIR}
    rows = filled(blank, key, lambda wine: "Barolo" if wine in reds else "Sancerre")
    file = written(rows, tmp_path / f"filled{kind}")
    with read(desk, str(file)) as intake:
        preview = take_in(desk, intake, dry_run=True)
    assert (preview.pours, preview.confusions) == (3, 0)
    assert any("3 glasses stay sealed" in words for words in preview.warnings)
    assert {row.outcome.was.text for row in preview.shown if hasattr(row.outcome, "was")} == {
        "sealed"
    }
    assert planned_flights(desk)[0].sealed == 4
    assert [row.bottles for row in cellar(desk)] == [2, 1, 3, 1]

    with read(desk, str(file)) as intake:
        taken = take_in(desk, intake)
    assert taken.pours == 3
    assert [(one.row, one.column, one.reason) for one in taken.rejected] == [
        (5, "called", "the call is missing"),
        (6, "code", "flight 1 has no glass 111"),
    ]
    with read(desk, str(file)) as intake:
        again = take_in(desk, intake)
    assert (again.pours, again.already_known) == (0, 3)

    # What was called is revealed, what was not stays sealed; the bottles are counted off.
    now = planned_flights(desk)[0]
    assert (now.state, now.sealed) == ("poured", 1)
    assert sum(row.bottles for row in cellar(desk)) == 7 - 3

    # The debrief, as of any tasting.
    kept = find_flight(desk, "Flight 1")
    debriefed = debrief_flight(desk, kept)
    assert kept.tasted_on is not None
    assert kept.tasted_on.isoformat() == "2026-03-05"
    assert len(debriefed.pours) == 3
    assert all(one.debrief is not None for one in debriefed.pours)
    wrong = [one.pour for one in debriefed.pours if one.pour.final.wine != one.pour.reveal.wine]
    assert len(wrong) == taken.confusions >= 1

    # The same confusions are counted, and stand at the head of the next drill.
    desk = open_desk()
    after = {(one.called, one.was): one.times for one in weak(desk)}
    for pour in wrong:
        way = (pour.final.wine or "", pour.reveal.wine or "")
        assert after[way] == before.get(way, 0) + 1
    assert today(desk).confused > 0
    showing = begin(desk, 2).next()
    assert showing is not None
    shown = {showing.question.left, showing.question.right}
    assert shown in [{pour.final.wine, pour.reveal.wine} for pour in wrong]

    # The glass that was missing comes later, typed by its code.
    assert find_record(desk).state == "poured"
    last = next(row for row in rows[1:] if row[rows[0].index("called")] == "")
    late = tmp_path / "late.csv"
    code = last[rows[0].index("code")]
    late.write_text(f"code,called\n{code},Barolo\n", encoding="utf-8")
    with read(desk, str(late)) as intake:
        assert take_in(desk, intake).pours == 1
    assert planned_flights(desk)[0].state == "done"
    assert sum(row.bottles for row in cellar(desk)) == 7 - 4
