"""Levels and ranges of levels."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards.scale import LEVEL_LABELS, Level, LevelRange, Typical

ends = st.tuples(st.sampled_from(Level), st.sampled_from(Level)).map(sorted)


def test_labels_in_order() -> None:
    assert [level.label for level in Level] == ["low", "med-", "med", "med+", "high"]
    assert tuple(level.label for level in sorted(Level)) == LEVEL_LABELS


@given(st.sampled_from(Level), st.sampled_from(["{}", " {} ", "{}\n"]))
def test_a_label_names_its_level(level: Level, around: str) -> None:
    assert Level.from_label(around.format(level.label)) is level
    assert Level.from_label(around.format(level.label.upper())) is level


@given(ends)
def test_a_range_reads_back(pair: list[Level]) -> None:
    span = LevelRange(*pair)
    assert LevelRange.parse(str(span)) == span
    assert list(span) == [level for level in Level if pair[0] <= level <= pair[1]]
    assert all((level in span) == (level in list(span)) for level in Level)
    assert span.middle == sum(list(span)) / len(list(span))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no level"),
        ("medium", "no level"),
        ("med-to high", "no level"),
        ("low to", "no level"),
        ("low to med to high", "no range"),
        ("high to low", "backwards"),
    ],
)
def test_what_is_no_range_says_why(text: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        LevelRange.parse(text)


def test_only_levels_lie_in_a_range() -> None:
    span = LevelRange(Level.LOW, Level.MED)
    assert "med" not in span
    assert None not in span
    assert 3 not in span


def test_how_typical_are_four_words() -> None:
    assert [str(typical) for typical in Typical] == ["signature", "common", "occasional", "never"]
