"""One flight for several tasters of a database: each joins its key and opens their own glasses."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from drills.errors import NotPossibleError
from drills.service.desk import Desk
from drills.service.flight_sheets import write_sheets
from drills.service.flight_showing import Asked
from drills.service.glasses import log_planned, open_glass
from drills.service.intake import read, take_in
from drills.service.planned_flights import (
    find_record,
    look,
    planned_flights,
    reveal_codes,
    reveal_next,
)
from drills.service.pouring import plan
from drills.tastings.drafts import Named
from drills.tastings.notes import FullFlight, FullPour, Note, Verdict
from tests.desks import START, Watch, mix_up


@pytest.fixture
def desks(open_desk: Callable[[], Desk], watch: Watch) -> Iterator[dict[str, Desk]]:
    """A helper who planned a flight for Ada and Ben, and both of them at the same file."""
    helper = open_desk()
    mix_up(helper, "sauvignon-sancerre", "sauvignon-marlborough", times=2)
    for name in ("Ada", "Ben", "Cleo"):
        helper.repository.taster(name)
    plan(helper, Asked(bottles=4, decoys=1, tasters=("Ada", "ben"), seed=2))
    own = {name: Desk(clock=watch.clock, taster=name) for name in ("Ada", "Ben", "Cleo")}
    for desk in own.values():
        desk.table, desk.cellar = helper.table, helper.cellar
    yield {"helper": helper, **own}
    for desk in own.values():
        desk.close()


def filled(sheet: Path, *, leave: int = 0) -> Path:
    """A blank sheet with calls in it, the last `leave` rows left out."""
    with sheet.open(encoding="utf-8-sig", newline="") as stream:
        heads, *rows = list(csv.reader(stream))
    for row in rows:
        row[heads.index("called")] = "Sancerre"
    done = sheet.with_name(f"filled-{sheet.name}")
    with done.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([heads, *rows[: len(rows) - leave]])
    return done


def import_sheet(desk: Desk, sheet: Path) -> int:
    with read(desk, str(sheet)) as intake:
        return take_in(desk, intake).pours


def test_each_taster_imports_their_sheet_and_opens_glasses_for_themselves_alone(
    desks: dict[str, Desk], tmp_path: Path
) -> None:
    helper, ada, ben = desks["helper"], desks["Ada"], desks["Ben"]
    written = write_sheets(helper, 1, str(tmp_path))
    sheets = [path for path in written.tasters if path.suffix == ".csv"]
    assert import_sheet(ada, filled(sheets[0], leave=1)) == 3
    assert [one.sealed for one in planned_flights(ada)] == [1]
    for other in (ben, helper):
        assert [one.sealed for one in planned_flights(other)] == [4]
        assert [one.state for one in planned_flights(other)] == ["planned"]
    assert import_sheet(ben, filled(sheets[1])) == 4
    assert [(one.sealed, one.state) for one in planned_flights(ben)] == [(0, "done")]
    assert [one.sealed for one in planned_flights(ada)] == [1]
    key = {g.code: g.contents for g in look(find_record(helper, 1), unsealed=True).glasses}
    logged = {pour.draft.was_wine for pour in ben.repository.pours(ben.taster.id)}
    assert logged == {one.wine for one in key.values() if one is not None}


def test_a_flight_shows_its_taster_who_planned_it_and_their_own_order(
    desks: dict[str, Desk],
) -> None:
    (seen,) = planned_flights(desks["Ben"])
    assert (seen.planner, seen.sentence) == ("me", "planned by “me”")
    assert seen.glasses == seen.in_order("ben")
    assert planned_flights(desks["Cleo"]) == []
    with pytest.raises(NotPossibleError, match="no flight is planned"):
        find_record(desks["Cleo"], 1)


def test_who_did_not_plan_a_flight_neither_reveals_it_for_all_nor_writes_its_key(
    desks: dict[str, Desk], tmp_path: Path
) -> None:
    ada = desks["Ada"]
    code = find_record(ada, 1).pours[0].code
    for forbidden in (
        lambda: reveal_codes(ada, 1, [code]),
        lambda: reveal_next(ada),
        lambda: write_sheets(ada, 1, str(tmp_path / "key")),
    ):
        with pytest.raises(NotPossibleError, match="planned by “me”, who keeps its key"):
            forbidden()
    assert not (tmp_path / "key").exists()
    blank = write_sheets(ada, 1, str(tmp_path / "blank"), only_tasters=True)
    assert blank.helper == ()
    assert planned_flights(desks["helper"])[0].sealed == 4


def test_what_the_helper_reveals_stays_sealed_for_who_has_not_called_it(
    desks: dict[str, Desk],
) -> None:
    helper, ada = desks["helper"], desks["Ada"]
    reveal_codes(helper, 1, [pour.code for pour in find_record(helper, 1).pours])
    assert planned_flights(helper)[0].state == "done"
    assert planned_flights(ada)[0].sealed == 4
    assert all(pour.wine is None for pour in find_record(ada, 1).pours)


def test_a_glass_called_on_the_screen_is_told_to_its_taster_and_kept_in_their_log(
    desks: dict[str, Desk],
) -> None:
    helper, ada = desks["helper"], desks["Ada"]
    code = find_record(ada, 1).pours[0].code
    held = open_glass(ada, 1, code)
    assert planned_flights(helper)[0].sealed == 4
    pour = FullPour(1, first=Verdict("", None), final=Verdict("Chablis", "chardonnay-chablis"))
    flight = FullFlight(name="Flight 1", tasted_on=START.date(), pours=(pour,))
    log_planned(ada, flight, 1, {1: code})
    (logged,) = ada.repository.pours(ada.taster.id)
    assert logged.draft.was_wine == held.wine
    assert Named(logged.draft.was_text, logged.draft.was_wine) == Named(held.text, held.wine)
    assert [one.sealed for one in planned_flights(ada)] == [3]
    with pytest.raises(NotPossibleError, match="no glass 1"):
        open_glass(ada, 1, 1)


def test_a_helper_does_not_take_a_tasters_sheet_in_as_their_own(
    desks: dict[str, Desk], tmp_path: Path
) -> None:
    helper = desks["helper"]
    sheet = filled(write_sheets(helper, 1, str(tmp_path)).tasters[1])
    with read(helper, str(sheet)) as intake:
        taken = take_in(helper, intake)
    assert taken.pours == 0
    assert {one.reason for one in taken.rejected} == {
        "flight 1 was poured for Ada, ben: say whose sheet this is with --taster NAME"
    }
    assert planned_flights(helper)[0].sealed == 4


def test_undoing_the_import_seals_the_glasses_again(desks: dict[str, Desk], tmp_path: Path) -> None:
    helper, ben = desks["helper"], desks["Ben"]
    sheet = write_sheets(helper, 1, str(tmp_path)).tasters[3]
    import_sheet(ben, filled(sheet))
    assert planned_flights(ben)[0].sealed == 0
    (intake,) = ben.repository.intakes(ben.taster.id)
    ben.repository.undo_intake(intake.id)
    assert planned_flights(ben)[0].sealed == 4


def test_a_note_half_entered_is_added_to_the_glass_that_a_sheet_brought_meanwhile(
    desks: dict[str, Desk], tmp_path: Path
) -> None:
    helper, ada = desks["helper"], desks["Ada"]
    code, other = (pour.code for pour in find_record(ada, 1).pours[:2])
    first = FullPour(1, note=Note(nose="smoke", free=("rust",)), final=Verdict("Chablis"))
    second = FullPour(2, first=Verdict("", None), final=Verdict("Chablis", "chardonnay-chablis"))
    flight = FullFlight(name="Flight 1", tasted_on=START.date(), pours=(first, second))
    draft = ada.repository.save_draft(ada.taster.id, "{}")
    sheet = write_sheets(helper, 1, str(tmp_path), only_tasters=True).tasters[0]
    assert sheet.suffix == ".html"
    import_sheet(ada, filled(sheet.with_suffix(".csv")))

    kept = log_planned(ada, flight, 1, {1: code, 2: other}, draft_id=draft)
    assert kept.known_codes == (code, other)
    assert kept.sentence == (
        f"Glasses {code}, {other} were in the log already; what you typed was added there."
    )
    assert ada.repository.drafts(ada.taster.id) == []
    rows = ada.repository.pours(ada.taster.id, full=True)
    assert len(rows) == 4
    assert {row.flight_id for row in rows} == {kept.id}
    (row,) = (one for one in rows if one.draft.nose)
    assert [one.draft.note for one in rows].count("called Chablis") == 2
    assert (row.draft.called_text, row.draft.nose) == ("Sancerre", "smoke")
    assert [one.typed for one in row.draft.observations] == ["rust"]
    fields = {change.field for change in ada.repository.changes(row.id)}
    assert {"note", "nose"} <= fields

    again = log_planned(ada, flight, 1, {1: code, 2: other})
    assert again == kept
    assert ada.repository.pours(ada.taster.id, full=True) == rows


def test_of_a_flight_half_in_the_log_the_rest_is_kept_as_entered(desks: dict[str, Desk]) -> None:
    ada = desks["Ada"]
    code, other = (pour.code for pour in find_record(ada, 1).pours[:2])
    one = FullPour(1, final=Verdict("Chablis", "chardonnay-chablis"))
    flight = FullFlight(name="Flight 1", tasted_on=START.date(), pours=(one,))
    assert log_planned(ada, flight, 1, {1: code}).sentence == ""
    both = replace(flight, pours=(replace(one, remark="flat"), replace(one, position=2)))
    kept = log_planned(ada, both, 1, {1: code, 2: other})
    assert kept.sentence == (
        f"Glass {code} was in the log already; what you typed was added there."
    )
    rows = ada.repository.pours(ada.taster.id)
    assert [row.draft.note for row in rows] == ["flat", ""]
    assert rows[1].flight_id == kept.id != rows[0].flight_id
