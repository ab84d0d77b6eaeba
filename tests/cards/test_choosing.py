"""Many pairs at once: the very contrasts and pairs that one pair at a time gives."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cards import cellar as cellars
from cards.apart import ROUNDING, separations
from cards.cellar import Cellar
from cards.choosing import Chooser
from cards.contrasts import Contrast, contrasts_of_pair
from cards.evidence import Picture, picture_of, separation
from cards.lexicon import STRUCTURE
from cards.tables import Table
from tests.benchmarks.wines import grown_table
from tests.cards.any_wines import LEXICON, altered


def one_by_one(pictures: list[Picture], pairs: list[tuple[int, int]]) -> list[list[Contrast]]:
    return [contrasts_of_pair(pictures[one], pictures[other]) for one, other in pairs]


def test_any_pairs_of_the_table_have_the_same_contrasts(table: Table, cellar: Cellar) -> None:
    pictures = [cellar.picture(key) for key in sorted(table.profiles)]
    # Every ninth pair: wines near and far, of all styles.
    pairs = list(combinations(range(len(pictures)), 2))[::9]
    assert list(Chooser(pictures).groups(pairs)) == one_by_one(pictures, pairs)


@settings(max_examples=25)
@given(st.tuples(*(altered(key) for key in "abcde")))
def test_any_profiles_have_the_same_contrasts(profiles: tuple) -> None:  # type: ignore[type-arg]
    pictures = [picture_of(profile, LEXICON) for profile in profiles]
    pairs = list(combinations(range(len(pictures)), 2))
    assert list(Chooser(pictures).groups(pairs)) == one_by_one(pictures, pairs)


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
