"""The next flight from the command line: what a taster may read, and what a helper gets."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from itertools import pairwise, permutations
from pathlib import Path
from typing import Any

import pytest

from drills.cli import main
from drills.service.desk import Desk
from tests.desks import mix_up

PAIR = ("sauvignon-sancerre", "sauvignon-marlborough")


@pytest.fixture(autouse=True)
def confused(open_desk: Callable[[], Desk]) -> None:
    """Every command of this file meets a log with one weak pair."""
    desk = open_desk()
    mix_up(desk, *PAIR, times=2)
    desk.close()


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    def running(*arguments: str, code: int = 0) -> str:
        assert main(arguments) == code
        said = capsys.readouterr()
        return said.err if code else said.out

    return running


def flight_of(said: str) -> dict[str, Any]:
    found = json.loads(said)
    assert isinstance(found, dict)
    return found


def test_a_plan_prints_codes_and_what_is_covered_and_no_wine(run: Callable[..., str]) -> None:
    said = run("flight", "plan", "--bottles", "2", "--decoys", "0", "--tasters", "Ada,Ben")
    assert "Flight 1: 2 glasses, covers 1 of 1 weak pair" in said
    assert "crosspour flight sheets 1" in said
    assert not [word for word in ("Sancerre", "Marlborough", "sauvignon") if word in said]
    assert "--taster" not in said
    named = run("--taster", "me", "flight", "plan", "--bottles", "2", "--decoys", "0")
    assert "crosspour flight sheets 2 --folder DIR --taster me" in named
    opened = run("flight", "plan", "--bottles", "2", "--decoys", "0", "--open")
    assert "Sancerre" in opened
    assert "mixed up 2 times" in opened


def test_what_the_choice_is_worth_stands_beside_the_best_pair_in_turn_and_the_bound(
    run: Callable[..., str], open_desk: Callable[[], Desk], tmp_path: Path
) -> None:
    said = run("flight", "plan", "--bottles", "2", "--decoys", "0", "--seed", "1")
    assert "no flight within these limits more" in said
    assert "(the best pair in turn covers 0." in said
    # Beside the pair that is worth most are three bottles, each in a pair with the others: of them
    # a third wine and a decoy cannot be made.
    mix_up(open_desk(), "nebbiolo-barolo", "sangiovese-brunello", times=3)
    file = tmp_path / "cellar.csv"
    names = ("Barolo", "Brunello", "Sancerre", "Marlborough Sauvignon Blanc", "Chablis")
    file.write_text("\n".join(["wine,bottles", *(f"{name},1" for name in names)]), "utf-8")
    run("cellar", "import", str(file))
    said = run("flight", "plan", "--bottles", "4", "--cellar-only", "--seed", "1")
    assert "(the best pair in turn finds no flight; bound 0." in said


def test_json_has_no_wine_until_it_is_revealed(run: Callable[..., str]) -> None:
    plan = flight_of(run("flight", "plan", "--bottles", "2", "--decoys", "0", "--json"))
    assert (plan["flight"], plan["state"], plan["to_buy"]) == (1, "planned", 2)
    assert plan["covers"]["weak_pairs"] == plan["covers"]["pairs"] == 1
    choice = plan["choice"]
    assert choice["exact"]
    assert 0 < choice["greedy"] <= choice["worth"] <= choice["bound"]
    assert [glass["wine"] for glass in plan["glasses"]] == [None, None]
    first, second = (glass["code"] for glass in plan["glasses"])
    now = flight_of(run("flight", "reveal", str(second), "--json"))
    assert [glass["code"] for glass in now["glasses"] if glass["revealed"]] == [second]
    assert [glass["why"] for glass in now["glasses"]] == [None, None]
    done = flight_of(run("flight", "reveal", "1", str(first), "--json"))
    assert {glass["wine"] for glass in done["glasses"]} == set(PAIR)
    assert all("mixed up 2 times" in glass["why"] for glass in done["glasses"])
    assert json.loads(run("flight", "list", "--json")) == [done]


def test_sheets_are_written_and_never_over_others(run: Callable[..., str], tmp_path: Path) -> None:
    run("flight", "plan", "--bottles", "2", "--decoys", "0")
    folder = str(tmp_path / "sheets")
    said = run("flight", "sheets", "--folder", folder)
    assert said.startswith("for the helper, they name the wines:")
    assert "spitting does not make driving safe" in said
    assert "--force writes over it" in run("flight", "sheets", "1", "--folder", folder, code=1)
    found = flight_of(run("flight", "sheets", "1", "--folder", folder, "--force", "--json"))
    assert (len(found["helper"]), len(found["tasters"])) == (4, 2)
    assert all(Path(file).exists() for file in (*found["helper"], *found["tasters"]))


def gaps(plan: dict[str, Any]) -> dict[str, int]:
    """How uneven the orders of a plan are, counted anew from the places of its glasses."""
    orders = [
        sorted(plan["glasses"], key=lambda glass: int(glass["places"][name]["place"]))
        for name in plan["tasters"]
    ]
    rows = [[glass["code"] for glass in order] for order in orders]
    stood = Counter((code, place) for row in rows for place, code in enumerate(row))
    followed = Counter(step for row in rows for step in pairwise(row))
    counts = [[stood[code, place] for code in rows[0]] for place in range(len(rows[0]))]
    steps = [followed[step] for step in permutations(rows[0], 2)]
    return {
        "position_gap": max(max(count) - min(count) for count in counts),
        "carry_gap": max(steps) - min(steps),
    }


@pytest.mark.parametrize("names", ["Ada,Ben", "Ada,Ben,Cleo", "Ada,Ben,Cleo,Dan"])
def test_a_plan_says_how_even_the_orders_of_its_tasters_are(
    run: Callable[..., str], names: str
) -> None:
    plan = flight_of(run("flight", "plan", "--bottles", "4", "--tasters", names, "--json"))
    assert plan["balance"] == gaps(plan)
    # Four tasters fill a Williams design of four wines.
    assert (set(plan["balance"].values()) == {0}) is (names.count(",") == 3)
    said = " ".join(run("flight", "plan", "--bottles", "4", "--tasters", names).split())
    even = "Every wine stands in each place, and follows every other, equally often." in said
    assert even is (names.count(",") == 3)
    assert ("differs by 1 at most" in said) is not even


def test_one_taster_has_no_balance_among_tasters(run: Callable[..., str]) -> None:
    assert flight_of(run("flight", "plan", "--bottles", "4", "--json"))["balance"] is None
    assert "equally often" not in run("flight", "plan", "--bottles", "4")


def test_a_sheet_that_is_still_blank_is_no_mistake(run: Callable[..., str], tmp_path: Path) -> None:
    run("flight", "plan", "--bottles", "2", "--decoys", "0", "--tasters", "me")
    run("flight", "sheets", "--folder", str(tmp_path))
    said = run("import", str(tmp_path / "flight-1-taster-me.csv"))
    assert "0 pours added" in said
    assert "2 blank rows of the sheet passed over" in said


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (("flight", "reveal"), 1, "no flight is planned yet"),
        (("flight", "sheets"), 1, "no flight is planned yet"),
        (("flight", "plan", "--bottles", "99"), 2, "2 to 24 bottles"),
        (("flight", "plan", "--decoys", "9"), 2, "can be decoys"),
        (("flight", "plan", "--cellar-only"), 1, "the cellar holds no bottle"),
        (("flight", "plan", "--budget", "9"), 1, "--usual-price"),
        (("flight", "plan", "--tasters", "0"), 2, "1 to 40 tasters"),
        (("cellar", "undo"), 1, "no change of the cellar"),
        (("cellar", "import", "nowhere.csv"), 1, "no file"),
        (("cellar", "name", "Plonk", "Barolo"), 1, "no wine called"),
    ],
)
def test_what_cannot_be_done_is_one_sentence(
    run: Callable[..., str], arguments: tuple[str, ...], code: int, words: str
) -> None:
    said = run(*arguments, code=code)
    assert words in said
    assert said.count("\n") == 1


@pytest.mark.parametrize("option", [("--bottles", "six"), ("--budget", "cheap"), ("--seed", "-1")])
def test_a_number_that_is_none_is_said_before_anything_is_done(
    option: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as leaving:
        main(["flight", "plan", *option])
    assert leaving.value.code == 2
    assert option[0] in capsys.readouterr().err


def test_a_cellar_goes_in_and_out(run: Callable[..., str], tmp_path: Path) -> None:
    assert "The cellar is empty" in run("cellar")
    (tmp_path / "list.csv").write_text("wine,bottles\nSancerre,2\nPlonk\x07,1\n", encoding="utf-8")
    said = run("cellar", "import", str(tmp_path / "list.csv"))
    assert said.startswith("2 wines new")
    assert "“Plonk” is kept as typed" in said
    assert "1 name is not known" in run("cellar")
    assert "is Sancerre from now on" in run("cellar", "name", "Plonk", "Sancerre")
    assert [one["key"] for one in json.loads(run("cellar", "--json"))] == [PAIR[0]] * 2
    run("cellar", "export", str(tmp_path / "out.csv"))
    found = json.loads(run("cellar", "import", str(tmp_path / "out.csv"), "--json"))
    assert (found["new"], found["changed"], found["same"]) == (0, 0, 2)
    assert "taken back: list “list.csv”" in run("cellar", "undo")
