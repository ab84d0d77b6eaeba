"""From files to the log: kept whole, taken back whole."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from drills.cli import main
from drills.errors import IntakeError, NotPossibleError
from drills.service.desk import Desk
from drills.service.imports import imports, take_back
from drills.service.intake import read, read_lines, take_in
from drills.service.tasting import log_flight
from drills.tastings.drafts import PourDraft
from tests.tastings.logged import full_flight, log, taken
from tests.tastings.making import xlsx

LIST = (
    "date,flight,called,was\n2025-05-03,A,Sancerre,NZ Sauvignon Blanc\n2025-05-03,A,Plonk,Barolo\n"
)


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


def test_drafts_are_light(desk: Desk) -> None:
    """A plain row makes no whole note: a long list of calls is mostly plain rows."""
    with read_lines(desk, io.StringIO("Chablis > Sancerre")) as intake:
        from drills.tastings.intake import Listener

        (one,) = intake.pours(desk.names, Listener(print, print))
    assert isinstance(one, PourDraft)
    assert one.full is None


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
    assert "could be 2025-05-03 or 2025-03-05" in said(capsys, "import", str(file), code=1)
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
    told = said(capsys, "export", str(target), "--force", "--json")
    assert json.loads(told)["pours"] == 1


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
