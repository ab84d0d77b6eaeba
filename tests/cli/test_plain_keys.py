"""The keys of the plain drill: each does what it says, also with letters of one's own."""

from __future__ import annotations

from pathlib import Path

import pytest

from drills.commands.plain_keys import ACTIONS, ANSWERS, PlainKeys, own_letters
from drills.errors import UsageError
from drills.grading import Sureness
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from tests.cli.on_lines import DRAWN, drilled
from tests.cli.running import crosspour
from tests.desks import Watch

# ---- the other keys


def test_undo_takes_the_answer_back_and_asks_the_same_card_again(desk: Desk) -> None:
    session = DrillSession(desk, 600)
    lines = drilled(session, "u", "a", "u", "l", "", "u", "d")
    assert "There is no answer to take back." in lines.said
    assert lines.said.count("The last answer is taken back.") == 2
    assert sum(line.startswith("Card 1, ") for line in lines.said) == 3
    (reveal,) = session.reveals
    assert reveal.sureness is Sureness.GUESS
    kept = desk.repository.answers_of_drill(session.drill_id)
    assert [one.undone_at is None for one in kept] == [False, False, True]


def test_why_names_what_every_cue_rests_on(desk: Desk) -> None:
    session = DrillSession(desk, 600)
    lines = drilled(session, "a", "w")
    (reveal,) = session.reveals
    story = reveal.explanation
    told = len(story.cues) + len(story.also)
    assert sum(line.startswith("Rests on: ") for line in lines.said) == told
    assert story.telling.rstrip(".") in lines.text


def test_the_time_left_is_told_when_asked_and_two_minutes_can_be_added(
    desk: Desk, watch: Watch
) -> None:
    session = DrillSession(desk, 600)
    watch.go_on(61)
    lines = drilled(session, "t", "e", "t")
    assert "8:59 left." in lines.said
    assert "Two minutes more: 10:59 left." in lines.said


def test_the_clock_cuts_no_card_and_ends_the_drill_after_it(desk: Desk, watch: Watch) -> None:
    session = DrillSession(desk, 60)
    watch.go_on(61)
    lines = drilled(session, "a", "", "a", "")
    assert any("time is up, last card" in line for line in lines.said)
    assert session.answered == 1
    assert "The drill is over: 1 answer," in lines.text


def test_help_lists_every_letter_and_every_letter_is_told_once(desk: Desk) -> None:
    lines = drilled(DrillSession(desk, 600), "?")
    for key in (*ANSWERS, *ACTIONS):
        assert lines.said.count(f"  {key.letter or 'Enter'}: {key.words}") == 1
    assert len({key.letter for key in (*ANSWERS, *ACTIONS)}) == len(ANSWERS) + len(ACTIONS)


@pytest.mark.parametrize(
    "typed",
    ["zz", "", "[bold]", "1", "\x1b[31m", "x" * 1_000_000, "A B"],
    ids=["letters", "nothing", "markup", "number", "control", "megabyte", "words"],
)
def test_a_line_that_is_no_answer_is_told_what_would_be_one(desk: Desk, typed: str) -> None:
    session = DrillSession(desk, 600)
    lines = drilled(session, typed, "a")
    (told,) = (line for line in lines.said if "type a, s, d, j, k or l and Enter" in line)
    assert len(told) < 120
    assert not DRAWN.search(told)
    assert session.answered == 1


def test_an_answer_typed_after_the_reveal_answers_nothing(desk: Desk) -> None:
    session = DrillSession(desk, 600)
    lines = drilled(session, "a", "a", "zz", "")
    assert session.answered == 1
    assert lines.text.count("The card is answered.") == 2
    assert any(line.startswith("Card 2, ") for line in lines.said)


def test_dispute_says_which_command_changes_a_fact(desk: Desk) -> None:
    session = DrillSession(desk, 600)
    lines = drilled(session, "a", "x")
    for wine in session.reveals[0].showing.question.contrast.pair:
        assert f"  crosspour table edit {wine}" in lines.said


def test_names_of_keys_work_typed_in_full_in_any_case(desk: Desk) -> None:
    session = DrillSession(desk, 600)
    drilled(session, "Right-Leaning", "NEXT", "S", "finish", "a")
    assert [one.sureness for one in session.reveals] == [Sureness.LEANING] * 2


# ---- keys of one's own


def test_own_letters_take_the_places_of_the_usual_ones(desk: Desk, home: Path) -> None:
    (home / "settings.toml").write_text(
        '[keys]\nleft-sure = "q"\nnext = "n"\nright-sure = "semicolon"\nundo = "a"\nwhy = "f9"\n'
        'finish = "ö"\n'
    )
    keys = PlainKeys(own_letters(desk.settings.keys))
    session = DrillSession(desk, 600)
    lines = drilled(session, "a", "q", "", "n", ";", "a", "l", "ö", "q", keys=keys)
    assert "There is no answer to take back." in lines.said  # a is undo now
    assert lines.said.count("The last answer is taken back.") == 1
    # An empty line goes on no more, l answers no more.
    assert [one.sureness for one in session.reveals] == [Sureness.SURE]
    assert keys.said("why") == "w"  # F9 cannot be typed into a line
    assert keys.said("right-sure") == ";"


def test_a_letter_that_was_taken_away_is_told_by_name(desk: Desk, home: Path) -> None:
    (home / "settings.toml").write_text('[keys]\nleft-sure = "u"\n')
    keys = PlainKeys(own_letters(desk.settings.keys))
    assert keys.said("undo") == "undo"
    lines = drilled(DrillSession(desk, 600), "?", "u", "undo", keys=keys)
    assert "  u: left, sure" in lines.said
    assert "  undo: take the last answer back" in lines.said
    assert "The last answer is taken back." in lines.said


def test_a_mistake_in_the_keys_is_told_before_the_first_card(home: Path) -> None:
    (home / "settings.toml").write_text('[keys]\nleft-shure = "q"\n')
    with pytest.raises(UsageError, match="did you mean left-sure"):
        own_letters({"left-shure": "q"})
    done = crosspour(home, "drill", "--plain", typed="a\n")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.count("\n") == 1
