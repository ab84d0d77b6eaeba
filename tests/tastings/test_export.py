"""The log as a file: it comes back without loss, harms no spreadsheet, and is written whole."""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from cards.cellar import Cellar
from cards.scale import Level
from cards.tables import Table
from drills.errors import UsageError
from drills.service.desk import Desk
from drills.service.export import export
from drills.service.intake import read_lines, take_in
from drills.service.pours import pour_draft
from drills.service.tasting import change_pour, log_flight
from drills.service.writing import WriteError
from drills.storage.records import IntakeDraft as StoredIntake
from drills.tastings.drafts import Named
from drills.tastings.export import KeptPour
from drills.tastings.notes import Candidate, FullFlight, FullPour, Note, Verdict
from tests.desks import Watch
from tests.examples import examples
from tests.tastings.logged import full_flight, log, taken
from tests.tastings.strategies import TASTINGS

EXAMPLES = examples(20)

Opening = Callable[[str], Desk]


@pytest.fixture
def opening(home: Path, watch: Watch, table: Table, cellar: Cellar) -> Iterator[Opening]:
    """Open a database of a name; one that is not there yet is empty."""
    desks: list[Desk] = []

    def open_one(name: str) -> Desk:
        desk = Desk(str(home / f"{name}.sqlite3"), clock=watch.clock)
        desk.table, desk.cellar = table, cellar
        desks.append(desk)
        return desk

    yield open_one
    for desk in desks:
        desk.close()


@pytest.fixture
def three(opening: Opening) -> tuple[Desk, Desk, Desk]:
    return opening("one"), opening("two"), opening("three")


@pytest.mark.parametrize("name", ["all.csv", "all.jsonl"])
def test_an_export_into_an_empty_database_is_the_same_log(
    opening: Opening, tmp_path: Path, name: str
) -> None:
    here, there = opening("here"), opening("there")
    log_flight(here, full_flight())
    with read_lines(
        here, io.StringIO("2025-05-03 Plonk > Barolo # dry\nSancerre 2019 > Barolo")
    ) as one:
        take_in(here, one)
    # An edit keeps the fingerprint: the pour is still the same.
    record = here.repository.pours(here.taster.id, full=True)[0]
    change_pour(here, record.id, FullPour(1, final=Verdict("Chablis"), reveal=Named("Barolo")))
    file = tmp_path / name
    assert export(here, str(file)) == 4
    done = taken(there, file)
    assert (done.pours, len(done.rejected), len(done.unread)) == (4, 0, 0)
    assert log(there) == log(here)
    # Taken in where it came from it changes nothing.
    assert (taken(here, file).pours, len(log(here))) == (0, 4)
    # And out again it is the same file.
    second = tmp_path / f"second-{name}"
    export(there, str(second))
    lines = [sorted(one.read_text("utf-8").splitlines()) for one in (file, second)]
    assert lines[0] == lines[1]


def emptied(desk: Desk) -> Desk:
    """The database without any tasting; making a new one takes a second."""
    with desk.repository.writing() as connection:
        for name in ("pour", "flight", "intake"):
            connection.exec_driver_sql(f"DELETE FROM {name}")
    return desk


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(tastings=TASTINGS)
def test_any_log_comes_back_from_both_kinds_of_file(
    three: tuple[Desk, Desk, Desk], tmp_path: Path, tastings: list[KeptPour]
) -> None:
    here, *others = map(emptied, three)
    here.repository.record_pours(
        here.taster.id,
        StoredIntake("test", "digest", here.clock.now()),
        [
            pour_draft(one.pour, flight=one.flight, tasted_on=one.day, fingerprint=one.fingerprint)
            for one in tastings
        ],
    )
    wanted = log(here)
    assert len(wanted) == len(tastings)
    for there, name in zip(others, ("a.csv", "a.jsonl"), strict=True):
        file = tmp_path / name
        assert export(here, str(file), overwrite=True) == len(tastings)
        if tastings:
            taken(there, file)
        assert log(there) == wanted


def rewritten(text: str, delimiter: str, change: Callable[[str, str], str]) -> str:
    """A table as a spreadsheet writes it: other separators, every cell through `change`."""
    rows = list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline="")))
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, quoting=csv.QUOTE_ALL, lineterminator="\n")
    writer.writerow(rows[0])
    writer.writerows(
        [change(head, cell) for head, cell in zip(rows[0], row, strict=True)] for row in rows[1:]
    )
    return out.getvalue()


def german(heading: str, cell: str) -> str:
    """A cell as a spreadsheet in German would write it."""
    if heading == "date":
        return re.sub(r"(\d{4})-(\d\d)-(\d\d)", r"\3.\2.\1", cell)
    if re.fullmatch(r"\d+\.\d+", cell):
        # A number loses the zeros at its end and gets a comma.
        return f"{float(cell):g}".replace(".", ",")
    return cell


def test_an_export_that_went_through_a_spreadsheet_is_known_again(
    desk: Desk, tmp_path: Path
) -> None:
    flight = full_flight()
    priced = FullPour(
        3, Note({"alcohol": 12.5}), final=Verdict("Chablis"), reveal=Named("Barolo"), price="25.00"
    )
    log_flight(desk, FullFlight(flight.name, flight.tasted_on, (*flight.pours, priced)))
    file = tmp_path / "all.csv"
    export(desk, str(file))
    text = file.read_text("utf-8")
    for delimiter, encoding in ((";", "cp1252"), ("\t", "utf-16"), (",", "utf-8-sig")):
        file.write_bytes(rewritten(text, delimiter, german).encode(encoding))
        done = taken(desk, file)
        assert (done.pours, done.already_known, done.warnings) == (0, 3, ()), delimiter


def test_an_edited_row_comes_in_as_a_new_pour_and_says_so(desk: Desk, tmp_path: Path) -> None:
    log_flight(desk, full_flight())
    file = tmp_path / "all.csv"
    export(desk, str(file))
    file.write_text(file.read_text("utf-8").replace("Marlborough", "Chablis"), encoding="utf-8")
    done = taken(desk, file)
    assert (done.pours, done.already_known) == (1, 1)
    assert any("1 exported row edited since" in warning for warning in done.warnings)
    # The call that was edited counts, not the key that stood beside the old one.
    drafts = [one.draft for one in desk.repository.pours(desk.taster.id, full=True)]
    edited = next(one for one in drafts if one.called_text == "Chablis")
    assert edited.called_wine == "chardonnay-chablis"
    assert {row.typed for row in edited.observations if not row.attribute} >= {
        "like rain; on stone"
    }


RUNS = ("=", "+", "-", "@", "＝", "＋", "－", "＠", "\t", "\r")


def test_no_cell_of_an_export_runs_as_a_formula(desk: Desk, tmp_path: Path) -> None:
    hostile = ["=1+1", "+1", "-2", "@x", "\t=1", " =1", "'=1", "＝1", "-", '=HYPERLINK("x")']
    pours = [
        FullPour(
            place,
            Note(
                {"acid": Level.LOW, "lemon": True},
                free=(text, text),
                appearance=text,
                nose=text,
                age=text,
                typed={"acid": text, "lemon": text},
            ),
            (Candidate(text, None, text),),
            Verdict(text),
            Verdict(text),
            Named(text),
            Named(text),
            price=text,
            remark=text,
        )
        for place, text in enumerate(hostile, 1)
    ]
    log_flight(desk, FullFlight("=flight", None, tuple(pours)))
    file = tmp_path / "all.csv"
    export(desk, str(file))
    rows = list(csv.reader(io.StringIO(file.read_text("utf-8-sig"))))
    assert len(rows) == 1 + len(hostile)
    cells = [cell for row in rows for cell in row]
    assert sum("=1" in cell for cell in cells) > 20
    for cell in cells:
        assert not cell.lstrip(" '\n").startswith(RUNS) or cell.startswith("'"), cell


@pytest.mark.parametrize("name", ["all.xlsx", "all", "all.txt"])
def test_an_export_needs_to_know_its_kind(desk: Desk, tmp_path: Path, name: str) -> None:
    with pytest.raises(UsageError, match=r"\.csv or \.jsonl"):
        export(desk, str(tmp_path / name))


def test_an_export_writes_over_nothing_unasked_and_leaves_nothing_half(
    desk: Desk, tmp_path: Path
) -> None:
    file = tmp_path / "all.csv"
    file.write_text("mine", encoding="utf-8")
    with pytest.raises(WriteError, match="is there already"):
        export(desk, str(file))
    assert file.read_text("utf-8") == "mine"
    assert export(desk, str(file), overwrite=True) == 0
    with pytest.raises(WriteError, match="cannot be written"):
        export(desk, str(tmp_path / "no folder" / "all.csv"))
    assert {*os.listdir(tmp_path)} - {"home"} == {"all.csv"}


def test_an_export_that_fails_half_way_leaves_the_old_file(
    desk: Desk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import drills.service.export as module

    def breaking(_: Any) -> Iterator[str]:
        yield "half"
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(module, "json_lines", breaking)
    file = tmp_path / "all.jsonl"
    file.write_text("old", encoding="utf-8")
    with pytest.raises(WriteError, match="No space left"):
        export(desk, str(file), overwrite=True)
    assert file.read_text("utf-8") == "old"
    assert not [name for name in os.listdir(tmp_path) if name.endswith(".part")]
