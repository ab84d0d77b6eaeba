"""How a taster reads is found again from what they logged, and nothing is said of luck."""

from __future__ import annotations

import math
import random
from collections import Counter
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cards.cellar import Cellar
from cards.evidence import (
    AVERAGE_READER,
    BLUNDER,
    NOTED,
    Reader,
    level_chances,
    picture_of,
    posterior,
    true_levels,
)
from cards.scale import Level, LevelRange, Typical
from cards.tables import Table
from drills.tastings.reading import (
    LEAST_POURS,
    PersonalReading,
    ReadCount,
    personal_reading,
)
from tests.tastings.tasters import Logged, Taster

PEPPER = ("white-pepper", "black-pepper")


def read(table: Table, logged: Logged) -> PersonalReading:
    return personal_reading(table, logged.readings, logged.noted, logged.alcohol)


def wines_of(table: Table, *styles: str) -> list[str]:
    return sorted(
        key for key, profile in table.profiles.items() if not styles or profile.style in styles
    )


def peppery(table: Table) -> list[str]:
    return [
        key
        for key, profile in sorted(table.profiles.items())
        if any(
            profile.descriptors.get(word) in (Typical.SIGNATURE, Typical.COMMON) for word in PEPPER
        )
    ]


# ---- the reader on the side of the cards


def test_noise_of_ones_own_takes_the_place_of_the_usual_one() -> None:
    low = tuple((0.96, 0.01, 0.01, 0.01, 0.01) for _ in range(5))
    reader = Reader(noise={"acid": low})
    high = LevelRange(Level.HIGH, Level.HIGH)
    assert level_chances(high, reader, "acid").chances[Level.LOW] == pytest.approx(0.96)
    assert level_chances(high, reader, "body") == level_chances(high)


@pytest.mark.parametrize(
    "rows",
    [
        (),
        tuple((0.2,) * 5 for _ in range(4)),
        (*((0.2,) * 5 for _ in range(4)), (0.25,) * 4),
        tuple((0.2, 0.2, 0.2, 0.2, 0.3) for _ in range(5)),
        tuple((0.0, 0.25, 0.25, 0.25, 0.25) for _ in range(5)),
    ],
)
def test_what_is_no_noise_is_refused(rows: Any) -> None:
    with pytest.raises(ValueError, match="the noise of acid"):
        Reader(noise={"acid": rows})


def test_true_levels_are_chances() -> None:
    for low in Level:
        for high in range(low, 5):
            chances = true_levels(LevelRange(low, Level(high)))
            assert sum(chances) == pytest.approx(1)
            assert chances.index(max(chances)) == low


# ---- nothing known


def test_without_a_log_a_taster_reads_as_the_average(table: Table) -> None:
    found = personal_reading(table, [], {})
    assert found == PersonalReading()
    assert found.reader is AVERAGE_READER


def test_wines_that_the_table_has_no_longer_are_left_out(table: Table) -> None:
    gone = [ReadCount("gone", "acid", Level.LOW, 50), ReadCount("gone", "petrol", True, 50)]
    assert personal_reading(table, gone, {"gone": 50}) == PersonalReading()


def test_words_and_cues_of_old_are_passed_over(table: Table) -> None:
    old = [ReadCount("riesling-mosel", "a-word-of-old", True, 5)]
    found = personal_reading(table, old, {"riesling-mosel": 5})
    assert "a-word-of-old" not in {one.descriptor for one in found.caught}


# ---- levels


def test_a_bias_in_one_style_is_found_and_said(table: Table) -> None:
    taster = Taster(bias={("acid", "white"): -0.7})
    logged = taster.log(table, random.Random(3), 250, wines_of(table))
    found = read(table, logged)
    (sentence,) = [words for words in found.sentences if "acid" in words]
    assert sentence.startswith("You call acid ")
    assert " low in whites, " in sentence
    whites = next(one for one in found.levels if (one.attribute, one.style) == ("acid", "white"))
    assert whites.sure
    # Wines at the end of the scale cannot be called lower still, so less than 0.7 is left.
    assert -0.7 <= whites.bias.value <= -0.3
    assert f"{whites.pours} pours" in sentence
    others = [
        one for one in found.levels if one.attribute == "acid" and one.style not in ("white", "")
    ]
    assert not any(one.sure for one in others)


def test_a_bias_in_all_styles_is_one_sentence(table: Table) -> None:
    taster = Taster(bias={"oak": 0.8})
    found = read(table, taster.log(table, random.Random(4), 300, wines_of(table)))
    (sentence,) = [words for words in found.sentences if "oak" in words]
    assert " in " not in sentence.split(",")[0]
    assert "high, 300 pours (90% interval" in sentence


def test_of_a_word_without_a_measured_basis_that_is_said_too(table: Table) -> None:
    taster = Taster(bias={"body": 1.0})
    found = read(table, taster.log(table, random.Random(5), 200, wines_of(table)))
    (sentence,) = [words for words in found.sentences if "body" in words]
    assert sentence.endswith("(a word without a measured basis).")


def test_a_few_pours_say_nothing_yet(table: Table) -> None:
    taster = Taster(bias={"acid": -2.0})
    logged = taster.log(table, random.Random(1), LEAST_POURS - 1, wines_of(table, "white"))
    assert not [words for words in read(table, logged).sentences if "acid" in words]


def test_many_pours_of_two_wines_say_nothing_of_the_taster(table: Table) -> None:
    """It may be the two profiles that are wrong."""
    taster = Taster(bias={"acid": -2.0})
    logged = taster.log(table, random.Random(1), 60, wines_of(table, "white")[:2])
    assert not [words for words in read(table, logged).sentences if "acid" in words]


@pytest.mark.parametrize("pours", [30, 100, 400])
def test_of_average_tasters_hardly_anything_is_said(table: Table, pours: int) -> None:
    """About 70 estimates are looked at for each taster; luck moves one of them in one of six."""
    rng = random.Random(pours)
    spoken = [
        words
        for _ in range(40)
        for words in read(table, Taster().log(table, rng, pours, wines_of(table))).sentences
    ]
    assert len(spoken) <= 12, spoken


def test_intervals_hold_the_truth_as_often_as_they_say(table: Table) -> None:
    rng = random.Random(8)
    held = total = 0
    for _ in range(60):
        found = read(table, Taster().log(table, rng, 60, wines_of(table)))
        for one in found.levels:
            if not one.style:
                held += one.bias.low <= 0 <= one.bias.high
                total += 1
    # 600 intervals of 90%; the prior pulls towards nought, so a little more than that.
    assert 0.88 <= held / total <= 0.97


def test_the_noise_that_is_found_predicts_a_biased_taster_better_than_the_average_does(
    table: Table,
) -> None:
    taster = Taster(bias={"acid": -0.8, "oak": 0.8})
    rng = random.Random(6)
    reader = read(table, taster.log(table, rng, 200, wines_of(table))).reader
    later = taster.log(table, rng, 400, wines_of(table))

    def surprise(who: Reader, attribute: str) -> float:
        return sum(
            -one.times
            * level_chances(table.profiles[one.wine].structure[attribute], who, attribute).log(
                one.reading
            )
            for one in later.readings
            if one.attribute == attribute
        )

    for attribute in ("acid", "oak"):
        assert surprise(reader, attribute) < 0.9 * surprise(AVERAGE_READER, attribute)
    for attribute in ("bitterness", "finish"):
        assert surprise(reader, attribute) < 1.03 * surprise(AVERAGE_READER, attribute)


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_however_much_is_logged_one_reading_never_outweighs_all_others(
    table: Table, data: Any
) -> None:
    wines = st.sampled_from(wines_of(table))
    counts = data.draw(
        st.lists(
            st.builds(
                ReadCount,
                wines,
                st.sampled_from(["acid", "tannin", "depth"]),
                st.sampled_from(Level),
                st.integers(1, 5000),
            ),
            min_size=1,
            max_size=12,
        )
    )
    reader = personal_reading(table, counts, {}).reader
    for rows in reader.noise.values():
        for row in rows:
            assert sum(row) == pytest.approx(1)
            assert min(row) >= BLUNDER / 5 / 1.05


# ---- alcohol


def test_a_bias_of_alcohol_is_found_and_said(table: Table) -> None:
    taster = Taster(alcohol=(0.8, 0.5))
    found = read(table, taster.log(table, random.Random(2), 60, wines_of(table)))
    assert found.alcohol is not None
    assert found.alcohol.labels == 60
    assert found.alcohol.bias.low <= 0.8 <= found.alcohol.bias.high
    assert found.reader.alcohol_bias == found.alcohol.bias.value
    assert 0.4 < found.reader.alcohol_sd < 0.7
    assert any(
        words.startswith("You call alcohol 0.") and "% vol high, 60 labels" in words
        for words in found.sentences
    )


def test_alcohol_that_is_called_right_is_not_spoken_of(table: Table) -> None:
    calls = [(13.0, 13.0, 20), (13.5, 13.0, 10), (12.5, 13.0, 10)]
    found = personal_reading(table, [], {}, calls)
    assert found.alcohol is not None
    assert found.alcohol.bias.value == pytest.approx(0)
    assert found.sentences == ()


# ---- descriptors


def test_a_smell_that_is_never_noted_is_named_with_base_rate_and_source(table: Table) -> None:
    taster = Taster(detection=dict.fromkeys(PEPPER, 0.0))
    wines = [*peppery(table), *wines_of(table, "white")]
    found = read(table, taster.log(table, random.Random(7), 120, wines))
    (one,) = found.not_smelt
    assert one.noted == 0
    assert one.probability > 0.95
    sentence = found.sentences[0]
    assert sentence.startswith("You may not be able to smell rotundone")
    assert "about one person in four to five cannot" in sentence
    assert "Nutrients (2020) 12, 2522" in sentence
    assert f"0 of {one.pours} pours" in sentence
    # Then its absence says next to nothing of the wine.
    assert max(found.reader.detection[word] for word in PEPPER) < 0.05
    syrah = picture_of(table.profiles["syrah-northern-rhone"], table.lexicon, found.reader)
    malbec = picture_of(table.profiles["malbec-mendoza"], table.lexicon, found.reader)
    chances = posterior([syrah, malbec], {"black-pepper": False})
    assert chances["syrah-northern-rhone"] == pytest.approx(0.5, abs=0.02)


def test_the_pepper_of_a_few_pours_is_no_evidence(table: Table) -> None:
    taster = Taster(detection=dict.fromkeys(PEPPER, 0.0))
    found = read(table, taster.log(table, random.Random(7), 6, peppery(table)))
    assert found.not_smelt == ()
    assert not any("rotundone" in words for words in found.sentences)


def test_who_writes_few_words_is_not_told_that_they_cannot_smell(table: Table) -> None:
    quiet = Taster(readiness=0.12)
    rng = random.Random(9)
    logs = [quiet.log(table, rng, 150, wines_of(table)) for _ in range(20)]
    assert sum(bool(read(table, logged).not_smelt) for logged in logs) <= 1


def test_perceivers_are_seldom_told_otherwise(table: Table) -> None:
    rng = random.Random(10)
    wines = [*peppery(table), *wines_of(table, "white")]
    logs = [Taster().log(table, rng, 100, wines) for _ in range(60)]
    assert sum(bool(read(table, logged).not_smelt) for logged in logs) <= 3


def test_another_smell_that_is_missed_is_named_without_a_base_rate(table: Table) -> None:
    taster = Taster(readiness=0.8, detection={"vanilla": 0.0})
    found = read(table, taster.log(table, random.Random(11), 300, wines_of(table)))
    (one,) = [words for words in found.sentences if "vanilla" in words]
    assert one.startswith("You seldom note vanilla: 0 of ")
    assert "person" not in one


def test_detection_is_relative_to_how_much_a_taster_writes(table: Table) -> None:
    rng = random.Random(12)
    factors = [
        read(table, Taster(readiness=ready).log(table, rng, 400, wines_of(table))).reader.detection
        for ready in (0.2, 0.8)
    ]
    for found in factors:
        usual = sum(found.values()) / len(found)
        assert usual == pytest.approx(1, abs=0.1)


def test_a_look_that_found_nothing_counts_for_more_than_silence(table: Table) -> None:
    signature = NOTED[Typical.SIGNATURE]
    wine = next(
        key
        for key, profile in sorted(table.profiles.items())
        if profile.descriptors.get("petrol") is Typical.SIGNATURE
    )
    silent = personal_reading(table, [], {wine: 10})
    looked = personal_reading(table, [ReadCount(wine, "petrol", False, 10)], {wine: 10})
    a, b = ({one.descriptor: one for one in found.caught}["petrol"] for found in (silent, looked))
    assert b.expected == pytest.approx(10 * signature)
    assert a.expected < b.expected
    assert b.factor.value < a.factor.value


# ---- used on notes


def test_weights_by_ones_own_reading_rank_the_truth_better(table: Table, cellar: Cellar) -> None:
    """The mean log probability of the truth, on notes that the estimate has not seen."""
    taster = Taster(
        bias={"acid": -0.8, "oak": 0.8, "intensity": -0.8},
        detection={**dict.fromkeys(PEPPER, 0.0)},
        readiness=0.8,
    )
    wines = [*peppery(table), *wines_of(table, "white")]
    rng = random.Random(13)
    reader = read(table, taster.log(table, rng, 150, wines)).reader
    mine = Cellar(table, reader)
    gains: list[float] = []
    for _ in range(120):
        logged = taster.log(table, rng, 1, wines)
        note = {one.attribute: one.reading for one in logged.readings}
        (wine,) = Counter(logged.noted)
        with_own, with_usual = (
            math.log(posterior([which.picture(key) for key in wines], note)[wine])
            for which in (mine, cellar)
        )
        gains.append(with_own - with_usual)
    assert sum(gains) / len(gains) > 0.05


def test_contrasts_are_made_of_the_average_pictures(table: Table, cellar: Cellar) -> None:
    """A reader of one's own changes no contrast that the desk keeps."""
    assert cellar.reader is AVERAGE_READER
    assert Cellar(table).reader is AVERAGE_READER
