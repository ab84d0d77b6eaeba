"""Pictures, weights, separation and posterior as properties of any two wines."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards.cellar import Cellar
from cards.evidence import (
    AVERAGE_READER,
    NOTED,
    UNLISTED,
    Gaussian,
    Picture,
    Reader,
    Reading,
    alcohol_likelihood,
    decibans,
    divergence,
    hue_chances,
    level_chances,
    picture_of,
    posterior,
    probability,
    separation,
    weight,
)
from cards.lexicon import ALCOHOL, DEPTH, HUE, HUES, STRUCTURE, Lexicon
from cards.profiles import Profile, Span
from cards.scale import Level, LevelRange, Typical
from cards.tables import Table, load_table

TABLE = load_table()
LEXICON: Lexicon = TABLE.lexicon
BASE: Profile = TABLE.profiles["riesling-alsace"]

ranges = st.tuples(st.sampled_from(Level), st.sampled_from(Level)).map(
    lambda pair: LevelRange(*sorted(pair))
)
readers = st.builds(
    Reader,
    alcohol_sd=st.floats(0.1, 2),
    alcohol_bias=st.floats(-1, 1),
    level_sd=st.floats(0.2, 2),
    blunder=st.floats(0.001, 0.3),
)
hues = st.lists(
    st.sampled_from([hue for group in HUES.values() for hue in group]),
    min_size=1,
    max_size=4,
    unique=True,
)
spans = st.tuples(st.floats(7, 20), st.floats(0, 2)).map(lambda t: Span(t[0], t[0] + t[1]))


@st.composite
def profiles(draw: st.DrawFn, key: str = "any") -> Profile:
    """A profile with any structure, colour, alcohol and descriptors."""
    return replace(
        BASE,
        key=key,
        structure={name: draw(ranges) for name in STRUCTURE},
        depth=draw(ranges),
        hues=tuple(draw(hues)),
        alcohol=draw(spans),
        descriptors=draw(
            st.dictionaries(
                st.sampled_from(sorted(LEXICON.descriptors)), st.sampled_from(Typical), max_size=20
            )
        ),
    )


@st.composite
def notes(draw: st.DrawFn) -> dict[str, Reading]:
    """A whole note: levels, a hue, an alcohol, descriptors found and missed."""
    levels = draw(st.dictionaries(st.sampled_from([*STRUCTURE, DEPTH]), st.integers(0, 4)))
    words = draw(
        st.dictionaries(st.sampled_from(sorted(LEXICON.descriptors)), st.booleans(), max_size=8)
    )
    note: dict[str, Reading] = {**levels, **words}
    if draw(st.booleans()):
        note[ALCOHOL] = draw(st.floats(8, 20))
    if draw(st.booleans()):
        note[HUE] = draw(hues)[0]
    return note


pictures = profiles().map(lambda profile: picture_of(profile, LEXICON))


@given(ranges, readers)
def test_chances_of_levels_add_up_and_fall_away_from_the_range(
    span: LevelRange, reader: Reader
) -> None:
    chances = [level_chances(span, reader).chances[level] for level in Level]
    assert sum(chances) == pytest.approx(1)
    assert all(chance > 0 for chance in chances)
    below, above = chances[: span.low + 1], chances[span.high :]
    assert below == sorted(below)
    assert above == sorted(above, reverse=True)


@given(ranges)
def test_a_reading_in_the_range_is_likelier_than_one_outside(span: LevelRange) -> None:
    chances = level_chances(span).chances
    inside = [chances[level] for level in Level if level in span]
    outside = [chances[level] for level in Level if level not in span]
    assert not outside or min(inside) > max(outside)


@given(ranges)
def test_levels_are_read_alike_from_either_end(span: LevelRange) -> None:
    turned = LevelRange(Level(4 - span.high), Level(4 - span.low))
    there, back = level_chances(span).chances, level_chances(turned).chances
    assert [there[level] for level in Level] == pytest.approx([back[4 - level] for level in Level])


@given(hues, readers)
def test_chances_of_hues_add_up_and_the_usual_hue_leads(hue: list[str], reader: Reader) -> None:
    chances = hue_chances(hue, reader).chances
    assert set(chances) == {name for group in HUES.values() for name in group}
    assert sum(chances.values()) == pytest.approx(1)
    assert all(chance > 0 for chance in chances.values())
    alone = hue_chances(hue[:1], AVERAGE_READER).chances
    assert max(alone, key=lambda name: alone[name]) == hue[0]


def test_alcohol_spreads_by_bottles_and_by_reading() -> None:
    wine = replace(BASE, alcohol=Span(12.0, 14.0))
    sharp = alcohol_likelihood(wine, Reader(alcohol_sd=1e-9))
    # Four bottles in five lie between the ends: 1.2816 standard deviations of a normal.
    central = math.erf((14.0 - sharp.mean) / sharp.sd / math.sqrt(2))
    assert central == pytest.approx(0.8, abs=1e-6)
    read = alcohol_likelihood(wine, Reader(alcohol_sd=0.6, alcohol_bias=0.3))
    assert read.mean == pytest.approx(13.3)
    assert read.sd == pytest.approx(math.sqrt(sharp.sd**2 + 0.36))


def test_no_single_reading_outweighs_all_others(table: Table) -> None:
    """Whoever misreads one number, or one level by four, must not have the rest overruled by it."""
    cellar = Cellar(table)
    wines = [cellar.picture(key) for key in table.profiles]
    port, mosel = cellar.picture("port-vintage"), cellar.picture("riesling-mosel")
    for alcohol in (0.0, 8.5, 13.0, 20.0, 35.0):
        assert max(abs(weight(alcohol, ALCOHOL, one, mosel)) for one in wines) < 30
        assert max(abs(weight(alcohol, ALCOHOL, one, port)) for one in wines) < 30
    for name in (*STRUCTURE, DEPTH):
        for level in Level:
            assert max(abs(weight(int(level), name, one, mosel)) for one in wines) < 30


def test_blunders_mix_a_normal_with_any_number() -> None:
    plain, mixed = Gaussian(13.0, 0.8), Gaussian(13.0, 0.8, 0.05, 20.0)
    for reading in (9.0, 12.0, 13.0, 19.0):
        density = 0.95 * math.exp(plain.log(reading)) + 0.05 / 20
        assert math.exp(mixed.log(reading)) == pytest.approx(density)
    # Near wines differ as without blunders; far ones by no more than one reading can weigh.
    near = Gaussian(13.5, 0.8, 0.05, 20.0)
    assert mixed.divergence(near) == pytest.approx(plain.divergence(Gaussian(13.5, 0.8)))
    far = Gaussian(20.0, 0.8, 0.05, 20.0)
    assert mixed.divergence(far) < plain.divergence(Gaussian(20.0, 0.8)) / 3
    assert mixed.divergence(far) <= mixed.log(13.0) - far.log(13.0)


@given(st.floats(8, 20), st.floats(0.3, 2), st.floats(8, 20), st.floats(0.3, 2))
def test_divergence_with_blunders_is_symmetric_and_not_negative(
    mean: float, sd: float, other_mean: float, other_sd: float
) -> None:
    one = Gaussian(mean, sd, 0.05, 20.0)
    other = Gaussian(other_mean, other_sd, 0.05, 20.0)
    assert one.divergence(other) == pytest.approx(other.divergence(one), abs=1e-9)
    assert one.divergence(other) >= 0
    assert one.divergence(one) == 0


@given(pictures, pictures, notes())
def test_weights_turn_their_sign_with_the_wines(
    a: Picture, b: Picture, note: dict[str, Reading]
) -> None:
    for attribute, reading in note.items():
        there, back = weight(reading, attribute, a, b), weight(reading, attribute, b, a)
        assert there == pytest.approx(-back, abs=1e-9)
        assert weight(reading, attribute, a, a) == 0


def test_a_scale_that_one_wine_is_not_placed_on_weighs_nothing(cellar: Cellar) -> None:
    wine = cellar.picture("riesling-alsace")
    assert weight(3, "tannin", wine, Picture("bare", {})) == 0
    assert weight(True, "no such word", wine, wine) == 0
    assert divergence("tannin", wine, Picture("bare", {})) == 0


@given(pictures, pictures)
def test_separation_is_a_distance_of_sorts(a: Picture, b: Picture) -> None:
    assert separation(a, b) == pytest.approx(separation(b, a), rel=1e-9, abs=1e-9)
    assert separation(a, b) >= 0
    assert separation(a, a) == 0


@given(pictures, pictures, st.sampled_from([*STRUCTURE, DEPTH, HUE]))
def test_divergence_is_the_mean_of_both_expected_weights(
    a: Picture, b: Picture, attribute: str
) -> None:
    expected = 0.0
    for picture, other in ((a, b), (b, a)):
        chances = picture.scales[attribute].chances  # type: ignore[attr-defined]
        expected += sum(
            chance * weight(reading, attribute, picture, other)
            for reading, chance in chances.items()
        )
    assert divergence(attribute, a, b) == pytest.approx(expected / 2, abs=1e-9)


def test_the_divergence_of_a_descriptor_is_the_mean_of_both_expected_weights() -> None:
    a = Picture("a", {}, noted={"pepper": 0.75}, family_of={"pepper": "pepper"})
    b = Picture("b", {}, noted={"pepper": 0.02}, family_of={"pepper": "pepper"})
    found, missed = 10 * math.log10(0.75 / 0.02), 10 * math.log10(0.25 / 0.98)
    expected = (0.75 * found + 0.25 * missed - 0.02 * found - 0.98 * missed) / 2
    assert separation(a, b) == pytest.approx(expected)


def test_descriptors_of_one_family_are_damped_in_a_separation() -> None:
    def wine(key: str, chance: float, words: str, families: str) -> Picture:
        return Picture(
            key,
            {},
            noted=dict.fromkeys(words, chance),
            family_of=dict(zip(words, families, strict=True)),
        )

    one = separation(wine("a", 0.75, "x", "f"), wine("b", 0.06, "x", "f"))
    kin = separation(wine("a", 0.75, "xy", "ff"), wine("b", 0.06, "xy", "ff"))
    strangers = separation(wine("a", 0.75, "xy", "fg"), wine("b", 0.06, "xy", "fg"))
    assert strangers == pytest.approx(2 * one)
    # Two equal words at an intraclass correlation of one half: 2 / (1 + 1/2) of one.
    assert kin == pytest.approx(one * 2 / 1.5)


@given(st.lists(pictures, min_size=1, max_size=5), notes(), st.data())
def test_a_posterior_adds_up_and_does_not_care_for_the_order_of_the_note(
    found: list[Picture], note: dict[str, Reading], data: st.DataObject
) -> None:
    wines = [replace(picture, wine=str(number)) for number, picture in enumerate(found)]
    first = posterior(wines, note)
    assert sum(first.values()) == pytest.approx(1)
    assert list(first.values()) == sorted(first.values(), reverse=True)
    turned = dict(data.draw(st.permutations(list(note.items()))))
    second = posterior(wines, turned)
    assert second == {wine: pytest.approx(chance, rel=1e-6) for wine, chance in first.items()}


def test_the_posterior_of_nothing() -> None:
    wines = [Picture(key, {}) for key in "abc"]
    assert posterior([], {}) == {}
    assert posterior(wines, {}) == pytest.approx(dict.fromkeys("abc", 1 / 3))
    prior = {"a": 0.5, "b": 0.3, "c": 0.2}
    assert posterior(wines, {}, prior=prior) == pytest.approx(prior)


def test_a_posterior_is_damped_within_a_family_only() -> None:
    words = dict.fromkeys(["lemon", "lime"], "citrus") | {"pepper": "pepper"}
    a = Picture("a", {}, noted=dict.fromkeys(words, 0.8), family_of=words)
    b = Picture("b", {}, noted=dict.fromkeys(words, 0.2), family_of=words)
    one = 10 * math.log10(4)

    def toward_a(note: dict[str, Reading], correlation: float) -> float:
        return decibans(posterior([a, b], note, correlation=correlation)["a"])

    assert toward_a({"lemon": True}, 0.5) == pytest.approx(one)
    assert toward_a({"lemon": True, "pepper": True}, 0.5) == pytest.approx(2 * one)
    assert toward_a({"lemon": True, "lime": True}, 0.5) == pytest.approx(2 * one / 1.5)
    assert toward_a({"lemon": True, "lime": True}, 0) == pytest.approx(2 * one)
    assert toward_a({"lemon": True, "lime": True}, 1) == pytest.approx(one)


def test_every_wine_is_the_likeliest_for_its_own_typical_note(table: Table) -> None:
    """The whole table by its own words: every reading typical, every listed descriptor as such."""
    cellar = Cellar(table)
    wines = [cellar.picture(key) for key in table.profiles]
    lost = []
    for wine in wines:
        note: dict[str, Reading] = {name: found[0] for name, found in wine.typical.items()}
        note |= {key: chance > 0.4 for key, chance in wine.noted.items()}
        first = next(iter(posterior(wines, note)))
        if first != wine.wine:
            lost.append((wine.wine, first))
    assert not lost


def test_a_near_word_is_no_evidence_against_a_wine(table: Table) -> None:
    """Who finds lime may write lemon: kin of a family the wine is known for count as occasional."""
    base = replace(BASE, descriptors={"lime": Typical.SIGNATURE, "rose": Typical.OCCASIONAL})
    picture = picture_of(base, table.lexicon)
    assert picture.chance_noted("lime") == NOTED[Typical.SIGNATURE]
    assert picture.chance_noted("lemon") == NOTED[Typical.OCCASIONAL]
    assert picture.chance_noted("violet") == UNLISTED
    assert picture.chance_noted("no such word") == UNLISTED


def test_a_word_called_never_stays_never_beside_its_kin(table: Table) -> None:
    base = replace(BASE, descriptors={"lime": Typical.SIGNATURE, "lemon": Typical.NEVER})
    assert picture_of(base, table.lexicon).chance_noted("lemon") == NOTED[Typical.NEVER]


@given(st.floats(0.0, 1.2), st.sampled_from(sorted(LEXICON.descriptors)))
def test_detection_never_turns_a_cue_round(detection: float, word: str) -> None:
    """A taster who catches a descriptor less often has less evidence from it, not the contrary."""
    reader = Reader(detection={word: detection})
    strong = picture_of(
        replace(BASE, key="a", descriptors={word: Typical.SIGNATURE}), LEXICON, reader
    )
    for other in ({}, {word: Typical.OCCASIONAL}, {word: Typical.NEVER}):
        weak = picture_of(replace(BASE, key="b", descriptors=other), LEXICON, reader)
        assert weight(True, word, strong, weak) >= 0
        assert weight(False, word, strong, weak) <= 0


def test_who_cannot_smell_pepper_has_no_evidence_from_its_absence() -> None:
    reader = Reader(detection={"white-pepper": 0.0})
    profiles_of = TABLE.profiles
    gruner, riesling = (
        picture_of(profiles_of[key], LEXICON, reader)
        for key in ("gruner-wachau", "riesling-alsace")
    )
    for other in TABLE.profiles.values():
        picture = picture_of(other, LEXICON, reader)
        assert abs(weight(False, "white-pepper", gruner, picture)) < 1e-9
    average = [picture_of(profiles_of[w], LEXICON) for w in ("gruner-wachau", "riesling-alsace")]
    assert weight(False, "white-pepper", *average) < -5
    # Another word is read as ever.
    assert weight(True, "petrol", riesling, gruner) == weight(
        True, "petrol", average[1], average[0]
    )


@given(st.floats(-60, 60), st.floats(0.001, 0.999))
def test_decibans_and_probabilities_read_back(weighed: float, prior: float) -> None:
    after = probability(weighed, prior)
    assert 0 < after < 1
    assert decibans(after) - decibans(prior) == pytest.approx(weighed, abs=1e-6)
