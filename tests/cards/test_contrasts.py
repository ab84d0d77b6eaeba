"""Contrasts of every pair: strong enough, diverse, honest about the measured, and stable."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from dataclasses import replace
from itertools import combinations, islice, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards.cellar import NEAREST, Cellar
from cards.contrasts import (
    GROUP,
    MEASURED_LEAST,
    THRESHOLD,
    Contrast,
    contrast_id,
    contrasts_of_pair,
    ordered_pair,
)
from cards.cues import BOTH_SIDES, SIDE_A, SIDE_B, CueWeight, cues_of_pair, is_scale
from cards.evidence import Picture, picture_of, probability, weight
from cards.lexicon import ALCOHOL, DEPTH, HUE, STRUCTURE, UNMEASURED, Lexicon
from cards.profiles import Profile, Span
from cards.scale import Level, LevelRange, Typical
from cards.tables import Table, load_table

SHIPPED = load_table()
LEXICON = SHIPPED.lexicon
SIDES = (SIDE_A, SIDE_B)


@pytest.fixture(scope="module")
def every(cellar: Cellar) -> list[Contrast]:
    """All contrasts of the shipped table, in the order of introduction."""
    return cellar.all_contrasts()


def asked(contrast: Contrast) -> list[int]:
    return [side for side in SIDES if contrast.sides & side]


def true_weights(
    contrast: Contrast, side: int, a: Picture, b: Picture, cues: dict[str, CueWeight]
) -> dict[str, float]:
    """The weight of each reading that a card for `side` shows, toward that side, from the picture
    itself: nothing is taken from what the contrast says of itself.
    """
    sign = 1 if side == SIDE_A else -1
    return {name: sign * weight(cues[name].reading(side), name, a, b) for name in contrast.cues}


def assert_sound(contrast: Contrast, a: Picture, b: Picture, lexicon: Lexicon) -> None:
    """What every contrast must keep, whatever the two wines."""
    cues = {cue.attribute: cue for cue in cues_of_pair(a, b)}
    families = [lexicon.family_of(name) for name in contrast.cues]
    assert len(set(families)) == len(families), contrast
    assert contrast.cues == tuple(sorted(contrast.cues))
    assert 1 <= len(contrast.cues) <= 3
    assert contrast.sides in (SIDE_A, SIDE_B, BOTH_SIDES)
    weakest = []
    for side in asked(contrast):
        weights = true_weights(contrast, side, a, b, cues)
        joint = sum(weights.values())
        assert probability(joint) >= 0.85 - 1e-12, (contrast, weights)
        measured = sum(size for name, size in weights.items() if name not in UNMEASURED)
        assert measured >= MEASURED_LEAST - 1e-9, (contrast, weights)
        # No reading on the card speaks for the other wine.
        assert min(weights.values()) >= 0, (contrast, weights)
        weakest.append(joint)
    assert contrast.strength == pytest.approx(min(weakest), abs=0.006)
    assert not set(contrast.cues) <= UNMEASURED


def test_every_contrast_of_the_table_is_sound(
    table: Table, cellar: Cellar, every: list[Contrast]
) -> None:
    assert len(every) > 2000
    for contrast in every:
        a, b = (cellar.picture(wine) for wine in contrast.pair)
        assert_sound(contrast, a, b, table.lexicon)


ranges = st.tuples(st.sampled_from(Level), st.sampled_from(Level)).map(
    lambda pair: LevelRange(*sorted(pair))
)


@st.composite
def altered(draw: st.DrawFn, key: str) -> Profile:
    """A shipped profile with some facts replaced by any others."""
    base = SHIPPED.profiles[draw(st.sampled_from(sorted(SHIPPED.profiles)))]
    structure = dict(base.structure) | draw(
        st.dictionaries(st.sampled_from(STRUCTURE), ranges, max_size=6)
    )
    words = st.sampled_from(sorted(LEXICON.descriptors))
    descriptors = dict(base.descriptors) | draw(
        st.dictionaries(words, st.sampled_from(Typical), max_size=8)
    )
    low, width = draw(st.floats(7, 20)), draw(st.floats(0, 4))
    return replace(
        base,
        key=key,
        structure=structure,
        descriptors=descriptors,
        depth=draw(ranges),
        alcohol=Span(low, low + width),
    )


@given(altered("a"), altered("b"))
def test_contrasts_of_any_two_profiles_are_sound(one: Profile, other: Profile) -> None:
    a, b = picture_of(one, LEXICON), picture_of(other, LEXICON)
    group = contrasts_of_pair(a, b)
    assert len(group) <= GROUP
    for contrast in group:
        assert_sound(contrast, a, b, LEXICON)
    assert contrasts_of_pair(b, a) == group


def test_a_side_is_not_asked_with_a_reading_that_speaks_against_it() -> None:
    """Wines of one middling alcohol: 13% is the narrow one's mark and no mark of the wide one.

    Acid alone makes the wide wine probable enough; with the alcohol beside it, it no longer does.
    """
    base = SHIPPED.profiles["riesling-alsace"]
    one, other = (
        picture_of(
            replace(
                base,
                key=key,
                alcohol=alcohol,
                structure={**base.structure, "acid": LevelRange.parse(acid)},
            ),
            LEXICON,
        )
        for key, alcohol, acid in (("a", Span(13, 13), "low"), ("b", Span(11, 15), "low to high"))
    )
    contrast = next(c for c in contrasts_of_pair(one, other) if c.cues == ("acid", "alcohol"))
    assert contrast.sides == SIDE_A
    assert weight(13.0, ALCOHOL, other, one) < -4
    assert_sound(contrast, one, other, LEXICON)


@given(altered("a"), altered("b"))
def test_cues_turn_round_with_the_wines(one: Profile, other: Profile) -> None:
    a, b = picture_of(one, LEXICON), picture_of(other, LEXICON)
    there = {cue.attribute: cue for cue in cues_of_pair(a, b)}
    back = {cue.attribute: cue for cue in cues_of_pair(b, a)}
    assert there.keys() == back.keys()
    for name, cue in there.items():
        turned = back[name]
        assert cue.toward_a == pytest.approx(turned.toward_b)
        assert cue.toward_b == pytest.approx(turned.toward_a)
        assert cue.total > 0
        assert min(cue.toward_a, cue.toward_b) >= 0
        assert cue.family == turned.family
        assert cue.known == turned.known


@given(altered("a"), altered("b"))
def test_who_shows_more_is_said_from_either_side(one: Profile, other: Profile) -> None:
    a, b = picture_of(one, LEXICON), picture_of(other, LEXICON)
    back = {cue.attribute: cue for cue in cues_of_pair(b, a)}
    for cue in cues_of_pair(a, b):
        if cue.attribute in one.structure and cue.attribute in other.structure:
            mine, theirs = (p.structure[cue.attribute].middle for p in (one, other))
            if mine != theirs:
                assert cue.more == (mine > theirs)
                assert back[cue.attribute].more == (theirs > mine)
        elif cue.attribute == ALCOHOL and one.alcohol.middle - other.alcohol.middle > 0.5:
            assert cue.more
            assert not back[cue.attribute].more
        elif not is_scale(cue.attribute):
            assert cue.more == (a.chance_noted(cue.attribute) > b.chance_noted(cue.attribute))
            assert back[cue.attribute].more != cue.more


def test_a_pair_of_the_same_picture_has_no_cues(cellar: Cellar) -> None:
    wine = cellar.picture("riesling-alsace")
    assert cues_of_pair(wine, wine) == []
    assert contrasts_of_pair(wine, replace(wine, wine="twin")) == []


def test_the_families_of_scales_are_those_of_the_lexicon(table: Table, cellar: Cellar) -> None:
    """Two scales count as one observation in a card where the lexicon says they move as one."""
    cues = cellar.cues("riesling-mosel", "shiraz-barossa")
    family = {cue.attribute: cue.family for cue in cues}
    scales = [name for name in family if is_scale(name)]
    assert {"alcohol", "body", "depth", "hue", "oak"} <= set(scales)
    for one, other in combinations(scales, 2):
        same = table.lexicon.family_of(one) == table.lexicon.family_of(other)
        assert (family[one] == family[other]) == same, (one, other)
    oak = {"oak-sweet", "oak-toast"}
    for name in set(family) - set(scales):
        known = table.lexicon.family_of(name)
        assert family[name] == ("oak" if known in oak else known)
    assert family["oak"] == "oak"


def test_scales() -> None:
    assert all(is_scale(name) for name in (*STRUCTURE, ALCOHOL, HUE, DEPTH))
    assert not is_scale("petrol")


# --- the set of all contrasts --------------------------------------------------------------------


def test_ids_are_unique_and_fit_a_signed_integer_of_64_bits(every: list[Contrast]) -> None:
    ids = [contrast.id for contrast in every]
    assert len(set(ids)) == len(ids)
    assert all(0 <= number < 2**63 for number in ids)


def test_an_id_comes_from_the_pair_and_the_names_of_the_cues(every: list[Contrast]) -> None:
    for contrast in every:
        assert contrast.id == contrast_id(*contrast.pair, reversed(contrast.cues))
        assert contrast.pair == ordered_pair(*reversed(contrast.pair))
    # The number itself is part of what is kept on disk: it must never change.
    text = b"chardonnay-chablis|sauvignon-sancerre|bell-pepper+flint"
    expected = int.from_bytes(hashlib.blake2b(text, digest_size=8).digest(), "big") >> 1
    assert contrast_id("chardonnay-chablis", "sauvignon-sancerre", ["flint", "bell-pepper"]) == (
        expected
    )
    assert contrast_id("chardonnay-chablis", "sauvignon-sancerre", ["acid"]) == 6862606424076399886


def test_a_pair_needs_two_wines() -> None:
    with pytest.raises(ValueError, match="two different"):
        ordered_pair("a", "a")


def test_groups_are_small_and_start_with_single_cues(cellar: Cellar, every: list[Contrast]) -> None:
    groups: dict[tuple[str, str], list[Contrast]] = {}
    for contrast in every:
        groups.setdefault(contrast.pair, []).append(contrast)
    assert set(groups) <= set(cellar.pairs())
    for group in groups.values():
        assert len(group) <= GROUP
        sizes = [len(contrast.cues) for contrast in group]
        assert sizes == sorted(sizes)
        singles = [contrast.cues[0] for contrast in group if len(contrast.cues) == 1]
        families = [cellar.table.lexicon.family_of(name) for name in singles]
        assert len(set(families)) == len(families)
        # Diverse: no two of one group ask the same set of cues.
        assert len({contrast.cues for contrast in group}) == len(group)


def test_a_joint_contrast_needs_its_members(cellar: Cellar, every: list[Contrast]) -> None:
    """On some side that can be asked, no smaller set of the cues would have answered."""
    for contrast in every:
        if len(contrast.cues) == 1:
            continue
        a, b = (cellar.picture(wine) for wine in contrast.pair)
        cues = {cue.attribute: cue for cue in cellar.cues(*contrast.pair)}

        def answers(weights: dict[str, float]) -> bool:
            measured = sum(w for name, w in weights.items() if name not in UNMEASURED)
            return sum(weights.values()) >= THRESHOLD and measured >= MEASURED_LEAST

        needed = False
        for side in asked(contrast):
            weights = true_weights(contrast, side, a, b, cues)
            parts = combinations(weights.items(), len(weights) - 1)
            needed |= not any(answers(dict(part)) for part in parts)
        assert needed, contrast


def test_most_pairs_can_be_asked_for_either_wine(every: list[Contrast]) -> None:
    """Else the more marked wine would be the answer too often to be a question."""
    sides: dict[tuple[str, str], int] = {}
    for contrast in every:
        sides[contrast.pair] = sides.get(contrast.pair, 0) | contrast.sides
    both = sum(found == BOTH_SIDES for found in sides.values())
    assert both / len(sides) > 0.95


def test_pairs_begin_with_the_laterals_near_and_often_poured_first(
    table: Table, cellar: Cellar
) -> None:
    pairs = cellar.pairs()
    assert len(set(pairs)) == len(pairs)
    named = {
        ordered_pair(wine, lateral)
        for wine, profile in table.profiles.items()
        for lateral in profile.laterals
    }
    assert set(pairs[: len(named)]) == named
    for part in (pairs[: len(named)], pairs[len(named) :]):
        # Three decibans nearer for every lateral of the two wines.
        places = [
            cellar.separation(*pair) - 3 * sum(len(table.profiles[w].laterals) for w in pair)
            for pair in part
        ]
        assert places == sorted(places)
    near = {
        wine: {w for w, _ in islice(cellar.laterals(wine, cellar.same_style(wine)), NEAREST)}
        for wine in table.profiles
    }
    for one, other in pairs[len(named) :]:
        assert other in near[one] or one in near[other]


def test_pairs_are_interleaved(every: list[Contrast]) -> None:
    """Two contrasts in a row are of one pair only where its companions have run out."""
    adjoining = sum(one.pair == other.pair for one, other in pairwise(every))
    assert adjoining / len(every) < 0.01
    first = [contrast.pair for contrast in every[:5]]
    assert len(set(first)) == 5


def test_laterals_are_sorted_and_leave_the_wine_out(cellar: Cellar) -> None:
    found = cellar.laterals("riesling-mosel")
    assert len(found) == len(cellar.table.profiles) - 1
    assert [gap for _, gap in found] == sorted(gap for _, gap in found)
    assert "riesling-mosel" not in dict(found)
    few = cellar.laterals("riesling-mosel", ["riesling-clare", "riesling-mosel", "port-lbv"])
    assert [wine for wine, _ in few] == ["riesling-clare", "port-lbv"]


# --- stability -----------------------------------------------------------------------------------


def with_profile(table: Table, profile: Profile) -> Cellar:
    return Cellar(replace(table, profiles={**table.profiles, profile.key: profile}))


def test_other_facts_do_not_touch_a_pair(table: Table, cellar: Cellar) -> None:
    changed = replace(
        table.profiles["riesling-mosel"],
        descriptors={"lemon": Typical.SIGNATURE},
        alcohol=Span(11, 12),
    )
    pair = ("chardonnay-chablis", "sauvignon-sancerre")
    assert with_profile(table, changed).contrasts(*pair) == cellar.contrasts(*pair)
    fewer = Cellar(replace(table, profiles={key: table.profiles[key] for key in pair}))
    assert fewer.contrasts(*pair) == cellar.contrasts(*pair)


def test_an_edited_fact_keeps_the_ids_of_the_cues_that_stand(table: Table, cellar: Cellar) -> None:
    pair = ("chardonnay-chablis", "sauvignon-sancerre")
    before = {contrast.cues: contrast.id for contrast in cellar.contrasts(*pair)}
    sancerre = table.profiles["sauvignon-sancerre"]
    edited = replace(
        sancerre,
        alcohol=Span(12.0, 13.1),
        descriptors={**sancerre.descriptors, "lime": Typical.COMMON},
    )
    after = {c.cues: c.id for c in with_profile(table, edited).contrasts(*pair)}
    assert len(before.keys() & after.keys()) >= 2
    assert all(before[cues] == after[cues] for cues in before.keys() & after.keys())


def test_a_fact_turned_round_changes_the_bearing_and_keeps_the_id(table: Table) -> None:
    pair = ("riesling-alsace", "riesling-clare")
    low, high = LevelRange.parse("low"), LevelRange.parse("high")

    def acid(mine: LevelRange, theirs: LevelRange) -> Contrast:
        profiles = {
            key: replace(
                table.profiles[key], structure={**table.profiles[key].structure, "acid": level}
            )
            for key, level in zip(pair, (mine, theirs), strict=True)
        }
        found = Cellar(replace(table, profiles=profiles)).contrasts(*pair)
        return next(contrast for contrast in found if contrast.cues == ("acid",))

    there, back = acid(high, low), acid(low, high)
    assert there.id == back.id
    assert (there.bearing, back.bearing) == ("a", "b")


PRINT_ALL = """
import random
from cards.cellar import Cellar
from cards.explaining import explain
from cards.questions import Form, ask
from cards.tables import load_table
cellar = Cellar(load_table())
print(cellar.table.fingerprint)
every = cellar.all_contrasts()
print(*every, sep="\\n")
rng = random.Random(5)
for contrast in every[::40]:
    question = ask(cellar, contrast, rng, form=rng.choice(list(Form)))
    print(question, explain(cellar, question))
"""


def test_two_processes_with_other_hash_seeds_make_the_same_cards() -> None:
    printed = []
    for seed in ("0", "4711"):
        run = subprocess.run(
            [sys.executable, "-c", PRINT_ALL],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)},
            capture_output=True,
            text=True,
            check=True,
        )
        printed.append(run.stdout)
    assert printed[0].count("Contrast(") > 2000
    assert printed[0] == printed[1]
