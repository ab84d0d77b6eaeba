"""The drill as lines: every form, every key, over pipes and on terminals without a cursor."""

from __future__ import annotations

import re
import signal
import sqlite3
import subprocess
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from cards.questions import Form
from drills.commands.plain_drill import Left, Lines, PlainDrill
from drills.commands.plain_keys import ACTIONS, ANSWERS, PlainKey, PlainKeys, own_letters
from drills.errors import DatabaseLocked, UsageError
from drills.grading import Sureness
from drills.service import drilling
from drills.service.desk import Desk
from drills.service.drilling import DrillSession, Showing
from drills.storage.records import AnswerRecord
from drills.storage.repository import open_repository
from tests.cli.running import COMMAND, PATIENCE, crosspour, environment, on_terminal
from tests.desks import Watch, mix_up, right_answer, versatile, wrong_answer

NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")
QUESTION = "Left or right, how sure?"
# Nothing that moves a cursor, colours a text, or draws: the signs of control and the box drawings.
DRAWN = re.compile("[\x00-\x09\x0b-\x1f\x7f\u2190-\u21ff\u2500-\u259f\u2800-\u28ff]")


def answers(home: Path) -> list[AnswerRecord]:
    """The answers of all drills in the database of `home`, which must be whole."""
    file = home / "crosspour.sqlite3"
    with closing(sqlite3.connect(file)) as reader:
        assert reader.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert reader.execute("PRAGMA foreign_key_check").fetchall() == []
    with open_repository(file, readonly=True) as repository:
        me = repository.taster().id
        return [
            answer
            for drill in repository.drills(me)
            for answer in repository.answers_of_drill(drill.id)
            if answer.undone_at is None
        ]


class Typed(Lines):
    """Lines that a test types, and what was said between them."""

    def __init__(self, *typed: str) -> None:
        super().__init__()
        self.typed = list(typed)
        self.said: list[str] = []

    def say(self, lines: Iterable[str]) -> None:
        self.said += lines

    def ask(self, words: str) -> str:
        self.said.append(words)
        if not self.typed:
            raise Left
        return self.typed.pop(0)

    @property
    def text(self) -> str:
        return "\n".join(self.said)


def drilled(session: DrillSession, *typed: str, keys: PlainKeys | None = None) -> Typed:
    """Run a drill with so many typed lines; it ends when they do."""
    lines = Typed(*typed)
    assert PlainDrill(session, keys or PlainKeys(), lines).run() == 0
    return lines


def letter(showing: Showing, *, right: bool = True, sureness: Sureness = Sureness.SURE) -> str:
    """What answers a card: a letter, or a number and a letter."""
    given = right_answer(showing) if right else wrong_answer(showing)
    side = "left" if given == showing.question.left else "right"
    (key,) = (one for one in ANSWERS if (one.side, one.sureness) == (side, sureness))
    return key.letter if isinstance(given, str) else f"{given + 1}{key.letter}"


def card_of(
    desk: Desk, watch: Watch, monkeypatch: pytest.MonkeyPatch, form: Form, *, near: bool = False
) -> tuple[DrillSession, Showing]:
    """A drill that asks a card of this form next; with `near` an option is one level off."""
    pair = versatile(desk.cellar)
    desk.ensure_pairs([pair])
    # A contrast that was met comes in any form.
    met = DrillSession(desk, 600, pair=pair)
    while (showing := met.next()) is not None:
        met.answer(right_answer(showing), Sureness.SURE, 5.0)
    watch.next_morning()
    monkeypatch.setattr(drilling, "FORMS", {form: 1.0})
    session = DrillSession(desk, 600, pair=pair)
    while (showing := session.next()) is not None:
        distances = {one.distance for one in showing.question.options}
        if showing.question.form is form and (1 in distances or not near):
            break
        session.answer(right_answer(showing), Sureness.SURE, 5.0)
    assert showing is not None
    found = showing
    monkeypatch.setattr(session, "next", lambda: found)
    return session, found


# ---- answering


@pytest.mark.parametrize("key", ANSWERS, ids=lambda key: key.name)
def test_each_of_the_six_letters_says_which_glass_and_how_sure(desk: Desk, key: PlainKey) -> None:
    session = DrillSession(desk, 600)
    lines = drilled(session, key.letter)
    (reveal,) = session.reveals
    assert reveal.sureness is key.sureness
    question = reveal.showing.question
    left = question.truth == question.left
    assert reveal.correct == (left == (key.side == "left"))
    assert f"Left: {reveal.showing.left.name}" in lines.text
    assert f"Right: {reveal.showing.right.name}" in lines.text
    (kept,) = desk.repository.answers_of_drill(session.drill_id)
    assert (kept.correct, kept.sureness) == (reveal.correct, int(reveal.sureness))


def test_the_reveal_tells_every_weight_in_decibans_and_toward_which_wine(desk: Desk) -> None:
    session = DrillSession(desk, 600)
    lines = drilled(session, "a")
    (reveal,) = session.reveals
    story = reveal.explanation
    for one in (*story.cues, *story.also):
        wine = reveal.showing.left if one.weight < 0 else reveal.showing.right
        assert f"{abs(one.weight):.1f} decibans for {wine.name}" in lines.text
    for one in story.cues:
        assert one.because.rstrip(".") in lines.text


@pytest.mark.parametrize("form", Form)
@pytest.mark.parametrize("right", [True, False])
def test_every_form_of_card_can_be_answered_and_tells_what_was_right(
    desk: Desk, watch: Watch, monkeypatch: pytest.MonkeyPatch, form: Form, right: bool
) -> None:
    session, showing = card_of(desk, watch, monkeypatch, form)
    lines = drilled(session, letter(showing, right=right))
    reveal = session.reveals[-1]
    assert reveal.showing is showing
    assert reveal.correct is right
    question = showing.question
    for number, option in enumerate(question.options, 1):
        assert f"{number}: {option.words}" in lines.said
    verdict = next(
        line for line in lines.said if line.startswith(("Right.", "Wrong", "One level off"))
    )
    if not right:
        wanted = next((one.words for one in question.options if one.distance == 0), "it was ")
        assert wanted.casefold() in verdict.casefold()


def test_an_option_is_picked_by_number_and_its_sureness_asked_for(
    desk: Desk, watch: Watch, monkeypatch: pytest.MonkeyPatch
) -> None:
    session, showing = card_of(desk, watch, monkeypatch, Form.WHICH_CUE)
    before = session.answered
    # A letter alone picks nothing; a number can be thought over; 9 is no option.
    lines = drilled(session, "k", "9", "1", "2", "k")
    assert session.answered == before + 1
    assert lines.text.count("is no answer here: type 1 to 4") == 2
    assert lines.text.count("How sure: a or l sure, s or k leaning, d or j guess?") == 2
    last = session.reveals[-1]
    assert last.sureness is Sureness.LEANING
    assert last.correct is (showing.question.options[1].distance == 0)


def test_a_near_miss_is_told_as_one_level_off_with_what_was_right(
    desk: Desk, watch: Watch, monkeypatch: pytest.MonkeyPatch
) -> None:
    session, showing = card_of(desk, watch, monkeypatch, Form.WHICH_LEVEL, near=True)
    options = showing.question.options
    off = next(n for n, one in enumerate(options) if one.distance == 1)
    lines = drilled(session, f"{off + 1} s")
    right = " or ".join(one.words for one in options if one.distance == 0)
    (verdict,) = (line for line in lines.said if line.startswith("One level off."))
    assert right.casefold() in verdict.casefold()


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


def test_the_end_says_what_slipped_and_what_is_next(desk: Desk) -> None:
    session = DrillSession(desk, 600)
    wrong = session.next()
    assert wrong is not None
    session._prepared = wrong
    lines = drilled(session, letter(wrong, right=False), "f")
    (slip,) = session.end().slips
    assert f"  {slip.truth}, not {slip.other}: {slip.cues}. You were sure." in lines.said
    assert "  The next card is due tomorrow." in lines.said
    assert any("still unseen" in line for line in lines.said)


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


# ---- a database that is busy


def test_an_answer_that_cannot_be_kept_can_be_given_again(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = DrillSession(desk, 600)
    keep, left = session.answer, [1]

    def busy(*given: object) -> object:
        if left.pop() if left else 0:
            raise DatabaseLocked("another program is writing to it")
        return keep(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(session, "answer", busy)
    lines = drilled(session, "a", "a")
    assert "Not kept: another program is writing to it. Answer again to try again." in lines.said
    assert session.answered == 1


# ---- as a shell runs it


def test_a_whole_drill_over_a_pipe_is_plain_and_kept(home: Path) -> None:
    done = crosspour(home, "drill", "--plain", typed="a\n\nl\nw\n\nt\nd\nf\n")
    assert (done.returncode, done.stderr) == (0, "")
    assert not DRAWN.search(done.stdout)
    assert done.stdout.count(QUESTION) == 4
    assert [one.sureness for one in answers(home)] == [3, 3, 1]


def test_the_end_of_the_input_ends_the_drill_and_keeps_the_answers(home: Path) -> None:
    done = crosspour(home, "drill", "--plain", typed="a")
    assert (done.returncode, done.stderr) == (0, "")
    assert "The drill is over: 1 answer" in done.stdout
    assert len(answers(home)) == 1
    done = crosspour(home, "drill", "--plain")
    assert done.returncode == 0
    assert "Nothing was answered." in done.stdout


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        (b"\xff\xfe\n\x80a\na\n", 1),
        (b"\x00\n\x1b[A\na\n", 1),
        ("ü" * 400_000 + "\na\n", 1),
        (b"a\r\n\r\nl\r\n", 2),
    ],
    ids=["no UTF-8", "signs of control", "a long line", "lines of Windows"],
)
def test_whatever_is_typed_into_the_pipe_the_drill_goes_on(
    home: Path, typed: bytes | str, kept: int
) -> None:
    done = crosspour(home, "drill", "--plain", typed=typed)
    assert (done.returncode, done.stderr) == (0, "")
    assert not DRAWN.search(done.stdout)
    assert len(answers(home)) == kept


def test_minutes_pair_and_style_are_as_on_the_screen(home: Path) -> None:
    done = crosspour(
        home, "drill", "--plain", "--minutes", "3", "--pair", "Sancerre", "NZ Sauvignon Blanc"
    )
    assert "a drill of 3:00" in done.stdout
    assert "This pair was asked for." in done.stdout
    done = crosspour(home, "drill", "--plain", "--style", "sparkling", typed="a\n")
    (answer,) = answers(home)
    assert answer.contrast_id
    assert done.returncode == 0


def test_what_there_is_nothing_of_is_one_sentence(home: Path) -> None:
    for option, words in (("--resume", "no drill was stopped"), ("--sure-slips", "nothing waits")):
        done = crosspour(home, "drill", "--plain", option, typed="a\n")
        assert (done.returncode, done.stdout) == (2, "")
        assert words in done.stderr
        assert done.stderr.count("\n") == 1


def test_a_drill_that_was_stopped_goes_on_with_resume_and_sure_slips_are_asked(home: Path) -> None:
    crosspour(home, "drill", "--plain", "--minutes", "5", typed="a\n\na\n\na\n\na\n\na\n\na\n")
    wrong = [one for one in answers(home) if not one.correct]
    assert wrong, "one of six cards is wrong but once in 64 drills; the seed is fixed"
    done = crosspour(home, "drill", "--plain", "--resume")
    assert re.search(r"a drill of [45]:\d\d", done.stdout)
    done = crosspour(home, "drill", "--plain", "--sure-slips")
    assert "Wrong last time, and you were sure." in done.stdout


@contextmanager
def piped(home: Path, *arguments: str) -> Iterator[subprocess.Popen[bytes]]:
    """A plain drill whose other ends of the pipes the test holds."""
    process = subprocess.Popen(
        [*COMMAND, "drill", "--plain", *arguments],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment(home),
    )
    try:
        yield process
    finally:
        process.kill()
        process.wait(PATIENCE)
        for end in (process.stdin, process.stdout, process.stderr):
            assert end is not None
            end.close()


def read_until(process: subprocess.Popen[bytes], words: str) -> str:
    """Read lines up to one with the words."""
    assert process.stdout is not None
    said = ""
    for line in process.stdout:
        said += line.decode()
        if words in said:
            return said
    raise AssertionError(f"waited in vain for {words}:\n{said}")


def type_line(process: subprocess.Popen[bytes], line: str) -> None:
    assert process.stdin is not None
    process.stdin.write(f"{line}\n".encode())
    process.stdin.flush()


def test_each_question_is_out_before_its_answer_is_waited_for(home: Path) -> None:
    with piped(home) as process:
        for _ in range(2):
            read_until(process, QUESTION)
            type_line(process, "s")
            read_until(process, "Enter goes on")
            type_line(process, "")
        assert len(answers(home)) == 2


def test_a_reader_that_leaves_ends_the_drill_without_a_traceback(home: Path) -> None:
    with piped(home) as process:
        read_until(process, QUESTION)
        assert process.stdout is not None
        process.stdout.close()
        type_line(process, "a")
        assert process.wait(PATIENCE) == 1
        assert process.stderr is not None
        assert process.stderr.read() == b""
    assert len(answers(home)) == 1


@pytest.mark.parametrize(
    ("sign", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143), (signal.SIGHUP, 129)]
)
def test_a_drill_that_is_told_to_stop_leaves_a_whole_database(
    home: Path, sign: signal.Signals, code: int
) -> None:
    with piped(home) as process:
        read_until(process, QUESTION)
        type_line(process, "a")
        read_until(process, "Enter goes on")
        type_line(process, "")
        read_until(process, QUESTION)
        process.send_signal(sign)
        assert process.wait(PATIENCE) == code
        assert process.stdout is not None
        assert process.stderr is not None
        assert "The drill is over: 1 answer" in process.stdout.read().decode()
        assert process.stderr.read() == b""
    assert len(answers(home)) == 1


@pytest.mark.parametrize("term", ["dumb", "xterm-256color"])
def test_on_a_terminal_nothing_but_lines_is_written(home: Path, term: str) -> None:
    with on_terminal(home, "drill", "--plain", more={"TERM": term}, size=(40, 10)) as terminal:
        terminal.wait_for(QUESTION)
        terminal.type("a\n")
        terminal.wait_for("Enter goes on")
        terminal.type("\n")
        terminal.wait_for("Card 2")
        terminal.type("\x04")  # the end of the input, as typed
        assert terminal.leave() == 0
        raw = terminal._said.decode().replace("\r\n", "\n")
    assert not DRAWN.search(raw.replace("^D\x08\x08", ""))
    # Wrapped between words; the prompts alone are left to the terminal.
    prompts = (QUESTION, "Enter goes on")
    assert all(len(line) < 40 for line in raw.splitlines() if not line.startswith(prompts))
    assert len(answers(home)) == 1


def test_control_c_on_a_terminal_says_what_was_done_and_ends_with_130(home: Path) -> None:
    with on_terminal(home, "drill", "--plain") as terminal:
        terminal.wait_for(QUESTION)
        terminal.type("a\n")
        terminal.wait_for("Enter goes on")
        terminal.type("\x03")
        terminal.wait_for("The drill is over: 1 answer")
        assert terminal.leave() == 130
        assert "Traceback" not in terminal.said


def test_the_plain_drill_needs_no_screens(home: Path) -> None:
    code = (
        "import sys, io; sys.stdin = io.StringIO('a\\n\\n')\n"
        "from drills.cli import main; main(['drill', '--plain'])\n"
        "print('loaded', *sorted({name.split('.')[0] for name in sys.modules}))"
    )
    done = subprocess.run(
        [COMMAND[0], "-c", code], env=environment(home), capture_output=True, text=True, check=True
    )
    last = done.stdout.splitlines()[-1].split()
    assert last[0] == "loaded"
    assert {"textual", "rich", "alembic"}.isdisjoint(last)


def test_a_flight_that_was_mixed_up_comes_first(desk: Desk) -> None:
    mix_up(desk, *NEAR)
    lines = drilled(DrillSession(desk, 600))
    assert any("Mixed up in a tasting." in line for line in lines.said)
