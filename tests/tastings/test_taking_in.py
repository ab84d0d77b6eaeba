"""From files to the log and back: kept whole, taken back whole, exported without loss."""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from cards.cellar import Cellar
from cards.scale import Level
from cards.tables import Table
from drills.cli import main
from drills.errors import IntakeError, NotPossibleError, UsageError
from drills.service.desk import Desk
from drills.service.export import export, kept_pours
from drills.service.imports import imports, take_back
from drills.service.intake import Taken, read, read_lines, take_in
from drills.service.pours import pour_draft
from drills.service.tasting import change_pour, log_flight
from drills.service.writing import WriteError
from drills.storage.records import IntakeDraft as StoredIntake
from drills.tastings.drafts import Named, PourDraft
from drills.tastings.export import KeptPour
from drills.tastings.notes import Candidate, FullFlight, FullPour, Note, Verdict
from tests.desks import Watch
from tests.examples import examples
from tests.tastings.making import xlsx
from tests.tastings.strategies import TASTINGS

EXAMPLES = examples(20)
SANCERRE, MARLBOROUGH = "sauvignon-sancerre", "sauvignon-marlborough"
LIST = (
    "date,flight,called,was\n2025-05-03,A,Sancerre,NZ Sauvignon Blanc\n2025-05-03,A,Plonk,Barolo\n"
)

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


def taken(desk: Desk, file: Path, *, dry_run: bool = False) -> Taken:
    with read(desk, str(file)) as intake:
        return take_in(desk, intake, dry_run=dry_run)


def log(desk: Desk) -> list[KeptPour]:
    return sorted(kept_pours(desk), key=lambda one: one.fingerprint)


def full_flight() -> FullFlight:
    """A flight with everything in it, as the tasting screen would keep it."""
    note = Note(
        {"acid": Level.HIGH, "alcohol": 13.5, "petrol": False, "lemon": True, "hue": "straw"},
        free=("like rain; on stone", "=1+1"),
        nose="lemon, later\nhay",
        world="old",
        typed={"acid": "sharp!", "lemon": "citron"},
    )
    first = FullPour(
        1,
        note,
        (Candidate("Chablis", "chardonnay-chablis", "no [flint]"), Candidate("Steen?")),
        Verdict("Sancerre", SANCERRE, 2021, 1),
        Verdict("Marlborough", MARLBOROUGH, 2022, 3),
        Named("Rueda"),
        Named("Sancerre", SANCERRE),
        2020,
        13.0,
        "=25.00",
        95.125,
        " well; \n- then",
    )
    return FullFlight("  Tues; day", date(2025, 5, 3), (first, FullPour(2, remark="no call")))


# Keeping


def test_a_file_is_kept_once_and_its_pairs_come_to_the_head(desk: Desk, tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_text(LIST, encoding="utf-8")
    looked = taken(desk, file, dry_run=True)
    assert desk.repository.pours(desk.taster.id) == []
    done = taken(desk, file)
    assert (looked.pours, looked.confusions) == (done.pours, done.confusions) == (2, 1)
    assert desk.repository.counts(desk.taster.id, desk.clock.today()).urgent > 0
    again = taken(desk, file)
    assert (again.pours, again.confusions, again.already_known) == (0, 0, 2)
    assert again.intake is None


def test_what_breaks_off_in_the_middle_leaves_nothing(
    desk: Desk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "a.csv"
    file.write_text("called,was\n" + "Sancerre,Barolo\n" * 2_500, encoding="utf-8")
    with read(desk, str(file)) as intake:
        reading = intake.pours

        def breaking(*given: Any) -> Iterator[Any]:
            for number, one in enumerate(reading(*given)):
                if number == 2_200:
                    raise IntakeError("the disk is gone")
                yield one

        monkeypatch.setattr(intake, "pours", breaking)
        with pytest.raises(IntakeError, match="the disk is gone"):
            take_in(desk, intake)
    assert desk.repository.pours(desk.taster.id) == []
    assert desk.repository.flights(desk.taster.id) == []
    assert imports(desk) == []


def test_a_file_that_changes_between_preview_and_keeping_is_not_kept(
    desk: Desk, tmp_path: Path
) -> None:
    file = tmp_path / "a.csv"
    file.write_text(LIST, encoding="utf-8")
    with read(desk, str(file)) as intake:
        take_in(desk, intake, dry_run=True)
        file.write_text(LIST.replace("Plonk", "Chinon"), encoding="utf-8")
        with pytest.raises(IntakeError, match="was changed while it was being read"):
            take_in(desk, intake)
    assert desk.repository.pours(desk.taster.id) == []


def test_an_own_name_counts_in_the_next_file(desk: Desk) -> None:
    from drills.service.tasting import remember_name

    remember_name(desk, "Plonk", "nebbiolo-barolo")
    with read_lines(desk, io.StringIO("PLONK > Barolo")) as intake:
        done = take_in(desk, intake)
    assert len(done.unresolved) == 0
    assert desk.repository.pours(desk.taster.id)[0].draft.called_wine == "nebbiolo-barolo"


def test_progress_goes_from_nothing_to_everything(desk: Desk, tmp_path: Path) -> None:
    rows = [["date", "called", "was", "note"]]
    rows += [
        ["2025-05-03", "Chablis", "Barolo", f"{number} " + "x" * 90] for number in range(2_000)
    ]
    text = tmp_path / "a.csv"
    text.write_text("\n".join(map(",".join, rows)), encoding="utf-8")
    sheet = tmp_path / "a.xlsx"
    sheet.write_bytes(xlsx(rows))
    for file in (text, sheet):
        looked: list[float] = []
        kept: list[float] = []
        with read(desk, str(file), progress=looked.append) as intake:
            take_in(desk, intake, progress=kept.append)
        for shares in (looked, kept):
            assert len(shares) >= 3
            assert shares == sorted(shares)
            assert 0 < shares[0] < 0.5
            assert 0.9 < shares[-1] <= 1


def test_many_rows_that_cannot_be_kept_are_all_told(desk: Desk, tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    rows = "".join(f"2025-13-{number},Chablis,Barolo\n" for number in range(12_000))
    file.write_text(f"date,called,was\n{rows}", encoding="utf-8")
    done = taken(desk, file)
    assert (done.pours, len(done.rejected)) == (0, 12_000)
    assert [one.row for one in done.rejected] == list(range(2, 12_002))
    # As often as one likes.
    assert sum(1 for _ in done.rejected) == 12_000


# Taking back


def test_an_import_is_taken_back_whole_and_may_come_again(desk: Desk, tmp_path: Path) -> None:
    log_flight(desk, full_flight())
    before = log(desk)
    file = tmp_path / "a.csv"
    file.write_text(LIST, encoding="utf-8")
    number = taken(desk, file).intake
    assert number is not None
    which, gone = take_back(desk, number)
    assert (which.source, gone) == ("a.csv", 2)
    assert log(desk) == before
    with pytest.raises(NotPossibleError, match="taken back already"):
        take_back(desk, number)
    with pytest.raises(NotPossibleError, match="no import 99"):
        take_back(desk, 99)
    assert taken(desk, file).pours == 2
    assert [one.undone_at is None for one in imports(desk)] == [True, False]


# Export


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
    cells = [cell for row in csv.reader(io.StringIO(file.read_text("utf-8-sig"))) for cell in row]
    assert len(cells) == len(hostile) * len(cells) // len(hostile)
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
    assert os.listdir(tmp_path) == ["all.csv"] or set(os.listdir(tmp_path)) == {"all.csv", "home"}


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


# The commands


def said(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 0) -> str:
    assert main(list(arguments)) == code
    out, err = capsys.readouterr()
    return out + err


def test_the_commands_import_list_undo_and_export(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert home.is_dir()
    file = tmp_path / "a.csv"
    file.write_text("date,called,was\n3/5/2025,Chablis,Sancerre\n", encoding="utf-8")
    assert "could be 2025-05-03 or 2025-03-05" in said(capsys, "import", str(file))
    told = said(capsys, "import", str(file), "--date-order", "mdy")
    assert "1 pour added" in told
    assert "this is import 1: crosspour import --undo 1 takes it back" in told
    assert "a.csv" in said(capsys, "import", "--list")
    target = tmp_path / "out.jsonl"
    assert "1 pour written" in said(capsys, "export", str(target))
    assert '"tasted_on": "2025-03-05"' in target.read_text("utf-8")
    assert "1 pour of “a.csv” taken out" in said(capsys, "import", "--undo", "1")
    assert "taken back already" in said(capsys, "import", "--undo", "1", code=1)
    assert "taken back" in said(capsys, "import", "--list")
    assert "1 pour added" in said(capsys, "import", str(target))
    assert "0 pours written" not in said(capsys, "export", str(target), "--force", "--json")


def test_names_that_wait_are_told_once_with_their_number(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert home.is_dir()
    file = tmp_path / "a.csv"
    file.write_text("called,was\n" + "Plonk,Barolo\n" * 30, encoding="utf-8")
    told = said(capsys, "import", str(file))
    assert told.count("“Plonk”") == 1
    assert "“Plonk” (30 times) is kept as typed" in told
    assert "wait in the tray" in told


def test_drafts_are_light(desk: Desk) -> None:
    """A plain row makes no whole note: a long list of calls is mostly plain rows."""
    with read_lines(desk, io.StringIO("Chablis > Sancerre")) as intake:
        from drills.tastings.intake import Listener

        (one,) = intake.pours(desk.names, Listener(print, print))
    assert isinstance(one, PourDraft)
    assert one.full is None
