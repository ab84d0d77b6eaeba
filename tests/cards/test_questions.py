"""Questions in every form: readings point to the truth, one answer is right, seeds reproduce."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace

import pytest

from cards.cellar import FARTHEST, Cellar
from cards.contrasts import Contrast
from cards.cues import BOTH_SIDES, SIDE_A, SIDE_B, is_scale
from cards.errors import NoContrast
from cards.evidence import posterior, probability, weight
from cards.explaining import explain
from cards.lexicon import ALCOHOL, DEPTH, HUE, HUES, STRUCTURE, UNMEASURED
from cards.questions import LEVELS_RIGHT, NOTE_LEAST, OPTIONS, Form, Question, ask, choose_side
from cards.scale import Level, LevelRange, Typical
from cards.tables import Table
from cards.wording import profile_words, words_for


@pytest.fixture(scope="module")
def every(cellar: Cellar) -> list[Contrast]:
    """All contrasts of the shipped table."""
    return cellar.all_contrasts()


def toward_truth(cellar: Cellar, question: Question, attribute: str, side: int) -> float:
    """Weight of the typical reading of `side`, toward the truth, from the pictures themselves."""
    a, b = (cellar.picture(wine) for wine in question.contrast.pair)
    cue = next(c for c in cellar.cues(*question.contrast.pair) if c.attribute == attribute)
    found = weight(cue.reading(side), attribute, a, b)
    return found if question.truth == question.contrast.wine_a else -found


def joint(cellar: Cellar, question: Question) -> float:
    a, b = (cellar.picture(wine) for wine in question.contrast.pair)
    total = sum(weight(r.reading, r.attribute, a, b) for r in question.readings)
    return total if question.truth == question.contrast.wine_a else -total


def test_the_readings_of_every_side_point_to_the_truth(
    cellar: Cellar, every: list[Contrast]
) -> None:
    rng = random.Random(1)
    for contrast in every:
        for side in (SIDE_A, SIDE_B):
            if contrast.sides & side:
                question = ask(cellar, contrast, rng, side=side)
                assert question.side == side
                assert question.truth == contrast.pair[side - 1]
                assert {question.left, question.right} == set(contrast.pair)
                assert [r.attribute for r in question.readings] == list(contrast.cues)
                assert probability(joint(cellar, question)) >= 0.85 - 1e-12


def test_a_reading_is_typical_of_the_truth(cellar: Cellar, every: list[Contrast]) -> None:
    """Nothing is said of a wine that its own profile does not say."""
    rng = random.Random(2)
    for contrast in every[::7]:
        question = ask(cellar, contrast, rng)
        picture = cellar.picture(question.truth)
        for shown in question.readings:
            if isinstance(shown.reading, bool):
                # A word that is shown is common in the wine, one that is missed is no mark of it.
                chance = picture.chance_noted(shown.attribute)
                assert chance >= 0.45 if shown.reading else chance < 0.5
            else:
                assert shown.reading in picture.typical[shown.attribute]


def test_glasses_and_sides_are_drawn_evenly(cellar: Cellar, every: list[Contrast]) -> None:
    rng = random.Random(3)
    contrast = next(found for found in every if found.sides == BOTH_SIDES)
    drawn = Counter(
        (question.left == contrast.wine_a, question.truth == contrast.wine_a)
        for question in (ask(cellar, contrast, rng) for _ in range(2000))
    )
    # Four equally likely outcomes of 500; five standard deviations are 97.
    assert all(abs(count - 500) < 97 for count in drawn.values())
    assert len(drawn) == 4


def test_the_wine_told_less_often_is_likelier(every: list[Contrast]) -> None:
    rng = random.Random(4)
    both = next(found for found in every if found.sides == BOTH_SIDES)
    sides = Counter(choose_side(both, rng, (9, 0)) for _ in range(1100))
    # One in eleven for A: 100 of 1,100, standard deviation 9.5.
    assert abs(sides[SIDE_A] - 100) < 48
    one = next(found for found in every if found.sides == SIDE_B)
    assert {choose_side(one, rng, (0, 9)) for _ in range(50)} == {SIDE_B}


def test_place_and_side_can_be_given(cellar: Cellar, every: list[Contrast]) -> None:
    contrast = next(found for found in every if found.sides == BOTH_SIDES)
    rng = random.Random(5)
    for swapped in (False, True):
        question = ask(cellar, contrast, rng, side=SIDE_B, swapped=swapped)
        assert question.truth == contrast.wine_b
        assert question.right == (contrast.wine_a if swapped else contrast.wine_b)


def test_the_same_seed_makes_the_same_questions(cellar: Cellar, every: list[Contrast]) -> None:
    def showings(seed: int) -> list[Question]:
        rng = random.Random(seed)
        return [ask(cellar, c, rng, form=rng.choice(list(Form))) for c in every[:300]]

    assert showings(6) == showings(6)
    assert showings(6) != showings(7)


def looks_like(table: Table, one: str, other: str) -> bool:
    """Whether two wines share a colour, or both show the hues of age."""

    def seen(wine: str) -> set[str]:
        hues = table.profiles[wine].hues
        groups = {group for group, among in HUES.items() for hue in hues if hue in among}
        return groups | {"aged" for hue in hues if hue in {"amber", "brown", "brick", "tawny"}}

    return bool(seen(one) & seen(other))


def right_place(question: Question) -> int:
    """The place of the only right option."""
    (place,) = [n for n, option in enumerate(question.options) if option.distance == 0]
    return place


def test_a_wine_or_an_option_is_right_or_off(cellar: Cellar, every: list[Contrast]) -> None:
    question = ask(cellar, every[0], random.Random(15))
    assert question.distance(question.truth) == 0
    assert question.distance(question.other) == 1
    assert {question.truth, question.other} == set(every[0].pair)
    chosen = ask(cellar, every[0], random.Random(15), form=Form.WHICH_CUE)
    offs = [chosen.distance(place) for place in range(OPTIONS)]
    assert sorted(offs) == [0, 1, 1, 1]


def test_which_level_is_right_within_the_typical_range(
    cellar: Cellar, every: list[Contrast]
) -> None:
    rng = random.Random(16)
    asked = 0
    for contrast in every[::3]:
        question = ask(cellar, contrast, rng, form=Form.WHICH_LEVEL)
        if question.form is Form.WHICH_GLASS:
            # Words without a measured basis are not asked for alone, nor where most levels are
            # right.
            profile = cellar.table.profiles[question.truth]
            placed = {**profile.structure, DEPTH: profile.depth}
            for cue in placed.keys() & set(contrast.cues) - UNMEASURED:
                assert len(list(placed[cue])) > LEVELS_RIGHT
            continue
        asked += 1
        (shown,) = question.readings
        assert shown.attribute in contrast.cues
        assert shown.attribute not in UNMEASURED
        profile = cellar.table.profiles[question.truth]
        typical = profile.depth if shown.attribute == DEPTH else profile.structure[shown.attribute]
        for level, option in zip(Level, question.options, strict=True):
            off = [abs(level - good) for good in typical]
            assert option.distance == min(off)
            assert option.words == words_for(shown.attribute, int(level), cellar.table.lexicon)
        assert sum(option.distance == 0 for option in question.options) <= LEVELS_RIGHT
        # The level that the card's own reading names is a right answer, and is not given away.
        assert question.options[int(shown.reading)].distance == 0
        assert shown.words not in {option.words for option in question.options}
    assert asked > 400


def test_name_it_is_a_full_note_that_names_one_of_four(
    cellar: Cellar, every: list[Contrast]
) -> None:
    rng = random.Random(17)
    table = cellar.table
    by_name = {profile.name: key for key, profile in table.profiles.items()}
    asked, places = 0, Counter[int]()
    for contrast in every[::40]:
        question = ask(cellar, contrast, rng, form=Form.NAME_IT)
        if question.form is Form.WHICH_GLASS:
            continue
        asked += 1
        right = right_place(question)
        places[right] += 1
        names = [by_name[option.words] for option in question.options]
        assert names[right] == question.truth
        assert question.other in names
        assert len(set(names)) == OPTIONS
        # None of the others is so far off, or so coloured, that it gives the name away.
        for name in set(names) - {question.truth}:
            assert cellar.separation(question.truth, name) <= FARTHEST
            assert looks_like(table, question.truth, name)
        note = {shown.attribute: shown.reading for shown in question.readings}
        assert len(note) == len(question.readings) >= NOTE_LEAST
        assert set(contrast.cues) <= note.keys()
        found = posterior([cellar.picture(name) for name in names], note)
        assert question.probable == pytest.approx(found[question.truth])
        assert found[question.truth] >= 0.85 - 1e-12
        profile, picture = table.profiles[question.truth], cellar.picture(question.truth)
        for attribute, reading in note.items():
            if is_scale(attribute):
                assert reading in picture.typical[attribute]
            elif attribute not in contrast.cues:
                # What was added is in the wine; absences stand only where the contrast has them.
                assert reading is True
                assert profile.descriptors[attribute] is not Typical.NEVER
    assert asked > 0.8 * len(every) / 40
    assert min(places.values()) > 0.5 * asked / OPTIONS


@pytest.mark.parametrize("form", Form)
def test_a_form_tells_how_probable_its_answer_is(
    cellar: Cellar, every: list[Contrast], form: Form
) -> None:
    rng = random.Random(18)
    for contrast in every[::40]:
        question = ask(cellar, contrast, rng, form=form)
        assert 0.85 - 1e-12 <= question.probable <= 1
        if question.form in (Form.WHICH_GLASS, Form.WHICH_CUE):
            assert question.probable == pytest.approx(probability(joint(cellar, question)))
        assert explain(cellar, question).probable == question.probable


def test_which_cue_falls_back_where_too_few_cues_are_weak(table: Table) -> None:
    """Two wines that agree in all but a few strong cues leave nothing to offer beside them."""
    low, high = LevelRange.parse("low"), LevelRange.parse("high")
    base = table.profiles["riesling-alsace"]
    one = replace(base, key="one", structure={**base.structure, "acid": low})
    other = replace(base, key="other", structure={**base.structure, "acid": high})
    cellar = Cellar(replace(table, profiles={"one": one, "other": other}))
    contrast = cellar.contrasts("one", "other")[0]
    assert contrast.cues == ("acid",)
    question = ask(cellar, contrast, random.Random(9), form=Form.WHICH_CUE)
    assert question.form is Form.WHICH_GLASS
    assert question.options == ()
    # Two wines are no four to choose a name from, either.
    assert ask(cellar, contrast, random.Random(9), form=Form.NAME_IT).form is Form.WHICH_GLASS


def test_a_cue_that_the_table_no_longer_tells_is_refused(
    table: Table, every: list[Contrast]
) -> None:
    contrast = every[0]
    one, other = (table.profiles[wine] for wine in contrast.pair)
    twin = replace(one, key=other.key)
    changed = Cellar(replace(table, profiles={**table.profiles, other.key: twin}))
    with pytest.raises(NoContrast, match="no longer tells"):
        ask(changed, contrast, random.Random(10))


# --- the reveal ----------------------------------------------------------------------------------


@pytest.mark.parametrize("swapped", [False, True])
def test_weights_of_a_reveal_point_left_when_negative(
    cellar: Cellar, every: list[Contrast], swapped: bool
) -> None:
    rng = random.Random(11)
    for contrast in every[::5]:
        question = ask(cellar, contrast, rng, swapped=swapped)
        told = explain(cellar, question)
        assert [story.attribute for story in told.cues] == list(contrast.cues)
        for story, shown in zip(told.cues, question.readings, strict=True):
            true = toward_truth(cellar, question, story.attribute, question.side)
            assert story.weight == pytest.approx(
                true if question.truth == question.right else -true
            )
            assert story.words == shown.words
        sign = 1 if question.truth == question.right else -1
        assert all(sign * story.weight >= 0 for story in told.cues)
        assert told.probable == pytest.approx(probability(joint(cellar, question)))
        assert told.probable >= 0.85 - 1e-12
        assert told.telling == cellar.table.profiles[question.truth].telling


def test_two_more_cues_are_of_other_families_and_measured(
    cellar: Cellar, every: list[Contrast]
) -> None:
    rng = random.Random(12)
    family_of = cellar.table.lexicon.family_of
    for contrast in every[::5]:
        question = ask(cellar, contrast, rng)
        told = explain(cellar, question)
        attributes = [story.attribute for story in (*told.cues, *told.also)]
        families = [family_of(attribute) for attribute in attributes]
        assert len(set(families)) == len(families)
        assert not {story.attribute for story in told.also} & UNMEASURED
        left, right = (cellar.picture(wine) for wine in (question.left, question.right))
        for story in told.also:
            cues = {cue.attribute: cue for cue in cellar.cues(*contrast.pair)}
            cue = cues[story.attribute]
            side = SIDE_A if cue.toward_a >= cue.toward_b else SIDE_B
            assert story.weight == pytest.approx(
                weight(cue.reading(side), story.attribute, right, left)
            )


def test_a_reveal_says_what_either_profile_says_and_on_what_it_rests(
    cellar: Cellar, every: list[Contrast]
) -> None:
    table = cellar.table
    rng = random.Random(13)
    causes = 0
    for contrast in every[::5]:
        question = ask(cellar, contrast, rng)
        told = explain(cellar, question)
        for story in (*told.cues, *told.also):
            left, right = (table.profiles[wine] for wine in (question.left, question.right))
            assert story.left == profile_words(left, story.attribute, table.lexicon)
            assert story.right == profile_words(right, story.attribute, table.lexicon)
            bases = {p.basis_of(story.attribute) for p in (left, right)}
            assert story.basis in bases
            source = table.sources.get(story.basis)
            assert story.citation == (source.citation if source else "")
            if story.because:
                causes += 1
                known = {one.because for one in table.causes if one.cue == story.attribute}
                other = left if story.weight > 0 else right
                # A rival's cause names the rival, and the cause of a smell beside its absence the
                # smell.
                bare = story.because.removeprefix(f"{other.short}: ")
                if story.words.startswith("no ") and not is_scale(story.attribute):
                    smell = story.words.removeprefix("no ")
                    bare = bare.removeprefix(f"{smell[0].upper()}{smell[1:]}: ")
                    assert bare != story.because
                assert bare in known
    assert causes > 0


def test_a_cause_told_of_one_wine_is_told_with_its_name_beside_the_other(cellar: Cellar) -> None:
    contrast = cellar.contrast("tannat-madiran", "xinomavro-naoussa", ["depth"])
    assert contrast is not None
    (deep,), (pale,) = (
        explain(cellar, ask(cellar, contrast, random.Random(1), side=side)).cues
        for side in (SIDE_A, SIDE_B)
    )
    assert pale.because == f"Madiran: {deep.because}"


# --- words ---------------------------------------------------------------------------------------


def test_readings_in_words(table: Table) -> None:
    def say(attribute: str, reading: float | bool | str) -> str:
        return words_for(attribute, reading, table.lexicon)

    assert say("acid", 4) == "high acid"
    assert say("tannin", 1) == "med- tannin"
    assert say(ALCOHOL, 13.5) == "alcohol 13.5% vol"
    assert say(ALCOHOL, 14.0) == "alcohol 14% vol"
    assert say(HUE, "onion-skin") == "onion skin hue"
    assert say("white-pepper", True) == "white pepper"
    assert say("white-pepper", False) == "no white pepper"


@pytest.mark.parametrize("attribute", [*STRUCTURE, DEPTH])
def test_every_level_has_words_of_its_own(table: Table, attribute: str) -> None:
    words = [words_for(attribute, int(level), table.lexicon) for level in Level]
    assert len(set(words)) == len(Level)


def test_a_profile_in_words(table: Table) -> None:
    lexicon = table.lexicon
    profile = replace(
        table.profiles["gruner-wachau"],
        structure={"acid": LevelRange.parse("med+ to high")},
        hues=("greenish", "onion-skin"),
        depth=LevelRange.parse("low"),
        descriptors={"lime": Typical.SIGNATURE, "rose": Typical.OCCASIONAL},
    )
    assert profile_words(profile, "acid", lexicon) == "med+ to high"
    assert profile_words(profile, ALCOHOL, lexicon) == f"{profile.alcohol}% vol"
    assert profile_words(profile, HUE, lexicon) == "greenish, onion skin"
    assert profile_words(profile, DEPTH, lexicon) == "low"
    assert profile_words(profile, "tannin", lexicon) == "none"
    assert profile_words(profile, "lime", lexicon) == "signature"
    assert profile_words(profile, "lemon", lexicon) == "rather lime"
    assert profile_words(profile, "violet", lexicon) == "not known for it"
