"""The cues that tell two wines apart: the same from either side, by the lexicon's families."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given

from cards.cellar import Cellar
from cards.cues import cues_of_pair, is_scale
from cards.evidence import picture_of
from cards.lexicon import ALCOHOL, DEPTH, HUE, STRUCTURE
from cards.profiles import Profile
from cards.tables import Table
from tests.cards.any_wines import LEXICON, altered


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
