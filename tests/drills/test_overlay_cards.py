"""Cards follow an edit of the table: memory stays, starts anew or rests, and nothing is deleted."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from pathlib import Path

import pytest

from cards.cellar import Cellar
from cards.contrasts import THRESHOLD
from cards.cues import BOTH_SIDES, SIDE_A, SIDE_B, cues_of_pair
from cards.errors import TableError
from cards.evidence import picture_of
from cards.profiles import Span
from cards.questions import Form, Question, ask
from cards.scale import Level, LevelRange, Typical
from cards.standing import still_right
from cards.tables import Table
from drills.grading import Sureness
from drills.planner import Why
from drills.service.desk import Desk
from drills.service.drilling import DrillSession
from drills.service.table_editing import Disputed, dispute
from drills.storage.records import ContrastRecord, MemoryRecord
from tests.desks import Watch, answer, answers_of_pair, right_answer, wrong_answer
from tests.examples import examples

NEAR = ("sauvignon-marlborough", "sauvignon-sancerre")
OAKED = ("chardonnay-chablis", "chardonnay-meursault")


@pytest.fixture
def desk(home: Path, watch: Watch) -> Desk:
    """A desk that reads its table from the files, as the program does."""
    assert home.is_dir()
    return Desk(clock=watch.clock)


def learn(desk: Desk, pair: tuple[str, str]) -> dict[int, MemoryRecord]:
    """Answer every contrast of a pair once and return the memories."""
    desk.ensure_pairs([pair])
    session = DrillSession(desk, 6000, pair=pair)
    while (showing := session.next()) is not None:
        session.answer(right_answer(showing), Sureness.SURE, 5.0)
    session.end()
    me = desk.taster.id
    kept = {one.id: desk.repository.memory(me, one.id) for one in in_use(desk, pair)}
    return {key: memory for key, memory in kept.items() if memory is not None}


def in_use(desk: Desk, pair: tuple[str, str]) -> list[ContrastRecord]:
    return desk.repository.contrasts_of_pair(*pair)


def record_of(desk: Desk, contrast: int) -> ContrastRecord:
    record = desk.repository.contrast(contrast)
    assert record is not None, "a contrast was deleted"
    return record


def at_random(rng: random.Random, words: list[str]) -> tuple[str, Disputed]:
    """A dispute that leaves the wine sound."""
    kind = rng.choice(["level", "level", "typical", "typical", "alcohol", "depth"])
    low = Level(rng.randrange(5))
    levels = LevelRange(low, Level(rng.randrange(low, 5)))
    if kind == "level":
        return rng.choice(["acid", "body", "bitterness", "intensity", "mineral", "finish"]), levels
    if kind == "depth":
        return "depth", levels
    if kind == "alcohol":
        start = rng.choice([10.0, 12.0, 13.5])
        return "alcohol", Span(start, start + rng.choice([0.5, 1.0]))
    return rng.choice(words), rng.choice(list(Typical))


# ---- kept, restarted, retired


@pytest.mark.parametrize("seed", range(examples(2)))
def test_memory_is_kept_where_the_answer_stands_restarted_where_it_turned_retired_where_gone(
    desk: Desk, watch: Watch, seed: int
) -> None:
    """What stands is worked out here from the pictures of the wines, not from what was stored."""
    rng = random.Random(seed)
    pair = rng.choice([NEAR, OAKED])
    memories = learn(desk, pair)
    before = {key: record_of(desk, key) for key in memories}
    answers = answers_of_pair(desk.repository, desk.taster.id, *pair)
    watch.next_morning()
    words = sorted({w for wine in pair for w in desk.table.profiles[wine].descriptors})
    for _ in range(3):
        wine = rng.choice(pair)
        dispute(desk, wine, *at_random(rng, words))
    a, b = (picture_of(desk.table.profiles[w], desk.table.lexicon) for w in pair)
    cues = {cue.attribute: cue for cue in cues_of_pair(a, b) if cue.known}
    fates = []
    turned_ever = {key for key in before if record_of(desk, key).turned_at is not None}
    for key, old in before.items():
        now = record_of(desk, key)
        memory = desk.repository.memory(desk.taster.id, key)
        names = old.cues.split("+")
        askable = all(name in cues for name in names) and any(
            sum(cues[name].toward(side) for name in names) >= THRESHOLD for side in (SIDE_A, SIDE_B)
        )
        bearing = "".join("a" if cues[n].more else "b" for n in names if n in cues)
        if not askable:
            assert now.retired_at is not None
            fates.append("gone")
        elif key in turned_ever:
            assert memory is None
            fates.append("turned")
        elif now.retired_at is None:
            assert bearing == old.bearing
            assert memory == memories[key]
            fates.append("kept")
    assert fates.count("kept") > 0
    # Nothing is deleted: every contrast is there, and every answer.
    assert answers_of_pair(desk.repository, desk.taster.id, *pair) == answers
    assert all(record_of(desk, key) for key in before)


def test_what_was_learnt_and_stands_stays_in_use_though_the_pair_now_teaches_others(
    desk: Desk,
) -> None:
    memories = learn(desk, NEAR)
    lexicon = desk.table.lexicon
    strangers = [key for key in lexicon.descriptors if not any(
        key in desk.table.profiles[wine].descriptors for wine in NEAR)]  # fmt: skip
    families: set[str] = set()
    added = 0
    for word in strangers:
        family = lexicon.family_of(word)
        if family in families or added == 4:
            continue
        families.add(family)
        added += 1
        dispute(desk, NEAR[added % 2], word, Typical.SIGNATURE)
    chosen = {contrast.id for contrast in desk.cellar.contrasts(*NEAR)}
    left_out = memories.keys() - chosen
    assert left_out, "four new signatures must crowd out something that was learnt"
    stayed = {record.id for record in in_use(desk, NEAR)} & left_out
    assert stayed
    for key in stayed:
        assert desk.repository.memory(desk.taster.id, key) == memories[key]
        record = record_of(desk, key)
        contrast = desk.cellar.contrast(*NEAR, record.cues.split("+"))
        assert contrast is not None
        assert contrast.id == key
        assert contrast.bearing == record.bearing
    for key in left_out - stayed:
        assert desk.cellar.contrast(*NEAR, record_of(desk, key).cues.split("+")) is None


def test_disputes_that_turn_the_answer_start_its_memory_anew(desk: Desk) -> None:
    memories = learn(desk, OAKED)
    (oak,) = (one for one in in_use(desk, OAKED) if one.cues == "oak")
    assert oak.id in memories
    chablis, meursault = (desk.table.profiles[wine].structure["oak"] for wine in OAKED)
    answers = answers_of_pair(desk.repository, desk.taster.id, *OAKED)
    dispute(desk, OAKED[0], "oak", LevelRange(Level.HIGH, Level.HIGH))
    dispute(desk, OAKED[1], "oak", chablis)
    assert meursault.middle > chablis.middle
    turned = record_of(desk, oak.id)
    assert turned.retired_at is None
    assert turned.turned_at is not None
    assert turned.bearing != oak.bearing
    assert desk.repository.memory(desk.taster.id, oak.id) is None
    assert answers_of_pair(desk.repository, desk.taster.id, *OAKED) == answers


def test_taken_back_a_dispute_has_cost_no_memory_of_what_it_did_not_turn(desk: Desk) -> None:
    memories = learn(desk, OAKED)
    oak = {wine: desk.table.profiles[wine].structure["oak"] for wine in OAKED}
    assert dispute(desk, OAKED[0], "oak", oak[OAKED[1]])
    oaked = [key for key in memories if "oak" in record_of(desk, key).cues.split("+")]
    assert oaked
    assert all(record_of(desk, key).retired_at is not None for key in oaked)
    assert dispute(desk, OAKED[0], "oak", oak[OAKED[0]])
    for key, memory in memories.items():
        assert record_of(desk, key).retired_at is None
        assert desk.repository.memory(desk.taster.id, key) == memory
    assert desk.table.profiles[OAKED[0]].basis_of("oak") != "own"


def test_a_dispute_that_says_what_the_table_says_changes_nothing(desk: Desk, home: Path) -> None:
    acid = desk.table.profiles[NEAR[0]].structure["acid"]
    assert not dispute(desk, NEAR[0], "acid", acid)
    assert not list(home.rglob(f"{NEAR[0]}.toml"))


def test_a_refused_dispute_changes_neither_table_nor_cards(desk: Desk, home: Path) -> None:
    before = in_use(desk, NEAR)
    fingerprint = desk.table.fingerprint
    with pytest.raises(TableError, match="outside 4 to 24"):
        dispute(desk, NEAR[0], "alcohol", Span(2, 3))
    assert desk.table.fingerprint == fingerprint
    assert in_use(desk, NEAR) == before
    assert not list((home / "table").rglob("*.toml"))


def test_a_broken_file_leaves_the_desk_with_the_table_it_had(desk: Desk, home: Path) -> None:
    table, cellar = desk.table, desk.cellar
    file = home / "table" / "white" / f"{NEAR[0]}.toml"
    file.parent.mkdir(parents=True)
    file.write_text("acid = \n", encoding="utf-8")
    with pytest.raises(TableError):
        desk.reload_table()
    assert desk.table is table
    assert desk.cellar is cellar
    file.unlink()
    desk.reload_table()
    assert desk.table == table


def test_a_change_that_was_cut_short_is_finished_at_the_next_start(desk: Desk, home: Path) -> None:
    folder = home / "table" / "white"
    folder.mkdir(parents=True)
    file = folder / f"{NEAR[0]}.toml"
    (folder / f"{file.name}.new").write_text('[structure]\nacid = "low"\n', encoding="utf-8")
    (home / "table" / "pending.json").write_text(json.dumps([str(file)]), encoding="utf-8")
    assert desk.table.profiles[NEAR[0]].structure["acid"].high == Level.LOW
    assert not (home / "table" / "pending.json").exists()


# ---- in the middle of a drill


def disputed_so_that_it_turns(desk: Desk, question: Question) -> tuple[str, str, Disputed]:
    """A dispute after which the first reading of a card no longer points to its truth."""
    read = question.readings[0]
    profile = desk.table.profiles[question.truth]
    if read.attribute in desk.table.lexicon.descriptors:
        now = Typical.NEVER if read.reading else Typical.SIGNATURE
        return question.truth, read.attribute, now
    if read.attribute == "alcohol":
        low = 8.0 if profile.alcohol.low > 12 else 15.0
        return question.truth, "alcohol", Span(low, low + 0.5)
    level = Level.LOW if int(read.reading) > 2 else Level.HIGH
    return question.truth, read.attribute, LevelRange(level, level)


def test_an_answer_whose_card_no_longer_stands_is_taken_back(desk: Desk) -> None:
    session = DrillSession(desk, 600, pair=NEAR)
    first = answer(session)
    second = answer(session)
    session.prepare()
    question = second.showing.question
    dispute(desk, *disputed_so_that_it_turns(desk, question), "not in my glass")
    assert session.table_changed()
    assert session.answered == 1
    assert session.reveals == [first]
    kept = desk.repository.answers_of_drill(session.drill_id)
    assert [one.undone_at is not None for one in kept] == [False, True]
    assert desk.repository.memory(desk.taster.id, question.contrast.id) is None
    asked = set()
    while (showing := session.next()) is not None:
        asked.add(showing.question.contrast.id)
        assert still_right(desk.cellar, showing.question)
        session.answer(right_answer(showing), Sureness.SURE, 5.0)
    assert question.contrast.id not in asked
    assert session.end().answered == len(asked) + 1


def test_an_answer_that_still_stands_stays(desk: Desk) -> None:
    session = DrillSession(desk, 600, pair=NEAR)
    reveal = answer(session)
    question = reveal.showing.question
    memory = desk.repository.memory(desk.taster.id, question.contrast.id)
    word = next(
        key
        for key, family in (
            (k, desk.table.lexicon.family_of(k)) for k in desk.table.lexicon.descriptors
        )
        if all(key not in desk.table.profiles[w].descriptors for w in NEAR)
        and family not in {desk.table.lexicon.family_of(r.attribute) for r in question.readings}
    )
    dispute(desk, question.truth, word, Typical.OCCASIONAL)
    assert not session.table_changed()
    assert session.reveals == [reveal]
    assert desk.repository.memory(desk.taster.id, question.contrast.id) == memory
    assert session.next() is not None


def test_the_next_card_is_made_from_the_changed_table(desk: Desk) -> None:
    session = DrillSession(desk, 600, pair=OAKED)
    answer(session)
    session.prepare()
    level = desk.table.profiles[OAKED[1]].structure["oak"]
    dispute(desk, OAKED[0], "oak", level)
    session.table_changed()
    while (showing := session.next()) is not None:
        assert "oak" not in showing.question.contrast.cues
        assert still_right(desk.cellar, showing.question)
        session.answer(right_answer(showing), Sureness.SURE, 5.0)


def test_the_check_of_a_slip_goes_with_its_card(desk: Desk) -> None:
    session = DrillSession(desk, 6000, pair=NEAR)
    showing = session.next()
    assert showing is not None
    slipped = showing.question
    session.answer(wrong_answer(showing), Sureness.SURE, 5.0)
    answer(session)
    dispute(desk, *disputed_so_that_it_turns(desk, slipped))
    session.table_changed()
    while (showing := session.next()) is not None:
        assert showing.question.contrast.id != slipped.contrast.id
        session.answer(right_answer(showing), Sureness.SURE, 5.0)


def test_an_earlier_answer_whose_card_ended_is_undone_and_not_asked_again(desk: Desk) -> None:
    session = DrillSession(desk, 6000, pair=NEAR)
    first = answer(session)
    second = answer(session)
    dispute(desk, *disputed_so_that_it_turns(desk, first.showing.question))
    session.table_changed()
    for _ in range(session.answered - 1):
        session.undo()
    showing = session.undo()
    assert session.answered == 0
    assert showing is not None
    assert showing.question.contrast.id != first.showing.question.contrast.id
    assert still_right(desk.cellar, showing.question)
    kept = desk.repository.answers_of_drill(session.drill_id)
    assert all(one.undone_at is not None for one in kept)
    assert second.correct


def test_a_card_undone_after_an_edit_can_slip_and_come_back_as_a_check(desk: Desk) -> None:
    session = DrillSession(desk, 6000, pair=NEAR)
    reveal = answer(session)
    question = reveal.showing.question
    families = {desk.table.lexicon.family_of(r.attribute) for r in question.readings}
    word = next(
        key
        for key in desk.table.lexicon.descriptors
        if desk.table.lexicon.family_of(key) not in families
        and all(key not in desk.table.profiles[w].descriptors for w in NEAR)
    )
    dispute(desk, question.truth, word, Typical.OCCASIONAL)
    session.table_changed()
    showing = session.undo()
    assert showing is not None
    session.answer(wrong_answer(showing), Sureness.SURE, 5.0)
    seen = []
    while (following := session.next()) is not None:
        seen.append((following.question.contrast.id, following.why))
        session.answer(right_answer(following), Sureness.SURE, 5.0)
    assert (question.contrast.id, Why.CHECK) in seen


# ---- what stands


@pytest.mark.parametrize("form", list(Form))
def test_every_card_of_the_table_stands_by_the_table_that_made_it(
    table: Table, cellar: Cellar, form: Form
) -> None:
    rng = random.Random(form.value)
    contrasts = rng.sample(cellar.all_contrasts(), 150)
    asked = [ask(cellar, contrast, rng, form=form) for contrast in contrasts]
    assert any(question.form is form for question in asked)
    assert all(still_right(cellar, question) for question in asked)
    assert still_right(Cellar(table), asked[0])


@pytest.mark.parametrize("form", list(Form))
def test_a_card_falls_when_its_reading_points_the_other_way(cellar: Cellar, form: Form) -> None:
    """The two wines change places: whatever told one from the other now tells the opposite."""
    rng = random.Random(form.value)
    profiles = cellar.table.profiles
    asked = 0
    for contrast in rng.sample(cellar.all_contrasts(), 400):
        question = ask(cellar, contrast, rng, form=form)
        if contrast.sides != BOTH_SIDES or len(contrast.cues) > 1 or question.form is not form:
            continue
        a, b = contrast.pair
        swapped = {
            a: replace(profiles[b], key=a, name=profiles[a].name),
            b: replace(profiles[a], key=b, name=profiles[b].name),
        }
        turned = Cellar(replace(cellar.table, profiles={**profiles, **swapped}))
        assert not still_right(turned, question), question
        gone = {key: profile for key, profile in profiles.items() if key != a}
        assert not still_right(Cellar(replace(cellar.table, profiles=gone)), question)
        asked += 1
    assert asked > 5
