"""What the commands `debrief` and `reading` print."""

from __future__ import annotations

import json

import pytest

from drills.cli import main
from drills.service.desk import Desk
from drills.service.tasting import log_flight
from drills.tastings.drafts import Named
from drills.tastings.notes import Note, Verdict
from tests.tastings.logged import MARLBOROUGH, SANCERRE, flight, peppery, pour


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = main(list(arguments))
    said = capsys.readouterr()
    return code, said.out, said.err


def test_the_debrief_command_says_the_sentence_first(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    log_flight(desk, flight(pour(1), pour(2, SANCERRE), pour(3, reveal=Named("Inconnu"))))
    code, out, err = run(capsys, "debrief")
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0].startswith("Club, 2026-03-01 (number ")
    assert lines[2] == "1. called Marlborough, was Sancerre"
    assert lines[3].startswith("   You had Sancerre and struck it off (“too ripe”); next time")
    assert "The first call was right" in out
    assert "no debrief: “Inconnu” is no wine of the table" in out
    assert "zesty" in out
    code, out, _ = run(capsys, "debrief", "club", "2")
    assert out.count(". called ") == 1
    assert "   Right" in out


def test_the_debrief_command_prints_json(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    log_flight(desk, flight(pour(1), pour(2, reveal=Named("Inconnu"))))
    code, out, _ = run(capsys, "debrief", "2026-03-01", "--json")
    found = json.loads(out)
    assert code == 0
    assert found["flight"]["date"] == "2026-03-01"
    one, other = found["pours"]
    assert one["called"] == {"text": "Marlborough", "wine": MARLBOROUGH}
    told = one["debrief"]
    assert told["right"] is False
    assert told["against"] == MARLBOROUGH
    assert sum(cue["weight_db"] for cue in told["cues"]) == pytest.approx(
        told["balance_db"], abs=0.03
    )
    assert told["first_call"]["better"] == "first"
    assert told["vintage_off"] == 2
    assert told["unknown_words"] == ["zesty"]
    assert told["wines"] == len(desk.table.profiles)
    assert {"cue", "reading", "weight_db", "settles", "because", "basis"} == set(told["missed"][0])
    assert other["debrief"] is None
    assert "Inconnu" in other["reason"]


def test_the_debrief_command_says_what_it_cannot_do(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, "debrief")
    assert (code, out) == (1, "")
    assert err == "crosspour: no tasting is logged yet\n"
    log_flight(desk, flight())
    assert run(capsys, "debrief", "nothing")[0] == 1
    assert run(capsys, "debrief", "Club", "7")[0] == 1
    with pytest.raises(SystemExit):
        main(["debrief", "Club", "first"])


def test_control_characters_never_reach_the_terminal(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    odd = pour(1, final=Verdict("\x1b[31mred\u202e", None), note=Note(free=("a\x07b",)))
    log_flight(desk, flight(odd, name="x\x1b]0;y"))
    _, out, _ = run(capsys, "debrief")
    assert all(character.isprintable() or character == "\n" for character in out)


def test_the_reading_command(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "reading")
    assert "you count as an average taster" in out
    log_flight(desk, flight(*(peppery(number, False) for number in range(1, 13))))
    _, out, _ = run(capsys, "reading")
    assert out.startswith("You may not be able to smell rotundone")
    assert out.splitlines()[-1] == "From 12 noted pours and 12 labels."
    _, out, _ = run(capsys, "reading", "--json")
    found = json.loads(out)
    assert found["pours"] == 12
    assert found["alcohol"]["labels"] == 12
    assert found["alcohol"]["bias"]["value"] > 0.5
    (smell,) = found["perhaps_not_smelt"]
    assert smell["base_rate"] == 0.225
    assert smell["source"].startswith("Nutrients (2020)")
    assert {one["cue"] for one in found["levels"]} == {"acid"}
