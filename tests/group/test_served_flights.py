"""A flight planned on a group's server: who is named in it joins, and no login reads its key."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import psycopg
import pytest

from drills.commands.flight_text import flight_json
from drills.errors import NotPossibleError
from drills.service import group
from drills.service.desk import Desk
from drills.service.flight_sheets import write_sheets
from drills.service.flight_showing import Asked, PlannedFlight
from drills.service.glasses import codes_to_taste, log_planned, open_glass
from drills.service.intake import Taken, read, take_in
from drills.service.planned_flights import find_record, look, planned_flights, reveal_codes
from drills.service.pouring import plan
from drills.storage.tables import metadata
from drills.tastings.drafts import Named
from drills.tastings.notes import FullFlight, FullPour, Note, Verdict
from tests.desks import START, mix_up
from tests.drills.test_shared_flights import filled
from tests.server import Server

TASTERS = ("Helper", "Ada", "Ben", "Cleo")
CHABLIS = Verdict("Chablis", "chardonnay-chablis")


@pytest.fixture
def desks(server: Server, database: str, open_group_desk: Callable[[str], Desk]) -> dict[str, Desk]:
    """Four tasters, each with their own login; Helper planned a flight for Ada and Ben."""
    known = {row[0] for row in server.run("SELECT rolname FROM pg_roles")}
    owner = open_group_desk(server.url(database))
    for name in TASTERS:
        if name.lower() not in known:
            server.run(f"CREATE ROLE {name.lower()} LOGIN")
        owner.repository.add_taster(name, name.lower())
    found = {name: open_group_desk(server.url(database, name.lower())) for name in TASTERS}
    helper = found["Helper"]
    mix_up(helper, "sauvignon-sancerre", "sauvignon-marlborough", times=2)
    plan(helper, Asked(bottles=4, decoys=1, tasters=("Ada", "ben"), seed=2))
    return {"owner": owner, **found}


def key(desks: dict[str, Desk]) -> PlannedFlight:
    """All that the planner knows."""
    return look(find_record(desks["Helper"], 1), unsealed=True)


def codes(desk: Desk) -> list[int]:
    return [pour.code for pour in find_record(desk, 1).pours]


def bring_in(desk: Desk, sheet: Path) -> Taken:
    with read(desk, str(sheet)) as intake:
        return take_in(desk, intake)


def all_that_sql_gives(server: Server, database: str, login: str) -> str:
    """Every row of every table and function that a login may read, as one text."""
    where = f"host=127.0.0.1 port={server.port} dbname={database} user={login}"
    said = []
    with psycopg.connect(where, autocommit=True) as connection:
        tables = [table.name for table in metadata.sorted_tables if table.name != "contrast"]
        for name in (*tables, "crosspour_served()", "crosspour_last_flight()"):
            said += [str(row) for row in connection.execute(f"SELECT * FROM {name}")]  # type: ignore[call-overload]
    return "\n".join(said)


def test_who_is_named_sees_the_flight_and_nobody_else_does(desks: dict[str, Desk]) -> None:
    for name in ("Ada", "Ben"):
        (seen,) = planned_flights(desks[name])
        assert (seen.number, seen.planner, seen.tasters) == (1, "Helper", ("Ada", "ben"))
        assert sorted(glass.code for glass in seen.glasses) == codes(desks["Helper"])
        assert seen.glasses == seen.in_order(seen.served_as(name))
        assert (seen.sealed, seen.asked.seed, seen.state) == (4, None, "planned")
        told = flight_json(seen)
        hidden = ("seed", "covers", "choice", "balance", "to_buy", "cost")
        assert [told[name] for name in hidden] == [None] * 6
        assert len(codes_to_taste(desks[name], seen)) == 4
    assert flight_json(key(desks))["covers"]["weak_pairs"] == 1
    assert planned_flights(desks["Cleo"]) == []


@pytest.mark.parametrize("name", ["Ada", "Cleo"])
def test_before_the_reveal_no_login_reads_seal_key_or_wine_with_any_program(
    desks: dict[str, Desk], server: Server, database: str, name: str
) -> None:
    told = all_that_sql_gives(server, database, name.lower())
    record = find_record(desks["Helper"], 1)
    assert (str(codes(desks["Helper"])[0]) in told) is (name == "Ada")
    for secret in (record.seal, str(record.seed), *(pour.sealed for pour in record.pours)):
        if len(secret) > 3:
            assert secret not in told
    for glass in key(desks).glasses:
        assert glass.contents is not None
        assert glass.contents.wine not in told
    assert "covers" not in told
    assert "coverage" not in told


def test_of_a_revealed_glass_a_named_login_reads_its_wine_and_of_the_rest_nothing(
    desks: dict[str, Desk], server: Server, database: str
) -> None:
    first, *rest = key(desks).glasses
    reveal_codes(desks["Helper"], 1, [first.code])
    told = all_that_sql_gives(server, database, "ada")
    assert first.contents is not None
    assert first.contents.wine in told
    assert first.contents.sentence not in told
    for glass in rest:
        assert glass.contents is not None
        assert glass.contents.wine == first.contents.wine or glass.contents.wine not in told
    assert first.contents.wine not in all_that_sql_gives(server, database, "cleo")
    # The program still keeps it from a taster who has not called the glass.
    assert planned_flights(desks["Ada"])[0].sealed == 4


def test_a_sheet_is_taken_in_once_its_glasses_are_revealed_and_opens_them_for_its_taster_alone(
    desks: dict[str, Desk], tmp_path: Path
) -> None:
    helper, ada, ben = desks["Helper"], desks["Ada"], desks["Ben"]
    blank = write_sheets(ada, 1, str(tmp_path), only_tasters=True)
    sheet = filled(next(one for one in blank.tasters if one.name.endswith("ada.csv")))
    early = bring_in(ada, sheet)
    assert early.pours == 0
    assert [one.reason for one in early.rejected] == [
        f"glass {glass.code} of flight 1 is sealed until “Helper” reveals it; take the sheet in "
        "again then"
        for glass in planned_flights(ada)[0].glasses
    ]
    reveal_codes(helper, 1, codes(helper)[:3])
    assert bring_in(ada, sheet).pours == 3
    reveal_codes(helper, 1, codes(helper))
    assert bring_in(ada, sheet).pours == 1
    (seen,) = planned_flights(ada)
    assert (seen.sealed, seen.state) == (0, "done")
    want = {one.code: one.contents and one.contents.wine for one in key(desks).glasses}
    assert {one.code: one.contents and one.contents.wine for one in seen.glasses} == want
    assert all(one.contents and one.contents.text for one in seen.glasses)
    logged = ada.repository.pours(ada.taster.id)
    assert sorted(one.draft.was_wine or "" for one in logged) == sorted(
        wine or "" for wine in want.values()
    )
    assert planned_flights(ben)[0].sealed == 4


def test_a_note_at_the_table_waits_for_the_reveal_and_is_kept_after_it(
    desks: dict[str, Desk],
) -> None:
    ada = desks["Ada"]
    code = codes(ada)[0]
    flight = FullFlight("Flight 1", START.date(), (FullPour(1, Note(nose="smoke"), final=CHABLIS),))
    draft = ada.repository.save_draft(ada.taster.id, "{}")
    for early in (
        lambda: open_glass(ada, 1, code),
        lambda: log_planned(ada, flight, 1, {1: code}, draft_id=draft),
    ):
        with pytest.raises(NotPossibleError, match="is sealed until “Helper” reveals it"):
            early()
    assert len(ada.repository.drafts(ada.taster.id)) == 1
    reveal_codes(desks["Helper"], 1, [code])
    held = open_glass(ada, 1, code)
    log_planned(ada, flight, 1, {1: code}, draft_id=draft)
    (logged,) = ada.repository.pours(ada.taster.id)
    assert Named(logged.draft.was_text, logged.draft.was_wine) == Named(
        ada.short(held.wine), held.wine
    )
    assert ada.repository.drafts(ada.taster.id) == []
    assert planned_flights(ada)[0].sealed == 3


def test_what_was_read_out_may_be_typed_and_the_pour_is_known_by_its_glass(
    desks: dict[str, Desk],
) -> None:
    ada = desks["Ada"]
    code = codes(ada)[0]
    pour = FullPour(1, final=CHABLIS, reveal=Named("Sancerre", "sauvignon-sancerre"))
    log_planned(ada, FullFlight("Flight 1", None, (pour,)), 1, {1: code})
    (seen,) = planned_flights(ada)
    assert code not in codes_to_taste(ada, seen)
    assert seen.sealed == 4


def test_numbers_of_flights_go_on_whoever_plans_and_no_login_touches_anothers_flight(
    desks: dict[str, Desk], server: Server, database: str
) -> None:
    mine = plan(desks["Ada"], Asked(bottles=2, decoys=0, tasters=("Ada", "Cleo"), seed=1))
    assert mine.number == 2
    assert [one.number for one in planned_flights(desks["Ada"])] == [2, 1]
    where = f"host=127.0.0.1 port={server.port} dbname={database} user=ben"
    with psycopg.connect(where, autocommit=True) as ben:
        for words in (
            "UPDATE planned_pour SET revealed_at = now()",
            "DELETE FROM planned_flight",
            "UPDATE planned_serving SET taster = 'Cleo'",
        ):
            assert ben.execute(words).rowcount == 0  # type: ignore[call-overload]
    with pytest.raises(NotPossibleError, match="who keeps its key"):
        reveal_codes(desks["Ben"], 1, codes(desks["Ben"])[:1])


def test_a_server_that_an_earlier_version_furnished_shows_own_flights_until_it_is_refreshed(
    desks: dict[str, Desk], server: Server, database: str
) -> None:
    server.run("DROP FUNCTION crosspour_served(); DROP FUNCTION crosspour_last_flight()", database)
    assert planned_flights(desks["Ada"]) == []
    assert len(planned_flights(desks["Helper"])) == 1
    assert group.refresh(desks["owner"]) > 0
    assert len(planned_flights(desks["Ada"])) == 1
