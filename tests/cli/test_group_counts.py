"""`crosspour group export` and `group import`, as a shell runs them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from drills.cli import main
from drills.service.desk import Desk
from tests.desks import mix_up

PAIR = ("sauvignon-sancerre", "sauvignon-marlborough")


@pytest.fixture
def file(desk: Desk, tmp_path: Path) -> Path:
    """The counts of a taster who mixed two wines up three times; that taster is here too."""
    mix_up(desk, *PAIR, times=3)
    path = tmp_path / "lighthouse.json"
    assert main(["group", "export", str(path)]) == 0
    return path


def test_export_says_what_is_in_the_file_and_never_writes_over_one(
    file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["group", "export", str(file.with_name("again.json"))]) == 0
    said = capsys.readouterr().out
    assert "3 pours of 1 wine, 1 confusion counted, of you alone; no name, no date" in said
    before = file.read_bytes()
    assert main(["group", "export", str(file)]) == 1
    assert "is there already; --force writes over it" in capsys.readouterr().err
    assert file.read_bytes() == before
    assert main(["group", "export", str(file), "--force", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {
        "file": str(file),
        "wines": 1,
        "pours": 3,
        "confused": 1,
    }


def test_import_lists_and_forgets(
    file: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    capsys.readouterr()

    def said(*arguments: str) -> str:
        assert main(["group", "import", *arguments]) == 0
        return capsys.readouterr().out

    assert said("--list") == "no counts of others were taken in\n"
    assert main(["group", "import", str(file)]) == 1
    assert "lighthouse.json holds your own counts" in capsys.readouterr().err
    assert main(["tasters", "add", "Ben"]) == 0
    monkeypatch.setenv("CROSSPOUR_TASTER", "Ben")
    capsys.readouterr()
    assert "taken in as counts 1: 3 pours of 1 wine; --undo 1 forgets them" in said(str(file))
    assert "taken in already; nothing has changed" in said(str(file))
    assert json.loads(said(str(file), "--json")) == {
        "counts": None,
        "wines": 0,
        "pours": 0,
        "unknown_wines": 0,
    }
    assert "lighthouse.json  3 pours of 1 wine" in said("--list")
    (one,) = json.loads(said("--list", "--json"))
    assert (one["counts"], one["file"], one["pours"]) == (1, "lighthouse.json", 3)
    assert said("--undo", "1") == "forgotten: counts 1, from lighthouse.json\n"
    assert said("--list") == "no counts of others were taken in\n"


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["export", "x.json", "--sharing"], 1, "no wine was poured to 3 tasters who share"),
        (["import", "nowhere.json"], 1, "cannot be read: No such file"),
        (["import", "--undo", "7"], 1, "there are no counts 7"),
    ],
)
def test_what_cannot_be_done_is_one_sentence(
    home: Path,
    arguments: list[str],
    code: int,
    words: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(home)
    assert main(["group", *arguments]) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err
    assert err.count("\n") == 1


@pytest.mark.parametrize("arguments", [[], ["x.json", "--list"], ["--list", "--undo", "1"]])
def test_import_is_asked_for_one_thing_at_a_time(arguments: list[str]) -> None:
    with pytest.raises(SystemExit) as leaving:
        main(["group", "import", *arguments])
    assert leaving.value.code == 2
