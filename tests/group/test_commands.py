"""A group from the command line: who is in it, what it shares, moving, and what is refused."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from drills.cli import main
from drills.service.desk import Desk
from tests.desks import mix_up
from tests.server import Server


@pytest.fixture
def say(home: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """Run a command; its exit code, what it printed, and what it complained of."""
    assert home.is_dir()

    def run(*words: str) -> tuple[int, str, str]:
        code = main(words)
        said = capsys.readouterr()
        return code, said.out, said.err

    return run


Say = Callable[..., tuple[int, str, str]]


def test_tasters_are_added_listed_and_each_sees_their_own(say: Say, home: Path) -> None:
    assert home.is_dir()
    assert say("tasters", "add", "Ada")[0] == 0
    code, out, _ = say("tasters", "add", " Ben  ")
    assert code == 0
    assert out.startswith("Ben  since 2")
    code, out, _ = say("tasters", "--json")
    assert code == 0
    assert [(one["taster"], one["shares"]) for one in json.loads(out)] == [
        ("Ada", False),
        ("Ben", False),
        ("me", False),
    ]
    desk = Desk(taster="Ada")
    mix_up(desk, "verdejo-rueda", "albarino-rias-baixas")
    desk.close()
    assert len(json.loads(say("weak", "--json", "--taster", "Ada")[1])) == 1
    assert json.loads(say("weak", "--json", "--taster", "Ben")[1]) == []
    assert json.loads(say("weak", "--json")[1]) == []


@pytest.mark.parametrize("by", ["variable", "settings"])
def test_who_works_here_may_be_said_once_for_all(
    by: str, say: Say, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    say("tasters", "add", "Ada")
    if by == "variable":
        monkeypatch.setenv("CROSSPOUR_TASTER", "Ada")
    else:
        (home / "settings.toml").write_text('taster = "Ada"\n', encoding="utf-8")
    assert say("group", "share", "on")[1].startswith("Ada: your confusions are counted")
    assert say("group", "share")[1] == "on\n"
    assert say("group", "share", "--taster", "me")[1] == "off\n"
    assert say("group", "share", "off")[0] == 0
    assert say("group", "share")[1] == "off\n"


@pytest.mark.parametrize(
    ("words", "code", "reason"),
    [
        (("tasters", "add", "me"), 1, "there is a taster “me” already"),
        (("tasters", "add"), 2, "a taster's name is one line of 1 to 80 characters"),
        (("tasters", "add", "a\nb"), 2, "a taster's name is one line"),
        (("tasters", "add", "x" * 81), 2, "a taster's name is one line"),
        (("tasters", "add", "Ada", "--login", "ada"), 2, "only a server has logins"),
        (("tasters", "--login", "ada"), 2, "a login belongs to a new taster"),
        (("weak", "--taster", "Adda"), 1, "there is no taster “Adda” here"),
        (("weak", "--database", "oracle://x/y"), 2, "“oracle” is no database that crosspour knows"),
        (("weak", "--database", "postgresql+x://x/y"), 1, "no driver for postgresql+x is"),
        (("weak", "--database", "postgresql://ada@host:x/y"), 2, "the database URL cannot be read"),
        (("weak", "--database", "postgresql://ada@127.0.0.1:1/x"), 1, "no connection to"),
        (("move", "--to", "sqlite://"), 2, "a database in memory would be gone"),
        (("move", "--to", "absent-folder/x.sqlite3"), 1, "there is no folder"),
    ],
)
def test_what_cannot_be_meant_is_answered_in_one_sentence(
    words: tuple[str, ...], code: int, reason: str, say: Say
) -> None:
    found, out, err = say(*words)
    assert (found, out) == (code, "")
    assert reason in err
    assert len(err.splitlines()) == 1


def test_a_group_of_several_asks_who_is_meant(say: Say, tmp_path: Path) -> None:
    group = str(tmp_path / "group.sqlite3")
    say("tasters", "add", "Ada", "--database", group)
    assert say("group", "share", "--database", group)[1] == "off\n"
    say("tasters", "add", "Ben", "--database", group)
    code, _, err = say("weak", "--database", group)
    assert code == 1
    assert "(Ada, Ben): say who you are with --taster NAME" in err


def test_what_a_group_confuses_is_printed_with_names_of_wines_and_of_nobody_else(
    say: Say, tmp_path: Path
) -> None:
    group = str(tmp_path / "group.sqlite3")
    for name in ("Ada", "Ben", "Cy"):
        say("tasters", "add", name, "--database", group)
        assert "nothing yet" in say("group", "confusions", "--database", group)[1]
        desk = Desk(group, taster=name)
        mix_up(desk, "verdejo-rueda", "albarino-rias-baixas", times=2)
        desk.close()
        say("group", "share", "on", "--taster", name, "--database", group)
    code, out, _ = say("group", "confusions", "--database", group)
    assert code == 0
    assert out == "Albariño called Rueda: 6 of 6 pours, by 3 tasters\n"
    assert json.loads(say("group", "confusions", "--json", "--database", group)[1]) == [
        {
            "called": "verdejo-rueda",
            "was": "albarino-rias-baixas",
            "tasters": 3,
            "times": 6,
            "poured": 6,
        }
    ]


def test_a_group_moves_to_its_server_and_goes_on_there(
    say: Say, url: str, server: Server, database: str
) -> None:
    desk = Desk()
    mix_up(desk, "verdejo-rueda", "albarino-rias-baixas", times=3)
    contrasts = len(desk.repository.plan_rows(desk.taster.id))
    desk.close()
    code, out, _ = say("move", "--to", url)
    assert code == 0
    assert f"copied to {url}: 1 taster, 0 answers, 3 pours; " in out
    assert server.run("SELECT count(*) FROM pour", database) == [(3,)]
    assert len(json.loads(say("weak", "--json", "--database", url)[1])) == 1
    assert say("group", "refresh", "--database", url)[1].startswith(f"{contrasts:,} contrasts")
    code, _, err = say("move", "--to", url)
    assert code == 1
    assert "is not empty" in err
