"""Many pairs at once: the very contrasts and pairs that one pair at a time gives."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cards import cellar as cellars
from cards.apart import ROUNDING, separations
from cards.arrays import CueTable
from cards.cellar import Cellar
from cards.choosing import Chooser, rounded
from cards.contrasts import contrasts_of_pair
from cards.cues import cues_of_pair
from cards.evidence import Picture, picture_of, separation
from cards.lexicon import STRUCTURE
from cards.scale import Typical
from cards.tables import Table
from tests.benchmarks.wines import grown_table
from tests.cards.any_wines import LEXICON, altered
from tests.cards.plain_choice import chosen


def held_against_the_plain_choice(
    pictures: list[Picture], pairs: Sequence[tuple[int, int]]
) -> None:
    """All three ways give the same, ids and strengths to the last digit."""
    plain = [chosen(pictures[one], pictures[other]) for one, other in pairs]
    assert [contrasts_of_pair(pictures[one], pictures[other]) for one, other in pairs] == plain
    by_arrays = list(Chooser(pictures).groups(pairs))
    assert by_arrays == plain
    # Nothing of arrays is left in them: they are written to databases and files.
    assert repr(by_arrays) == repr(plain)


def test_any_pairs_of_the_table_have_the_contrasts_of_the_plain_choice(
    table: Table, cellar: Cellar
) -> None:
    pictures = [cellar.picture(key) for key in sorted(table.profiles)]
    # Every twenty-fifth pair: wines near and far, of all styles.
    held_against_the_plain_choice(pictures, list(combinations(range(len(pictures)), 2))[::25])


@settings(max_examples=25)
@given(st.tuples(*(altered(key) for key in "abcde")))
def test_any_profiles_have_the_contrasts_of_the_plain_choice(
    profiles: tuple,  # type: ignore[type-arg]
) -> None:
    pictures = [picture_of(profile, LEXICON) for profile in profiles]
    held_against_the_plain_choice(pictures, list(combinations(range(len(pictures)), 2)))


@pytest.mark.parametrize("seed", [2, 3])
def test_a_grown_table_has_the_contrasts_of_the_plain_choice(table: Table, seed: int) -> None:
    cellar = Cellar(grown_table(table, 200, seed))
    pictures = [cellar.picture(key) for key in sorted(cellar.table.profiles)]
    held_against_the_plain_choice(pictures, list(combinations(range(len(pictures)), 2))[seed::101])


@given(st.lists(st.one_of(st.floats(0, 60), st.integers(0, 6000).map(lambda n: n / 100 + 0.005))))
def test_strengths_are_rounded_by_their_decimal_value(weights: list[float]) -> None:
    assert rounded(np.array(weights)).tolist() == [round(weight, 2) for weight in weights]


def test_the_weights_of_arrays_are_those_of_the_cues(table: Table, cellar: Cellar) -> None:
    pictures = [cellar.picture(key) for key in sorted(table.profiles)][::5]
    cues = CueTable(pictures)
    columns = np.arange(len(cues.names))
    for (a, one), (b, other) in combinations(enumerate(pictures), 2):
        found = {cue.attribute: cue for cue in cues_of_pair(one, other) if cue.known}
        codes = cues.code(np.array(a), np.array(b), columns)
        told = zip(cues.names, cues.toward_a[codes].tolist(), cues.toward_b[codes].tolist(),
                   cues.more[codes].tolist(), strict=True)  # fmt: skip
        assert {name: each for name, *each in told if any(each[:2])} == {
            name: [cue.toward_a, cue.toward_b, cue.more] for name, cue in found.items()
        }


def test_a_scale_that_a_wine_is_not_placed_on_tells_nothing(cellar: Cellar) -> None:
    whole, other = (cellar.picture(key) for key in ("riesling-mosel", "savagnin-vin-jaune"))
    for missing in (*STRUCTURE, "alcohol"):
        scales = {name: scale for name, scale in whole.scales.items() if name != missing}
        part = Picture(
            whole.wine, scales, whole.typical, whole.noted, kin=whole.kin, family_of=whole.family_of
        )
        (group,) = Chooser([part, other]).groups([(0, 1)])
        assert group == contrasts_of_pair(part, other)
        assert all(missing not in contrast.cues for contrast in group)


def test_wines_out_of_order_are_refused(cellar: Cellar) -> None:
    pictures = [cellar.picture(key) for key in ("savagnin-vin-jaune", "riesling-mosel")]
    with pytest.raises(ValueError, match="sorted"):
        Chooser(pictures)


def test_separations_of_many_are_those_of_each_pair(table: Table, cellar: Cellar) -> None:
    pictures = [cellar.picture(key) for key in sorted(table.profiles)[::3]]
    apart = separations(pictures)
    assert np.allclose(apart, apart.T)
    for (row, one), (column, other) in combinations(enumerate(pictures), 2):
        assert abs(apart[row, column] - separation(one, other)) < ROUNDING / 100


def test_a_table_has_the_same_cards_by_arrays_and_one_by_one(
    table: Table, monkeypatch: pytest.MonkeyPatch
) -> None:
    grown = grown_table(table, 180)
    plain = Cellar(grown)
    pairs, contrasts = plain.pairs(), plain.all_contrasts()
    # As in a table so large that arrays are worth their import.
    monkeypatch.setattr(cellars, "_MANY", cellars.NEAREST)
    monkeypatch.setattr(cellars, "_MANY_PAIRS", 0)
    assert Cellar(grown).pairs() == pairs
    assert Cellar(grown).all_contrasts() == contrasts


def test_words_whose_joined_names_sort_otherwise_have_the_contrasts_of_the_plain_choice(
    table: Table, monkeypatch: pytest.MonkeyPatch
) -> None:
    # "black-plum" sorts before "black-plum (dried)", but "black-plum+oak" behind its fellow.
    odd = "black-plum (dried)"
    lexicon = table.lexicon
    words = {**lexicon.descriptors, odd: replace(lexicon.descriptors["black-plum"], key=odd)}
    profiles = {
        key: replace(
            one,
            descriptors={**one.descriptors, odd: one.descriptors.get("black-plum", Typical.NEVER)},
        )
        for key, one in list(table.profiles.items())[::6]
    }
    grown = replace(table, lexicon=replace(lexicon, descriptors=words), profiles=profiles)
    cellar = Cellar(grown)
    plain = {
        pair: chosen(cellar.picture(pair[0]), cellar.picture(pair[1])) for pair in cellar.pairs()
    }
    monkeypatch.setattr(cellars, "_MANY_PAIRS", 0)
    contrasts = Cellar(grown).all_contrasts()
    assert any(odd in one.cues for one in contrasts)
    for pair, group in plain.items():
        assert [one for one in contrasts if one.pair == pair] == group
