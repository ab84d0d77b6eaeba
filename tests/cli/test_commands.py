"""Every command explains itself; what is asked for wrongly is told."""

from __future__ import annotations

import argparse
import json
import re
from pathlib import Path

import pytest

from drills import cli
from drills.cli import main
from drills.clock import Clock
from drills.service.desk import Desk
from drills.storage.repository import open_repository
from tests.cli.running import ROOT, crosspour
from tests.cli.saying import FLIGHT, NEAR, printed_json, refused, said
from tests.desks import Watch, mix_up

# No command of this file ever sees another home.
pytestmark = pytest.mark.usefixtures("home")

COMMANDS = [
    "drill",
    "import",
    "export",
    "flight",
    "cellar",
    "debrief",
    "reading",
    "weak",
    "progress",
    "report",
    "fit",
    "group",
    "serve",
    "profile",
    "pair",
    "laterals",
    "table",
    "demo",
    "backup",
    "restore",
    "completion",
    "man",
    "tray",
    "move",
    "tasters",
]


# ---- help and version


@pytest.mark.parametrize("command", [[], *([name] for name in COMMANDS)])
def test_every_command_explains_itself(
    capsys: pytest.CaptureFixture[str], command: list[str]
) -> None:
    with pytest.raises(SystemExit) as leaving:
        main([*command, "--help"])
    assert leaving.value.code == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert out.startswith("usage: crosspour")
    assert "--database" in out
    for name in COMMANDS if not command else []:
        assert re.search(rf"^ +{name} ", out, re.MULTILINE), name


@pytest.mark.parametrize(
    ("group", "part"), [("table", "import"), ("group", "share"), ("flight", "plan")]
)
def test_a_command_of_several_parts_names_them(
    capsys: pytest.CaptureFixture[str], group: str, part: str
) -> None:
    with pytest.raises(SystemExit) as leaving:
        main([group])
    assert leaving.value.code == 2
    said = capsys.readouterr().err.splitlines()[-1]
    assert said.startswith(f"crosspour {group}: error: say which: ")
    assert part in said


def test_the_version_is_that_of_the_package(capsys: pytest.CaptureFixture[str]) -> None:
    from importlib.metadata import version

    with pytest.raises(SystemExit) as leaving:
        main(["--version"])
    assert leaving.value.code == 0
    assert capsys.readouterr().out == f"crosspour {version('crosspour')}\n"


def every_help(parser: argparse.ArgumentParser) -> str:
    """The help of a command and of all below it."""
    below = [
        command
        for action in parser._actions
        if isinstance(action.choices, dict)
        for command in action.choices.values()
    ]
    return parser.format_help() + "".join(map(every_help, below))


def test_every_command_of_the_readme_exists_and_every_command_is_in_it() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `crosspour ?([a-z]*)", readme, re.MULTILINE)
    there = {
        name
        for action in cli._parser()._actions
        if isinstance(action.choices, dict)
        for name in action.choices
    }
    assert {name for name in rows if name} == there == set(COMMANDS)
    spans = re.findall(r"`[^`\n]+`", readme.replace("```", ""))
    options = set(re.findall(r"--[a-z]+(?:-[a-z]+)*", "".join(spans)))
    everything = every_help(cli._parser())
    assert len(options) > 20
    assert [option for option in sorted(options) if option not in everything] == []


def test_the_readme_says_nothing_twice() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    outside = re.sub(r"^```.*?^```$", "", readme, flags=re.MULTILINE | re.DOTALL)
    for listed in (
        re.findall(r"^#+ .*$", outside, re.MULTILINE),
        re.findall(r"^\| (`crosspour[^`]*`)", outside, re.MULTILINE),
    ):
        assert len(listed) > 15
        assert sorted(listed) == sorted(set(listed))


@pytest.mark.parametrize(
    "arguments",
    [
        ["pour"],
        ["pair", "Chablis"],
        ["laterals"],
        ["backup", "copy.sqlite3", "--list"],
        ["table"],
        ["table", "mend"],
        ["import"],
        ["weak", "--xml"],
        ["drill", "--pair", "Chablis"],
        ["drill", "--minutes", "0"],
        ["drill", "--minutes", "121"],
        ["drill", "--minutes", "-3"],
        ["drill", "--minutes", "ten"],
        ["drill", "--minutes", "2.5"],
        ["drill", "--minutes", ""],
        ["drill", "--minutes"],
    ],
)
def test_what_is_asked_for_wrongly_ends_with_code_two_and_the_usage(
    capsys: pytest.CaptureFixture[str], arguments: list[str]
) -> None:
    with pytest.raises(SystemExit) as leaving:
        main(arguments)
    assert leaving.value.code == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("usage: crosspour")


def test_wrong_minutes_are_told_with_what_would_be_right(
    capsys: pytest.CaptureFixture[str],
) -> None:
    with pytest.raises(SystemExit):
        main(["drill", "--minutes", "500"])
    assert "500 is not 1 to 120" in capsys.readouterr().err
    with pytest.raises(SystemExit):
        main(["drill", "--minutes", "ten"])
    assert "“ten” is no whole number" in capsys.readouterr().err


# ---- pair and laterals


def test_pair_prints_json_with_exactly_the_promised_keys(
    capsys: pytest.CaptureFixture[str],
) -> None:
    found = printed_json(capsys, "pair", *NEAR)
    assert list(found) == ["wines", "separation_db", "cues"]
    assert found["wines"] == list(NEAR)
    assert found["separation_db"] > 0
    assert found["cues"]
    for cue in found["cues"]:
        assert list(cue) == ["cue", "reading", "toward", "weight_db", "basis"]
        assert cue["toward"] in NEAR
        assert isinstance(cue["weight_db"], float)
    weights = [cue["weight_db"] for cue in found["cues"]]
    assert weights == sorted(weights, reverse=True)


def test_pair_prints_one_line_a_cue_for_people(capsys: pytest.CaptureFixture[str]) -> None:
    found = printed_json(capsys, "pair", "Sancerre", "NZ Sauvignon Blanc")
    first, *lines = said(capsys, "pair", "Sancerre", "NZ Sauvignon Blanc").splitlines()
    assert first.startswith("Sancerre and ")
    assert first.endswith(f"{found['separation_db']:.1f} db apart")
    assert len(lines) == len(found["cues"])
    for line, cue in zip(lines, found["cues"], strict=True):
        assert cue["reading"] in line
        assert f"[{cue['basis']}]" in line


def test_laterals_prints_json_with_exactly_the_promised_keys(
    capsys: pytest.CaptureFixture[str],
) -> None:
    found = printed_json(capsys, "laterals", "Chablis")
    assert found
    assert all(list(one) == ["wine", "separation_db"] for one in found)
    gaps = [one["separation_db"] for one in found]
    assert gaps == sorted(gaps)
    lines = said(capsys, "laterals", "Chablis").splitlines()
    assert [line.split()[-1] for line in lines] == [one["wine"] for one in found]


@pytest.mark.parametrize("command", [["laterals"], ["pair", "Chablis"]])
def test_a_wine_that_is_not_known_is_one_line_with_suggestions(
    capsys: pytest.CaptureFixture[str], command: list[str]
) -> None:
    line = refused(capsys, *command, "Riesling")
    assert line.startswith("“Riesling” could be several wines; did you mean riesling-")
    assert refused(capsys, *command, "Qwxz") == "“Qwxz” is no wine of the table"


def test_the_same_wine_twice_is_asked_for_wrongly(capsys: pytest.CaptureFixture[str]) -> None:
    assert "same wine" in refused(capsys, "pair", "Chablis", "chardonnay-chablis", code=2)


# ---- weak


def test_weak_prints_json_with_exactly_the_promised_keys(
    capsys: pytest.CaptureFixture[str], desk: Desk, watch: Watch
) -> None:
    # The command asks the real clock, and an old confusion weighs ever less.
    watch.at = Clock().now()
    assert printed_json(capsys, "weak") == []
    mix_up(desk, *NEAR, times=2)
    (pair,) = printed_json(capsys, "weak")
    assert list(pair) == ["called", "was", "times", "rate", "low", "high"]
    assert (pair["called"], pair["was"], pair["times"]) == (*NEAR, 2)
    assert 0 < pair["low"] < pair["rate"] < pair["high"] < 1


def test_weak_prints_one_line_a_pair_for_people(
    capsys: pytest.CaptureFixture[str], desk: Desk
) -> None:
    assert said(capsys, "weak") == "No confusion is logged yet.\n"
    mix_up(desk, *NEAR, times=2)
    (line,) = said(capsys, "weak").splitlines()
    for part in ("Sancerre", "called", "2 x", "90% interval"):
        assert part in line


# ---- import


def test_import_adds_a_file_once_and_says_what_it_did(
    capsys: pytest.CaptureFixture[str], home: Path, tmp_path: Path
) -> None:
    file = tmp_path / "flight.csv"
    file.write_text(FLIGHT, encoding="utf-8")
    assert "2 pours would be added, 1 confusion" in said(capsys, "import", str(file), "--dry-run")
    assert printed_json(capsys, "weak") == []
    assert "2 pours added, 1 confusion" in said(capsys, "import", str(file))
    again = said(capsys, "import", str(file))
    assert "0 pours added" in again
    assert "2 pours known already" in again
    assert len(printed_json(capsys, "weak")) == 1
    with open_repository(home / "crosspour.sqlite3", readonly=True) as repository:
        assert len(repository.pours(repository.taster().id)) == 2


def test_import_prints_json_with_exactly_the_promised_keys(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "flight.csv"
    file.write_text(
        FLIGHT + "2026-02-27,Plonk,Barolo\nnever,Barolo,Barolo\n2026-02-27,Barolo,\n",
        encoding="utf-8",
    )
    assert main(["import", str(file), "--json"]) == 1
    said = capsys.readouterr()
    assert said.err == "crosspour: 2 rows were left out; once mended, import the file again\n"
    found = json.loads(said.out)
    assert list(found) == [
        "pours",
        "confusions",
        "already_known",
        "unresolved",
        "rejected",
        "unread",
        "warnings",
        "dry_run",
        "intake",
    ]
    (unresolved,) = found["unresolved"]
    assert list(unresolved) == ["row", "column", "text", "suggestions"]
    assert (unresolved["row"], unresolved["text"]) == (4, "Plonk")
    assert len(found["rejected"]) == 2
    for rejected in found["rejected"]:
        assert list(rejected) == ["row", "column", "reason"]
    assert found["dry_run"] is False
    assert found["confusions"] == 1


def test_import_reads_lines_from_standard_input(home: Path) -> None:
    done = crosspour(home, "import", "-", typed="Sancerre > NZ Sauvignon Blanc # passion fruit\n")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("1 pour added, 1 confusion")
    weak = json.loads(crosspour(home, "weak", "--json").stdout)
    assert [(one["called"], one["was"]) for one in weak] == [
        ("sauvignon-sancerre", "sauvignon-marlborough")
    ]


@pytest.mark.parametrize(
    ("name", "content", "reason"),
    [
        ("missing.csv", None, "there is no file"),
        ("empty.csv", b"", "is empty"),
        ("picture.csv", b"\x89PNG\r\n\x1a\n\x00\x00\x00" * 40, "picture.csv"),
    ],
)
def test_a_file_that_cannot_be_read_is_one_line(
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    name: str,
    content: bytes | None,
    reason: str,
) -> None:
    file = tmp_path / name
    if content is not None:
        file.write_bytes(content)
    assert reason in refused(capsys, "import", str(file))
    assert "is a folder" in refused(capsys, "import", str(tmp_path))


def test_a_tilde_with_a_name_nobody_has_is_no_trouble(
    capsys: pytest.CaptureFixture[str],
) -> None:
    nobody = "~nobody-of-this-name/file"
    assert nobody in refused(capsys, "import", nobody)
    assert "nobody-of-this-name" in refused(capsys, "backup", nobody)
    assert "nobody-of-this-name" in refused(capsys, "weak", "--database", nobody)
