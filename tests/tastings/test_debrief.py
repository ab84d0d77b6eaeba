"""What a debrief says of a pour, on the shipped table."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cards.cellar import Cellar
from cards.contrasts import THRESHOLD
from cards.evidence import AVERAGE_READER, DECIBANS, Reader, Reading, posterior, weight
from cards.lexicon import HUES, STRUCTURE, UNMEASURED
from cards.scale import Level
from cards.tables import Table
from drills.tastings.debrief import Debrief, NoDebrief, debrief
from drills.tastings.drafts import Named
from drills.tastings.missed import LEAST_MISSED, MOST_MISSED
from drills.tastings.notes import Candidate, FullPour, Note, Verdict

SANCERRE, MARLBOROUGH = "sauvignon-sancerre", "sauvignon-marlborough"
MOSEL, CLARE = "riesling-mosel", "riesling-clare"
SAVVY: dict[str, Reading] = {"acid": Level.MED, "alcohol": 13.5, "passion-fruit": True}


def pour(
    readings: dict[str, Reading], called: str | None, was: str | None, **changes: Any
) -> FullPour:
    note = Note(readings, **changes.pop("note", {}))
    values: dict[str, Any] = {
        "final": Verdict(called or "", called),
        "reveal": Named(was or "", was),
    }
    return FullPour(1, note, **(values | changes))


def told(cellar: Cellar, *arguments: Any, reader: Reader = AVERAGE_READER, **more: Any) -> Debrief:
    return debrief(pour(*arguments, **more), cellar, reader)


# ---- weights


def some_notes(table: Table) -> st.SearchStrategy[dict[str, Reading]]:
    levels = st.dictionaries(st.sampled_from([*STRUCTURE, "depth"]), st.sampled_from(Level))
    words = st.dictionaries(st.sampled_from(sorted(table.lexicon.descriptors)), st.booleans())
    hues = st.sampled_from([hue for group in HUES.values() for hue in group])
    return st.builds(
        lambda a, b, c, d: a | b | c | d,
        levels,
        words,
        st.fixed_dictionaries({}, optional={"hue": hues}),
        st.fixed_dictionaries({}, optional={"alcohol": st.floats(5, 22)}),
    )


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_the_weights_add_up_to_the_odds_of_the_posterior(cellar: Cellar, data: Any) -> None:
    note = data.draw(some_notes(cellar.table))
    called, was = data.draw(
        st.lists(st.sampled_from(sorted(cellar.table.profiles)), min_size=2, max_size=2)
    )
    found = told(cellar, note, called, was)
    chances = posterior([cellar.picture(key) for key in cellar.table.profiles], note)
    odds = DECIBANS * (math.log(chances[was]) - math.log(chances[found.other]))
    assert found.balance == pytest.approx(odds, abs=1e-6)
    stories = (*found.speaks_for, *found.speaks_against)
    assert sum(story.weight for story in stories) == pytest.approx(found.balance, abs=1e-9)
    assert found.chance == pytest.approx(1 / (1 + 10 ** (-found.balance / 10)))
    sizes = [abs(story.weight) for story in found.speaks_for]
    assert sizes == sorted(sizes, reverse=True)
    assert all(story.weight > 0 for story in found.speaks_for)
    assert all(story.weight < 0 for story in found.speaks_against)
    assert found.other != was
    assert len(found.missed) <= MOST_MISSED
    if note:
        assert found.probability == chances[was]
        assert found.rank == 1 + sum(chance > chances[was] for chance in chances.values())
        assert found.likeliest[0][1] == max(chances.values())
    assert found.next_time.endswith(".")
    assert "\n" not in found.next_time


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_missed_cue_adds_to_the_note_what_it_says(cellar: Cellar, data: Any) -> None:
    note = data.draw(some_notes(cellar.table))
    called, was = data.draw(
        st.lists(
            st.sampled_from(sorted(cellar.table.profiles)), min_size=2, max_size=2, unique=True
        )
    )
    before = told(cellar, note, called, was)
    side = 1 if was < called else 2
    readings = {cue.attribute: cue.reading(side) for cue in cellar.cues(*sorted((called, was)))}
    for missed in before.missed:
        attribute = missed.story.attribute
        assert attribute not in note
        after = told(cellar, {**note, attribute: readings[attribute]}, called, was)
        assert after.balance - before.balance == pytest.approx(missed.story.weight, abs=1e-9)
        assert missed.story.weight >= LEAST_MISSED
        settled = before.balance < THRESHOLD <= after.balance
        assert missed.settles == (settled and attribute not in UNMEASURED)


def test_a_smell_that_nobody_says_was_looked_for_counts_for_nothing(cellar: Cellar) -> None:
    silent = told(cellar, SAVVY, MARLBOROUGH, SANCERRE)
    looked = told(cellar, {**SAVVY, "flint": False}, MARLBOROUGH, SANCERRE)
    assert "flint" in {one.story.attribute for one in silent.missed}
    assert "flint" in {story.attribute for story in looked.speaks_against}
    assert looked.balance < silent.balance
    assert "no flint" in {story.words for story in looked.speaks_against}


def test_the_absence_of_a_smell_counts_only_as_far_as_this_taster_catches_it(
    cellar: Cellar,
) -> None:
    note: dict[str, Reading] = {"flint": False}
    sharp = told(cellar, note, MARLBOROUGH, SANCERRE)
    blunt = told(cellar, note, MARLBOROUGH, SANCERRE, reader=Reader(detection={"flint": 0.05}))
    assert sharp.balance < -5
    assert -0.5 < blunt.balance < 0


def test_two_words_of_one_family_do_not_count_as_two_observations(cellar: Cellar) -> None:
    one = told(cellar, {"lime": True}, CLARE, MOSEL)
    both = told(cellar, {"lime": True, "lemon": True}, CLARE, MOSEL)
    a, b = cellar.picture(MOSEL), cellar.picture(CLARE)
    alone = [weight(True, word, a, b) for word in ("lime", "lemon")]
    assert one.balance == pytest.approx(alone[0])
    assert both.balance == pytest.approx(sum(alone) / 1.5)


def test_the_whole_reader_is_used(cellar: Cellar) -> None:
    """Noise, alcohol and detection of one's own each change what a note weighs."""
    note: dict[str, Reading] = {"sweetness": Level.LOW, "alcohol": 12.0, "petrol": False}
    usual = told(cellar, note, CLARE, MOSEL).balance
    useless = tuple(tuple([0.2] * 5) for _ in range(5))
    for reader in (
        Reader(noise={"sweetness": useless}),
        Reader(alcohol_bias=1.5),
        Reader(alcohol_sd=3.0),
        Reader(detection={"petrol": 0.1}),
    ):
        assert told(cellar, note, CLARE, MOSEL, reader=reader).balance != pytest.approx(usual)
    blind = Reader(noise={"sweetness": useless})
    assert told(cellar, {"sweetness": Level.LOW}, CLARE, MOSEL).balance < -5
    alone = told(cellar, {"sweetness": Level.LOW}, CLARE, MOSEL, reader=blind)
    assert alone.balance == pytest.approx(0)


def test_a_cellar_drawn_for_the_reader_gives_the_same(table: Table, cellar: Cellar) -> None:
    reader = Reader(alcohol_bias=0.5, detection={"flint": 0.5})
    mine = Cellar(table, reader)
    one = pour(SAVVY, MARLBOROUGH, SANCERRE)
    assert debrief(one, mine, reader) == debrief(one, cellar, reader)
    assert debrief(one, mine, AVERAGE_READER) == debrief(one, cellar, AVERAGE_READER)


# ---- misread


def test_levels_are_held_against_the_revealed_wine(cellar: Cellar) -> None:
    note: dict[str, Reading] = {
        "acid": Level.LOW,  # Sancerre: high or nearly
        "tannin": Level.MED,  # none in a white wine
        "oak": Level.LOW,  # as it is
        "hue": "gold",
        "petrol": True,
    }
    found = told(cellar, note, MARLBOROUGH, SANCERRE, note={"world": "New", "climate": "cool"})
    slips = {one.attribute: one for one in found.misread}
    assert set(slips) == {"acid", "tannin", "hue", "world"}
    profile = cellar.table.profiles[SANCERRE]
    assert slips["acid"].off == int(Level.LOW) - int(profile.structure["acid"].low)
    assert slips["tannin"].off == 2
    assert slips["hue"].off is None
    assert (slips["world"].read, slips["world"].shows) == ("new world", "old world")
    assert {one.against for one in found.misread} == {"profile"}
    costs = [one.cost for one in found.misread]
    assert costs == sorted(costs, reverse=True)
    assert min(costs) >= 0


@pytest.mark.parametrize(
    ("read", "label", "off", "against"),
    [
        (13.0, 12.5, None, "label"),  # within what a label may differ
        (16.1, 15.6, None, "label"),  # a hair more than a half in binary
        (13.5, 12.5, 1.0, "label"),
        (11.0, 12.5, -1.5, "label"),
        (14.5, None, 1.0, "profile"),  # the nearer end of 12.5 to 13.5
        (13.9, None, None, "profile"),
    ],
)
def test_alcohol_is_held_against_the_label_where_there_is_one(
    cellar: Cellar, read: float, label: float | None, off: float | None, against: str
) -> None:
    profile = cellar.table.profiles[SANCERRE]
    read = read if label is not None else read + (profile.alcohol.high - 13.5)
    found = told(cellar, {"alcohol": read}, MARLBOROUGH, SANCERRE, label_alcohol=label)
    slips = [one for one in found.misread if one.attribute == "alcohol"]
    if off is None:
        assert slips == []
    else:
        assert [(round(one.off or 0, 6), one.against) for one in slips] == [(off, against)]


# ---- ranks, calls, candidates


def test_an_empty_note_ranks_nothing(cellar: Cellar) -> None:
    found = told(cellar, {}, MARLBOROUGH, SANCERRE)
    assert (found.rank, found.probability, found.likeliest) == (None, None, ())
    assert (found.balance, found.chance) == (0, 0.5)
    assert found.missed


def test_a_cue_that_the_table_knows_no_more_is_left_out(cellar: Cellar) -> None:
    odd = told(cellar, {**SAVVY, "a-word-of-old": True}, MARLBOROUGH, SANCERRE)
    assert odd == told(cellar, SAVVY, MARLBOROUGH, SANCERRE)


def test_the_right_call_is_held_against_the_likeliest_other_wine(cellar: Cellar) -> None:
    found = told(cellar, SAVVY, MARLBOROUGH, MARLBOROUGH)
    assert found.right is True
    assert found.pair is None
    assert found.other == next(wine for wine, _ in found.likeliest if wine != MARLBOROUGH)
    assert found.next_time.startswith("Right")


@pytest.mark.parametrize("called", [None, "no wine of the table"])
def test_without_a_call_that_is_understood_there_is_no_right_or_wrong(
    cellar: Cellar, called: str | None
) -> None:
    found = told(cellar, SAVVY, called, SANCERRE)
    assert (found.right, found.called, found.pair, found.first) == (None, None, None, None)
    assert found.next_time.startswith("Next time")


@pytest.mark.parametrize(
    ("first", "called", "better", "words"),
    [
        (SANCERRE, MARLBOROUGH, "first", "first call was right"),
        (MARLBOROUGH, SANCERRE, "final", "won the pour"),
        (SANCERRE, SANCERRE, "", "the same"),
        ("nebbiolo-barolo", MARLBOROUGH, "final", "the final one was nearer"),
        (MARLBOROUGH, "nebbiolo-barolo", "first", "the first one was nearer"),
    ],
)
def test_the_first_call_is_set_beside_the_final_one(
    cellar: Cellar, first: str, called: str, better: str, words: str
) -> None:
    found = told(cellar, SAVVY, called, SANCERRE, first=Verdict("x", first)).first
    assert found is not None
    assert found.better == better
    assert words in found.words


def test_a_truth_that_was_struck_off_is_told_with_its_reason(cellar: Cellar) -> None:
    considered = (Candidate("Marl", MARLBOROUGH), Candidate("Sanc", SANCERRE, "too ripe"))
    found = told(cellar, SAVVY, MARLBOROUGH, SANCERRE, candidates=considered)
    assert (found.considered, found.struck) == (True, "too ripe")
    assert found.next_time.startswith("You had Sancerre and struck it off (“too ripe”)")
    kept = (Candidate("Sanc", SANCERRE),)
    found = told(cellar, SAVVY, MARLBOROUGH, SANCERRE, candidates=kept)
    assert (found.considered, found.struck) == (True, "")
    assert not told(cellar, SAVVY, MARLBOROUGH, SANCERRE).considered


def test_the_vintage_is_off_by_years(cellar: Cellar) -> None:
    final = Verdict("x", MARLBOROUGH, 2023)
    assert told(cellar, SAVVY, None, SANCERRE, final=final, reveal_vintage=2020).vintage_off == 3
    assert told(cellar, SAVVY, None, SANCERRE, final=final).vintage_off is None


def test_nothing_to_hold_a_note_against_is_said_and_not_guessed(cellar: Cellar) -> None:
    with pytest.raises(NoDebrief, match="not revealed"):
        told(cellar, SAVVY, MARLBOROUGH, None)
    for reveal in (Named("Château Inconnu"), Named("Château Inconnu", "no-such-wine")):
        with pytest.raises(NoDebrief, match="“Château Inconnu” is no wine of the table"):
            told(cellar, SAVVY, MARLBOROUGH, None, reveal=reveal)


# ---- the sentence


def test_the_sentence_names_the_cue_that_would_have_helped_most(cellar: Cellar) -> None:
    found = told(cellar, SAVVY, MARLBOROUGH, SANCERRE)
    best = next(m for m in found.missed if m.story.attribute not in UNMEASURED)
    assert best.story.words in found.next_time
    assert found.next_time.startswith("Next time look for flint")


def test_the_sentence_names_a_misreading_that_cost_more(cellar: Cellar) -> None:
    note: dict[str, Reading] = {"alcohol": 12.5, "sweetness": Level.LOW}
    found = told(cellar, note, CLARE, MOSEL, label_alcohol=8.5)
    assert found.next_time == (
        "Next time check alcohol again: you read alcohol 12.5% vol, the label says 8.5% vol."
    )


def test_a_note_that_was_right_all_along_is_told_to_be_believed(cellar: Cellar) -> None:
    note: dict[str, Reading] = {"rose": True, "tar": True, "tannin": Level.HIGH}
    found = told(cellar, note, "sangiovese-brunello", "nebbiolo-barolo")
    assert found.next_time.startswith("Next time believe your note: it spoke for Barolo")


def test_a_word_without_a_measured_basis_is_never_the_one_to_check(cellar: Cellar) -> None:
    pairs = [
        (called, was)
        for was in cellar.table.profiles
        for called, _ in cellar.laterals(was, cellar.same_style(was))[:3]
    ]
    for called, was in pairs:
        found = told(cellar, {}, called, was)
        for word in UNMEASURED:
            assert f"check {word}" not in found.next_time
    assert len(pairs) > 300


def test_brackets_and_long_reasons_do_no_harm(cellar: Cellar) -> None:
    reason = "[bold]" + "so much of everything " * 20
    found = told(
        cellar,
        SAVVY,
        MARLBOROUGH,
        SANCERRE,
        candidates=(Candidate("x", SANCERRE, reason),),
        note={"free": ("[/]", "zesty")},
    )
    assert found.struck == reason
    assert len(found.next_time) < 250
    assert found.unknown_words == ("[/]", "zesty")


def test_the_left_wine_of_every_story_is_the_other_one(cellar: Cellar) -> None:
    """So that screens draw a bar to the right for the wine that it was."""
    found = told(cellar, {"flint": True, "passion-fruit": True}, MARLBOROUGH, SANCERRE)
    flint = next(story for story in found.speaks_for if story.attribute == "flint")
    assert flint.right == str(cellar.table.profiles[SANCERRE].descriptors["flint"])
    passion = next(s for s in found.speaks_against if s.attribute == "passion-fruit")
    assert passion.left == str(cellar.table.profiles[MARLBOROUGH].descriptors["passion-fruit"])
    assert passion.citation
