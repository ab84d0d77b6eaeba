"""Nasty files end in rows kept, rows left out or names waiting, or in one clear error.

Never in a traceback, never in half an import.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cards.cellar import Cellar
from cards.tables import Table
from drills.cli import main
from drills.errors import IntakeError
from drills.service.desk import Desk
from drills.service.intake import read, take_in
from tests.desks import Watch
from tests.examples import examples
from tests.tastings.making import ods, xlsx
from tests.tastings.nasty import FILES, GOOD, OBJECTS, PACKED, Nasty

EXAMPLES = examples(200)
TABLES = ("intake", "flight", "pour", "observation", "candidate")
# Nothing of these may reach a terminal.
UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]")


@pytest.fixture
def desk(home: Path, watch: Watch, table: Table, cellar: Cellar) -> Iterator[Desk]:
    desk = Desk(clock=watch.clock)
    desk.table, desk.cellar = table, cellar
    assert home.is_dir()
    yield desk
    desk.close()


def counts(home: Path) -> dict[str, int]:
    """How many rows each table of tastings holds, as the file itself says."""
    with sqlite3.connect(home / "crosspour.sqlite3") as database:
        return {
            name: int(database.execute(f"SELECT count(*) FROM {name}").fetchone()[0])
            for name in TABLES
        }


def test_there_are_more_than_enough() -> None:
    assert len(FILES) >= 100
    assert len({one.file for one in FILES.values()}) > 8


@pytest.mark.parametrize("name", FILES)
def test_a_nasty_file(desk: Desk, home: Path, tmp_path: Path, name: str) -> None:
    nasty = FILES[name]
    file = tmp_path / nasty.file
    file.write_bytes(nasty.content())
    before = counts(home)
    if nasty.becomes.kept == nasty.becomes.left_out == 0 and nasty.becomes.waiting is None:
        outcome = refusal_or_nothing(desk, file, nasty)
        assert counts(home) == before, outcome
        return
    with read(desk, str(file)) as intake:
        looked = take_in(desk, intake, dry_run=True)
        assert counts(home) == before
        taken = take_in(desk, intake)
    assert (taken.pours, len(taken.rejected)) == (nasty.becomes.kept, nasty.becomes.left_out)
    assert (looked.pours, looked.confusions) == (taken.pours, taken.confusions)
    if nasty.becomes.waiting is not None:
        assert len(taken.unresolved) == nasty.becomes.waiting
    assert counts(home)["pour"] == nasty.becomes.kept
    for record in desk.repository.pours(desk.taster.id, full=True):
        for said in (record.draft.called_text, record.draft.was_text, record.draft.note):
            assert not UNSEEN.search(said)
    # The same file once more changes nothing.
    with read(desk, str(file)) as intake:
        again = take_in(desk, intake)
    assert (again.pours, again.already_known) == (0, nasty.becomes.kept)


def refusal_or_nothing(desk: Desk, file: Path, nasty: Nasty) -> str:
    if not nasty.becomes.refused and name_of(nasty) == "headings alone":
        with read(desk, str(file)) as intake:
            assert take_in(desk, intake).pours == 0
        return ""
    with pytest.raises(IntakeError) as caught:
        read(desk, str(file)).close()
    said = str(caught.value)
    assert nasty.becomes.refused in said
    assert said.isprintable()
    assert file.name in said
    assert len(said) < 600
    return said


def name_of(nasty: Nasty) -> str:
    return next(name for name, one in FILES.items() if one is nasty)


@pytest.mark.parametrize(
    "name", ["colours of a terminal", "markup", "a PDF", "formulas", "JSON that breaks off"]
)
def test_the_command_says_it_in_plain_lines(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    nasty = FILES[name]
    file = tmp_path / nasty.file
    file.write_bytes(nasty.content())
    assert home.is_dir()
    code = main(["import", str(file)])
    out, err = capsys.readouterr()
    assert code == (0 if nasty.becomes.kept else 1)
    assert "Traceback" not in out + err
    assert not UNSEEN.search((out + err).replace("\n", ""))
    assert len(err.splitlines()) == code


def mutated(draw: st.DrawFn, content: bytes) -> bytes:
    """The bytes with some of them changed, cut out or doubled."""
    changed = bytearray(content)
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, max(len(changed) - 1, 0)))
        match draw(st.sampled_from(["change", "cut", "double", "end"])):
            case "change" if changed:
                changed[at] = draw(st.integers(0, 255))
            case "cut":
                del changed[at : at + draw(st.integers(1, 60))]
            case "double":
                changed[at:at] = changed[at : at + draw(st.integers(1, 60))]
            case _:
                del changed[len(changed) - draw(st.integers(0, 40)) :]
    return bytes(changed)


SMALL = {
    "a.xlsx": xlsx(GOOD, [["x"]]),
    "a.ods": ods(GOOD),
    "a.json": OBJECTS["bare values"].content(),
    "b.json": b'{"tastings":[{"called":"Chablis","was":{"text":"Sancerre","vintage":2019}}]}',
    "a.csv": b'date;called;was;acid;descriptors\n3.5.2025;"Chablis";Sancerre;4;lime, petrol\n',
    "b.xlsx": PACKED["merged cells over everything"].content(),
}


@st.composite
def damaged(draw: st.DrawFn) -> tuple[str, bytes]:
    """A small file of any kind, damaged."""
    name = draw(st.sampled_from(sorted(SMALL)))
    return name, mutated(draw, SMALL[name])


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(file=damaged())
def test_damaged_files_are_read_or_refused(
    desk: Desk, home: Path, tmp_path: Path, file: tuple[str, bytes]
) -> None:
    name, content = file
    place = tmp_path / name
    place.write_bytes(content)
    before = counts(home)
    try:
        with read(desk, str(place)) as intake:
            taken = take_in(desk, intake)
    except IntakeError as error:
        refusal: str | None = str(error)
    else:
        refusal = None
    after = counts(home)
    if refusal is not None:
        assert refusal.isprintable()
        assert after == before
    else:
        assert after["pour"] - before["pour"] == taken.pours
