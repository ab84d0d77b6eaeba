"""Which cue? One of four answers settles the pair, and nobody finds it by its looks."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable

import pytest

from cards.cellar import Cellar
from cards.contrasts import LEAST_PROBABLE, Contrast
from cards.cues import card_family, is_scale
from cards.evidence import Reading, probability, weight
from cards.lexicon import DEPTH, STRUCTURE, UNMEASURED
from cards.questions import OPTIONS, WEAK_CUE, Form, Question, ask
from cards.scale import Typical
from cards.wording import words_for

Cues = list[tuple[str, Reading]]


@pytest.fixture(scope="module")
def asked(cellar: Cellar) -> list[tuple[Question, list[Cues]]]:
    """Every third contrast in this form, with its options read back as cues."""
    rng = random.Random(8)
    contrasts = cellar.all_contrasts()[::3]
    questions = [ask(cellar, one, rng, form=Form.WHICH_CUE) for one in contrasts]
    found = [one for one in questions if one.form is Form.WHICH_CUE]
    # Hardly any pair leaves too little to offer.
    assert len(found) > 0.9 * len(contrasts)
    return [(one, read_back(cellar, one)) for one in found]


def read_back(cellar: Cellar, question: Question) -> list[Cues]:
    """The cues that the words of each option stand for."""
    lexicon = cellar.table.lexicon
    known: dict[str, tuple[str, Reading]] = {}
    for picture in map(cellar.picture, question.contrast.pair):
        for attribute, readings in picture.typical.items():
            for reading in readings:
                known[words_for(attribute, reading, lexicon)] = (attribute, reading)
        for key in picture.noted:
            for noted in (True, False):
                known[words_for(key, noted, lexicon)] = (key, noted)
    return [[known[words] for words in option.words.split(", ")] for option in question.options]


def right_place(question: Question) -> int:
    (place,) = [n for n, option in enumerate(question.options) if option.distance == 0]
    return place


def joint(cellar: Cellar, question: Question, cues: Cues) -> float:
    """Decibans of several cues toward the wine that is poured, from the pictures themselves."""
    poured, other = cellar.picture(question.truth), cellar.picture(question.other)
    return sum(weight(reading, attribute, poured, other) for attribute, reading in cues)


def test_one_option_settles_the_pair_and_no_other_speaks_for_what_is_poured(
    cellar: Cellar, asked: list[tuple[Question, list[Cues]]]
) -> None:
    places = Counter[int]()
    for question, options in asked:
        right = right_place(question)
        places[right] += 1
        assert len(options) == OPTIONS
        assert options[right] == [(one.attribute, one.reading) for one in question.readings]
        assert probability(joint(cellar, question, options[right])) >= LEAST_PROBABLE - 1e-12
        for place, cues in enumerate(options):
            if place != right:
                assert joint(cellar, question, cues) < WEAK_CUE, (question, cues)
    # The answer stands at any place.
    assert min(places.values()) > 0.8 * len(asked) / OPTIONS


def test_the_answer_looks_like_the_others(asked: list[tuple[Question, list[Cues]]]) -> None:
    """As many cues, and a scale, a smell or an absence where they have one."""
    for question, options in asked:
        looks = {tuple(_look(*cue) for cue in cues) for cues in options}
        assert len(looks) == 1, question.options


def test_words_without_a_basis_are_offered_where_the_answer_has_one(
    asked: list[tuple[Question, list[Cues]]],
) -> None:
    """They never settle a pair alone, so beside a single level they would be no answers at all."""
    alone = [cues for one, options in asked if len(one.readings) == 1 for cues in options]
    hints = sum(attribute in UNMEASURED for ((attribute, _),) in alone)
    assert len(alone) > 1000
    assert hints < 0.01 * len(alone)


def test_who_knows_no_wine_finds_few_answers_by_how_rare_or_how_far_out_they_are(
    cellar: Cellar, asked: list[tuple[Question, list[Cues]]]
) -> None:
    """One in four by chance; 45% and 43% where what both wines share was offered as well."""
    commonness = Counter(
        key
        for profile in cellar.table.profiles.values()
        for key, typical in profile.descriptors.items()
        if typical in (Typical.SIGNATURE, Typical.COMMON)
    )

    def rare(cue: tuple[str, Reading]) -> float:
        return -commonness[cue[0]]

    def far_out(cue: tuple[str, Reading]) -> float:
        return abs(float(cue[1]) - 2) if cue[0] in (*STRUCTURE, DEPTH) else 0.0

    smells = [
        one for one in asked if len(one[0].readings) == 1 and one[0].readings[0].reading is True
    ]
    scales = [
        one for one in asked if len(one[0].readings) == 1 and is_scale(one[0].contrast.cues[0])
    ]
    assert min(len(smells), len(scales)) > 150
    assert _found(smells, rare) < 0.41
    assert _found(scales, far_out) < 0.41


def _found(
    asked: list[tuple[Question, list[Cues]]], looks: Callable[[tuple[str, Reading]], float]
) -> float:
    """The share of single cues found by whoever picks the one of the highest looks."""
    found = 0.0
    for question, options in asked:
        seen = [looks(cue) for (cue,) in options]
        best = [place for place, one in enumerate(seen) if one == max(seen)]
        found += (right_place(question) in best) / len(best)
    return found / len(asked)


def _look(attribute: str, reading: Reading) -> str:
    return "scale" if is_scale(attribute) else "smell" if reading else "absence"


def test_no_cue_is_offered_twice_and_none_beside_its_family(
    cellar: Cellar, asked: list[tuple[Question, list[Cues]]]
) -> None:
    families = cellar.picture("riesling-mosel").family_of
    for _, options in asked:
        attributes = [attribute for cues in options for attribute, _ in cues]
        assert len(set(attributes)) == len(attributes)
        for cues in options:
            assert len({card_family(attribute, families) for attribute, _ in cues}) == len(cues)


def test_tannin_is_not_spoken_of_in_white_wine(
    cellar: Cellar, asked: list[tuple[Question, list[Cues]]]
) -> None:
    whites = {key for key, one in cellar.table.profiles.items() if one.style == "white"}
    found = [options for one, options in asked if whites.issuperset(one.contrast.pair)]
    assert found
    assert not any(
        attribute == "tannin" for options in found for cues in options for attribute, _ in cues
    )


def test_the_same_seed_offers_the_same(cellar: Cellar) -> None:
    contrasts: list[Contrast] = cellar.all_contrasts()[:50]

    def offered(seed: int) -> list[Question]:
        rng = random.Random(seed)
        return [ask(cellar, one, rng, form=Form.WHICH_CUE) for one in contrasts]

    assert offered(3) == offered(3)
    assert offered(3) != offered(4)
