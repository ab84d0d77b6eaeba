"""Random tastings, as far as the program can hold them."""

from __future__ import annotations

from datetime import date

from hypothesis import strategies as st

from cards.evidence import Reading
from cards.lexicon import ALCOHOL, DEPTH, HUE, STRUCTURE
from cards.profiles import CLIMATES, WORLDS
from cards.scale import Level
from drills.tastings.cells import tidy
from drills.tastings.drafts import Named
from drills.tastings.export import KeptPour
from drills.tastings.notes import (
    ALL_HUES,
    LEVEL_ATTRIBUTES,
    Candidate,
    FullFlight,
    FullPour,
    Note,
    Verdict,
)

WINES = ("sauvignon-sancerre", "chardonnay-chablis", "nebbiolo-barolo", "riesling-mosel")
DESCRIPTORS = ("lemon", "petrol", "flint", "passion-fruit", "wet-stone", "of-another-table")

# What separates, quotes, escapes, runs as a formula, or reads as a number or a level.
_ODD = st.sampled_from(
    [
        *(";", ",", "|", "\t", "\n", '"', "'", "\\", "[", "]", "(", ")", "=", "+", "-", "@", "#"),
        *(" ", "  ", "é", "ß", "“", "＝", "0", "1", "13,5", "2019", "high", "no ", "lemon", ">"),
        *("3/5/2025", "=1+1", "'=1+1", "[red]", "n/a", "?", "pour-", "sep=;"),
    ]
)
_LETTERS = st.characters(codec="utf-8").map(tidy)
_PIECES = st.one_of(_ODD, _ODD, _LETTERS)
# A pour has twenty texts: a list of pieces for each would be most of the time of a test.
_HEAPS = st.lists(_PIECES, min_size=1, max_size=6).map("".join)
TEXTS = st.one_of(st.just(""), _ODD, _HEAPS)
WORDS = st.one_of(_ODD, _HEAPS.filter(bool))
KEYS = st.one_of(st.none(), st.sampled_from(WINES))
VINTAGES = st.one_of(st.none(), st.integers(1700, 2199))
SURENESS = st.one_of(st.none(), st.integers(1, 3))
STRENGTHS = st.one_of(
    st.floats(0, 30), st.sampled_from([0.0, 3.0, 0.135, 12.5, 13.123, 1e-7, 5.0, 30.0])
)


@st.composite
def notes(draw: st.DrawFn) -> Note:
    """What was noted: levels, alcohol, a hue, words of the lexicon and others."""
    levels = st.sampled_from(list(Level))
    readings: dict[str, Reading] = {}
    readings.update(draw(st.dictionaries(st.sampled_from([*STRUCTURE, DEPTH]), levels, max_size=5)))
    readings.update(draw(st.dictionaries(st.sampled_from(DESCRIPTORS), st.booleans())))
    if draw(st.booleans()):
        readings[ALCOHOL] = draw(STRENGTHS)
    if draw(st.booleans()):
        readings[HUE] = draw(st.sampled_from(sorted(ALL_HUES)))
    typed = {name: word for name in readings if (word := draw(st.one_of(st.just(""), WORDS))) != ""}
    return Note(
        readings=readings,
        free=tuple(draw(st.lists(WORDS, max_size=3))),
        appearance=draw(TEXTS),
        nose=draw(TEXTS),
        palate=draw(TEXTS),
        world=draw(st.sampled_from(["", *WORLDS])),
        climate=draw(st.sampled_from(["", *CLIMATES])),
        age=draw(TEXTS),
        typed=typed,
    )


@st.composite
def pours(draw: st.DrawFn) -> FullPour:
    """A pour with anything in it."""
    verdicts = st.builds(Verdict, TEXTS, KEYS, VINTAGES, SURENESS)
    return FullPour(
        position=draw(st.integers(1, 2000)),
        note=draw(notes()),
        candidates=tuple(draw(st.lists(st.builds(Candidate, WORDS, KEYS, TEXTS), max_size=3))),
        first=draw(verdicts),
        final=draw(verdicts),
        runner_up=draw(st.builds(Named, TEXTS, KEYS)),
        reveal=draw(st.builds(Named, TEXTS, KEYS)),
        reveal_vintage=draw(VINTAGES),
        label_alcohol=draw(st.one_of(st.none(), STRENGTHS)),
        price=draw(TEXTS),
        seconds=draw(st.one_of(st.none(), st.floats(0, 1e7))),
        remark=draw(TEXTS),
    )


# One number is drawn sixty times faster than sixty-four letters.
FINGERPRINTS = st.integers(0, 2**256 - 1).map("{:064x}".format)
KEPT = st.builds(
    KeptPour,
    TEXTS,
    st.one_of(st.none(), st.dates(date(1000, 1, 1), date(2300, 1, 1))),
    pours(),
    FINGERPRINTS,
)
TASTINGS = st.lists(KEPT, max_size=5, unique_by=lambda kept: kept.fingerprint)

# Any text at all, some of which no file of lists could hold: a draft is kept as JSON.
ANY_TEXTS = st.text(max_size=20)
_KEYS = st.none() | st.sampled_from(["riesling-mosel", "a wine of mine"])
_WORDS = st.sampled_from(["petrol", "lime", "a-word-of-mine"])
_READINGS = st.builds(
    lambda levels, alcohol, hue, words: {**levels, **alcohol, **hue, **words},
    st.dictionaries(st.sampled_from(sorted(LEVEL_ATTRIBUTES)), st.sampled_from(Level)),
    st.dictionaries(st.just("alcohol"), st.floats(0, 30)),
    st.dictionaries(st.just("hue"), st.sampled_from(sorted(ALL_HUES))),
    st.dictionaries(_WORDS, st.booleans()),
)
_NOTES = st.builds(
    Note,
    readings=_READINGS,
    free=st.lists(ANY_TEXTS, max_size=3).map(tuple),
    appearance=ANY_TEXTS,
    nose=ANY_TEXTS,
    palate=ANY_TEXTS,
    world=st.sampled_from(["", "old", "new"]),
    climate=ANY_TEXTS,
    age=ANY_TEXTS,
    typed=st.dictionaries(_WORDS, ANY_TEXTS),
)
_VERDICTS = st.builds(Verdict, ANY_TEXTS, _KEYS, VINTAGES, SURENESS)
_NAMED = st.builds(Named, ANY_TEXTS, _KEYS)
ANY_POURS = st.builds(
    FullPour,
    position=st.integers(1, 999),
    note=_NOTES,
    candidates=st.lists(st.builds(Candidate, ANY_TEXTS, _KEYS, ANY_TEXTS), max_size=3).map(tuple),
    first=_VERDICTS,
    final=_VERDICTS,
    runner_up=_NAMED,
    reveal=_NAMED,
    reveal_vintage=VINTAGES,
    label_alcohol=st.none() | st.floats(0, 30),
    price=ANY_TEXTS,
    seconds=st.none() | st.floats(0, 1e6),
    remark=ANY_TEXTS,
)
ANY_FLIGHTS = st.builds(
    FullFlight,
    ANY_TEXTS,
    st.none() | st.dates(),
    st.lists(ANY_POURS, max_size=3).map(tuple),
)
