"""Wines of the shipped table with any of their facts replaced, for properties."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from cards.lexicon import STRUCTURE
from cards.profiles import Profile, Span
from cards.scale import Level, LevelRange, Typical
from cards.tables import load_table

SHIPPED = load_table()
LEXICON = SHIPPED.lexicon

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
