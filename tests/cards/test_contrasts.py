"""Contrasts of every pair: strong enough, diverse, honest about the measured, in a sound order."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from itertools import combinations, islice, pairwise

import pytest
from hypothesis import given

from cards.cellar import NEAREST, Cellar
from cards.contrasts import (
    GROUP,
    IDLE,
    MEASURED_LEAST,
    MEASURED_SHARE,
    THRESHOLD,
    Contrast,
    contrast_id,
    contrasts_of_pair,
    ordered_pair,
)
from cards.cues import BOTH_SIDES, SIDE_A, SIDE_B, CueWeight, cues_of_pair
from cards.evidence import Picture, picture_of, probability, weight
from cards.lexicon import ALCOHOL, HUES, UNMEASURED, Lexicon
from cards.profiles import Profile, Span
from cards.scale import LevelRange
from cards.tables import Table
from tests.cards.any_wines import LEXICON, SHIPPED, altered

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
        least = max(MEASURED_LEAST, MEASURED_SHARE * sum(weights.values()))
        assert measured >= least - 1e-9, (contrast, weights)
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
        for key, alcohol, acid in (("a", Span(13, 13), "low"), ("b", Span(9, 17), "low to high"))
    )
    contrast = next(c for c in contrasts_of_pair(one, other) if c.cues == ("acid", "alcohol"))
    assert contrast.sides == SIDE_A
    assert weight(13.0, ALCOHOL, other, one) < -4
    assert_sound(contrast, one, other, LEXICON)


def test_no_cue_of_a_set_is_idle_where_it_is_asked(cellar: Cellar, every: list[Contrast]) -> None:
    """“No liquorice” of a wine that has it at times weighs 1.9 decibans, beside a strong cue."""
    sets = 0
    for contrast in every:
        if len(contrast.cues) > 1:
            weights = {cue.attribute: cue for cue in cellar.cues(*contrast.pair)}
            for side in (SIDE_A, SIDE_B):
                if contrast.sides & side:
                    sets += 1
                    assert min(weights[cue].toward(side) for cue in contrast.cues) >= IDLE
    assert sets > 4000


def test_a_pair_of_the_same_picture_has_no_cues(cellar: Cellar) -> None:
    wine = cellar.picture("riesling-alsace")
    assert cues_of_pair(wine, wine) == []
    assert contrasts_of_pair(wine, replace(wine, wine="twin")) == []


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
            whole = sum(weights.values())
            least = max(MEASURED_LEAST, MEASURED_SHARE * whole)
            return whole >= THRESHOLD and measured >= least

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


def test_no_pair_is_taught_that_its_colour_tells_apart_unless_it_is_named(
    table: Table, cellar: Cellar
) -> None:
    def colours(wine: str) -> set[str]:
        return {name for name, hues in HUES.items() if set(hues) & set(table.profiles[wine].hues)}

    aged = {"amber", "brown", "brick", "tawny"}
    apart = [pair for pair in cellar.pairs() if not colours(pair[0]) & colours(pair[1])]
    # Old tawny Port beside old Madeira: tawny beside amber is no matter of course.
    assert ("madeira-malmsey", "port-tawny-20") in apart
    for one, other in apart:
        assert all(aged & set(table.profiles[wine].hues) for wine in (one, other))
    assert ("lambrusco-grasparossa", "prosecco-brut") not in cellar.pairs()


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
