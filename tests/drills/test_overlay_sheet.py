"""The table out to a spreadsheet and back into the taster's folder, by the commands."""

from __future__ import annotations

import csv
import io
import json
import random
from pathlib import Path
from typing import Any

import pytest

from cards.checking import check_folders
from cards.facts import Change, Fact, FactPath
from cards.lexicon import HUES
from cards.profiles import CLIMATES, WORLDS, Profile
from cards.scale import LEVEL_LABELS, Typical
from cards.tables import Table, load_table
from drills import cli
from drills.overlay import Overlay
from drills.service.table_editing import import_sheet
from tests.examples import examples

WINE = "sauvignon-sancerre"


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty home; `move` goes to another."""
    monkeypatch.setenv("CROSSPOUR_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def exported(tmp_path: Path, *more: str, name: str = "sheet.csv") -> Path:
    file = tmp_path / name
    file.unlink(missing_ok=True)
    assert cli.main(["table", "export", str(file), *more]) == 0
    return file


def rows_of(file: Path) -> list[list[str]]:
    text = file.read_bytes().decode("utf-8-sig")
    return list(csv.reader(io.StringIO(text, newline="")))


def written(rows: list[list[str]], delimiter: str = ",") -> bytes:
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter).writerows(rows)
    return text.getvalue().encode()


def with_cells(rows: list[list[str]], wine: str, cells: dict[str, str]) -> list[list[str]]:
    header = rows[0]
    row = next(row for row in rows if row[header.index("key")] == wine)
    for name, cell in cells.items():
        row[header.index(name)] = cell
    return rows


def own_files(place: Path) -> dict[str, str]:
    folder = place / "table"
    return {
        file.relative_to(folder).as_posix(): file.read_text(encoding="utf-8")
        for file in sorted(folder.rglob("*.toml*"))
    }


def facts_and_bases(table: Table) -> dict[str, Profile]:
    return dict(table.profiles)


# ---- identity


@pytest.mark.parametrize("decimal_comma", [False, True])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_a_sheet_in_any_encoding_changes_nothing(
    place: Path, tmp_path: Path, encoding: str, decimal_comma: bool
) -> None:
    file = exported(tmp_path, *(["--decimal-comma"] if decimal_comma else []))
    text = file.read_bytes().decode("utf-8-sig")
    mark = {"utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}.get(encoding, b"")
    taken = import_sheet(mark + text.encode(encoding))
    assert (taken.problems, taken.changes, taken.warnings) == ((), (), ())
    assert (taken.unchanged, taken.absent) == (len(load_table().profiles), 0)
    assert own_files(place) == {}


def test_a_western_sheet_is_taken_where_no_letter_is_lost(place: Path, tmp_path: Path) -> None:
    text = exported(tmp_path).read_bytes().decode("utf-8-sig")
    taken = import_sheet(text.encode("cp1252", "replace"))
    # Letters that the code page does not have are noticed, never taken in as question marks.
    assert taken.changes == ()
    assert all("letters are lost" in problem.text for problem in taken.problems)
    assert own_files(place) == {}


def test_the_sheet_begins_as_spreadsheets_know_utf8(place: Path, tmp_path: Path) -> None:
    assert exported(tmp_path).read_bytes().startswith(b"\xef\xbb\xbfkey,name,short,style,")
    comma = exported(tmp_path, "--decimal-comma").read_bytes()
    assert comma.startswith(b"\xef\xbb\xbfkey;name;short;style;")
    assert b";12,5;" in comma
    assert not place.exists() or own_files(place) == {}


FACTS: dict[str, dict[FactPath, Fact | None]] = {
    WINE: {
        ("structure", "acid"): Fact("med"),
        ("alcohol", "low"): Fact(11.25),
        ("alcohol", "high"): Fact(14),
        ("descriptors", "petrol"): Fact("common"),
        ("descriptors", "flint"): Fact("unlisted"),
        ("colour", "hue"): Fact(["gold", "straw"]),
        ("colour", "depth"): Fact("high", "memory"),
        ("laterals",): Fact(["chardonnay-chablis", "savagnin-vin-jaune"]),
        ("telling",): Fact('=HYPERLINK("x") and "more"\nin two lines | one'),
        ("synonyms",): Fact(["+one", "@two | three", "-four", "'five"]),
    },
    "chenin-vouvray": {("grape", "shares"): Fact({"chenin-blanc": "95.5 to 100"})},
    "viura-rioja-aged": {("place", "region"): Fact("Rioja, “my” house; again")},
}


def test_ones_own_table_is_carried_to_another_home_by_its_sheet(
    place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = Overlay(place / "table")
    own.save([Change(wine, "white", facts) for wine, facts in FACTS.items()])
    assert cli.main(["table", "new", "house-white", "--like", "Chablis"]) == 0
    here = facts_and_bases(load_table(place / "table"))
    for decimal_comma in ([], ["--decimal-comma"]):
        file = exported(tmp_path, *decimal_comma)
        assert import_sheet(file.read_bytes()).changes == ()
        other = tmp_path / f"other{len(decimal_comma)}"
        monkeypatch.setenv("CROSSPOUR_HOME", str(other))
        taken = import_sheet(file.read_bytes())
        assert taken.problems == ()
        assert [one.wine for one in taken.changes if one.new] == ["house-white"]
        assert facts_and_bases(load_table(other / "table")) == here
        assert import_sheet(file.read_bytes()).changes == ()
        monkeypatch.setenv("CROSSPOUR_HOME", str(place))


# ---- changes


def test_only_what_differs_goes_to_the_own_folder_and_is_told(
    place: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shipped = load_table().profiles
    file = exported(tmp_path)
    rows = with_cells(rows_of(file), WINE, {"acid": "med", "alcohol high": "14,2"})
    with_cells(rows, "chenin-vouvray", {"lemon": ""})
    file.write_bytes(written(rows))
    capsys.readouterr()
    assert cli.main(["table", "import", str(file), "--dry-run"]) == 0
    assert own_files(place) == {}
    dry = capsys.readouterr().out
    assert cli.main(["table", "import", str(file)]) == 0
    assert capsys.readouterr().out == dry.replace("would change", "changed")
    was = shipped[WINE]
    assert dry.splitlines()[:3] == [
        f"chenin-vouvray: lemon: {shipped['chenin-vouvray'].descriptors['lemon']} → none",
        f"{WINE}: alcohol high: {was.alcohol.high:g} → 14.2",
        f"{WINE}: acid: {was.structure['acid']} → med",
    ]
    assert f"2 wines would change, {len(shipped) - 2} as before" in dry
    assert set(own_files(place)) == {f"white/{WINE}.toml", "white/chenin-vouvray.toml"}
    after = load_table(place / "table").profiles
    assert str(after[WINE].structure["acid"]) == "med"
    assert (after[WINE].alcohol.low, after[WINE].alcohol.high) == (was.alcohol.low, 14.2)
    assert "lemon" not in after["chenin-vouvray"].descriptors
    same = {key: profile for key, profile in after.items() if profile == shipped[key]}
    assert len(same) == len(shipped) - 2


def test_json_says_the_same(
    place: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = exported(tmp_path)
    rows = rows_of(file)[:3]
    wine = rows[1][0]
    with_cells(rows, wine, {"finish": "low"})
    file.write_bytes(written(rows))
    capsys.readouterr()
    assert cli.main(["table", "import", str(file), "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    was = load_table().profiles[wine].structure["finish"]
    assert found == {
        "wines": [
            {
                "wine": wine,
                "new": False,
                "facts": [{"fact": "finish", "before": str(was), "after": "low"}],
            }
        ],
        "unchanged": 1,
        "absent": len(load_table().profiles) - 2,
        "problems": [],
        "warnings": [],
        "dry_run": False,
    }
    assert own_files(place)


def test_a_cell_put_back_takes_the_own_fact_away(place: Path, tmp_path: Path) -> None:
    shipped = load_table()
    file = exported(tmp_path)
    plain = file.read_bytes()
    import_sheet(written(with_cells(rows_of(file), WINE, {"acid": "low"})))
    assert load_table(place / "table") != shipped
    assert len(import_sheet(plain).changes) == 1
    assert facts_and_bases(load_table(place / "table")) == facts_and_bases(shipped)


def random_cell(rng: random.Random, column: str, profile: Profile, table: Table) -> str:
    if column in table.lexicon.descriptors:
        return rng.choice([*map(str, Typical), ""])
    if column in profile.structure or column == "depth":
        low = rng.randrange(5)
        high = rng.randrange(low, 5)
        ends = (LEVEL_LABELS[low], LEVEL_LABELS[high])
        return ends[0] if low == high else " to ".join(ends)
    choices = {
        "world": list(WORLDS),
        "climate": list(CLIMATES),
        "hue": [" | ".join(rng.sample(HUES["white"], 2))],
        "window": ["2 to 9", "1"],
        "release": ["2", "3,5", "1.25"],
        "alcohol low": ["9", "10.5", "11,25"],
        "alcohol high": ["14", "15,5"],
        "telling": ["=1+1", "'quoted", "Plain; with, marks\nand lines", "@x"],
        "synonyms": ["", "One | Two", "a\\|b"],
        "rim": ["wide", "-"],
        "quality": ["+++"],
    }
    return rng.choice(choices[column])


@pytest.mark.parametrize("seed", range(examples(2)))
def test_what_the_sheet_says_is_what_the_table_says_afterwards(
    place: Path, tmp_path: Path, seed: int
) -> None:
    """Edits at random, three sheets long: out again, every edited cell stands as it was put in."""
    rng = random.Random(seed)
    for _ in range(3):
        table = load_table(place / "table")
        file = exported(tmp_path)
        rows = rows_of(file)
        header = rows[0]
        columns = ["acid", "body", "mineral", "depth", "world", "climate", "hue", "window",
                   "release", "alcohol low", "alcohol high", "telling", "synonyms", "rim",
                   "quality", "lemon", "petrol", "flint", "honey"]  # fmt: skip
        edits: dict[tuple[str, str], str] = {}
        whites = [key for key, profile in table.profiles.items() if profile.style == "white"]
        for wine in rng.sample(whites, 4):
            for column in rng.sample(columns, 5):
                cell = random_cell(rng, column, table.profiles[wine], table)
                if column == "lemon" and len(table.profiles[wine].descriptors) < 14:
                    continue
                edits[wine, column] = cell
                with_cells(rows, wine, {column: cell})
        taken = import_sheet(written(rows, rng.choice([",", ";", "\t"])))
        assert taken.problems == ()
        assert {one.wine for one in taken.changes} <= {wine for wine, _ in edits}
        after = rows_of(exported(tmp_path))
        by_key = {row[0]: dict(zip(header, row, strict=True)) for row in after[1:]}
        for (wine, column), cell in edits.items():
            if column not in after[0]:
                assert cell == ""
                continue
            stands = dict(zip(after[0], next(r for r in after if r[0] == wine), strict=True))[
                column
            ]
            wanted = (
                cell.replace(",", ".")
                if column in ("release", "alcohol low", "alcohol high")
                else cell
            )
            assert stands.lstrip("'") == wanted.lstrip("'"), (wine, column)
        assert by_key.keys() == table.profiles.keys()
        assert check_folders(place / "table").problems == ()
        assert import_sheet(exported(tmp_path).read_bytes()).changes == ()


# ---- whole or not at all


@pytest.mark.parametrize(
    ("column", "cell", "said"),
    [
        ("acid", "hihg", "no level"),
        ("sugar high", "60", "does not fit “dry”"),
        ("short", "x" * 25, "24 fit above a glass"),
        ("sugar class", "brut", "none of dry"),
        ("alcohol low", "16", "above high"),
        ("alcohol low", "2", "outside 4 to 24"),
        ("grapes", "sauvignon-blanc 20", "add up to 100"),
        ("oak months", "0", "tastes of oak"),
        ("climate", "lukewarm", "none of cool"),
    ],
)
def test_one_bad_cell_and_nothing_is_taken(
    place: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    column: str,
    cell: str,
    said: str,
) -> None:
    file = exported(tmp_path)
    rows = with_cells(rows_of(file), WINE, {"body": "med", "oak": "high", column: cell})
    with_cells(rows, "chenin-vouvray", {"body": "low"})
    number = 1 + next(n for n, row in enumerate(rows) if row[0] == WINE)
    file.write_bytes(written(rows))
    capsys.readouterr()
    for more in ([], ["--dry-run"], ["--json"]):
        assert cli.main(["table", "import", str(file), *more]) == 1
        printed = capsys.readouterr()
        if more == ["--json"]:
            (problem, *_) = json.loads(printed.out)["problems"]
            assert problem["row"] == number
            assert said in problem["reason"]
        else:
            (line, *_, last) = printed.err.splitlines()
            assert line.startswith(f"row {number}, column ")
            assert said in line
            assert "nothing was taken in" in last
    assert own_files(place) == {}


def test_a_file_that_is_no_table_is_told(
    place: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for content, said in (
        (b"PK\x03\x04rest", "save the sheet as CSV"),
        (b"\x00" * 50, "no text file"),
        (b"", "no column is named “key”"),
        (b"a,b\n1,2\n", "no column is named “key”"),
    ):
        file = tmp_path / "other.csv"
        file.write_bytes(content)
        assert cli.main(["table", "import", str(file)]) == 1
        assert said in capsys.readouterr().err
    assert cli.main(["table", "import", str(tmp_path / "nowhere.csv")]) == 1
    assert "cannot be read" in capsys.readouterr().err
    assert own_files(place) == {}


def test_an_existing_file_is_never_overwritten(
    place: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "mine.csv"
    file.write_text("my work", encoding="utf-8")
    assert cli.main(["table", "export", str(file)]) == 1
    assert "exists already" in capsys.readouterr().err
    assert file.read_text(encoding="utf-8") == "my work"
    assert cli.main(["table", "export", str(tmp_path / "no" / "folder.csv")]) == 1
    assert not place.exists() or own_files(place) == {}


def test_a_broken_own_file_stops_both_ways(
    place: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = exported(tmp_path).read_bytes()
    file = place / "table" / "white" / f"{WINE}.toml"
    file.parent.mkdir(parents=True)
    file.write_text('[structure]\nacid = "much"\n', encoding="utf-8")
    again = tmp_path / "again.csv"
    again.write_bytes(sheet)
    for command in (["export", str(tmp_path / "new.csv")], ["import", str(again)]):
        assert cli.main(["table", *command]) == 1
        assert f"{file}, line 2: structure.acid" in capsys.readouterr().err
    assert not (tmp_path / "new.csv").exists()
    assert file.read_text(encoding="utf-8") == '[structure]\nacid = "much"\n'
