"""A full note goes into plain form and back unchanged; what cannot be meant is refused by name."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards.scale import Level
from drills.tastings.notes import FullFlight, FullPour, Note
from tests.tastings.strategies import ANY_FLIGHTS, ANY_TEXTS


@given(ANY_FLIGHTS)
def test_a_flight_comes_back_from_json_as_it_was(flight: FullFlight) -> None:
    there = json.loads(json.dumps(flight.to_plain(), ensure_ascii=False, allow_nan=False))
    back = FullFlight.from_plain(there)
    assert back == flight
    kinds = [[type(value) for value in p.note.readings.values()] for p in flight.pours]
    assert kinds == [[type(value) for value in p.note.readings.values()] for p in back.pours]


def test_the_order_of_noting_is_kept() -> None:
    note = Note({"petrol": True, "acid": Level.HIGH, "lime": False})
    assert list(Note.from_plain(note.to_plain()).readings) == ["petrol", "acid", "lime"]


def test_what_is_empty_is_left_out_and_what_is_nought_is_not() -> None:
    assert FullPour(1).to_plain() == {"position": 1}
    pour = FullPour(1, Note({"alcohol": 0.0, "acid": Level.LOW, "lime": False}), seconds=0.0)
    assert pour.to_plain() == {
        "position": 1,
        "note": {"readings": {"alcohol": 0.0, "acid": "low", "lime": False}},
        "seconds": 0.0,
    }
    assert FullFlight().to_plain() == {}
    assert FullFlight(tasted_on=date(2026, 3, 1)).to_plain() == {"tasted_on": "2026-03-01"}


@pytest.mark.parametrize(
    ("plain", "words"),
    [
        ([], "flight: should be an object"),
        ({"pours": {}}, "pours: should be a list"),
        ({"tasted_on": "yesterday"}, "tasted_on: should be a date"),
        ({"tasted_on": 5}, "tasted_on: should be a date"),
        ({"pours": [{}]}, "pours.1.position: should be a whole number"),
        ({"pours": [{"position": True}]}, "pours.1.position"),
        ({"pours": [{"position": 0}]}, "pours.1.position"),
        ({"pours": [{"position": 1}, 7]}, "pours.2.pour: should be an object"),
        ({"name": None}, "name: should be text"),
    ],
)
def test_a_flight_that_cannot_be_meant_is_refused_by_name(plain: Any, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        FullFlight.from_plain(plain)


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("note", {"readings": {"acid": "enormous"}}, "note.acid: .*is no level"),
        ("note", {"readings": {"acid": 3}}, "note.acid: should be a level"),
        ("note", {"readings": {"acid": True}}, "note.acid: should be a level"),
        ("note", {"readings": {"hue": "blue"}}, "note.hue: should be a hue"),
        ("note", {"readings": {"hue": ["ruby"]}}, "note.hue: should be a hue"),
        ("note", {"readings": {"alcohol": "strong"}}, "note.alcohol: should be a number"),
        ("note", {"readings": {"alcohol": None}}, "note.alcohol: should be a number"),
        ("note", {"readings": {"alcohol": float("nan")}}, "note.alcohol: should lie between"),
        ("note", {"readings": {"alcohol": 10**400}}, "note.alcohol: should lie between"),
        ("note", {"readings": {"petrol": "high"}}, "note.petrol: should be true"),
        ("note", {"readings": {"petrol": 1}}, "note.petrol: should be true"),
        ("note", {"readings": {5: True}}, "note.readings: should be an object"),
        ("note", {"free": "zesty"}, "note.free: should be a list"),
        ("note", {"free": [1]}, "note.free: should be text"),
        ("note", {"typed": {"petrol": 1}}, "note.typed.petrol: should be text"),
        ("note", {"nose": ["petrol"]}, "note.nose: should be text"),
        ("candidates", [{"text": "x"}, {"struck": 1}], "candidates.2.struck: should be text"),
        ("final", {"vintage": "2019"}, "final.vintage: should be a year"),
        ("final", {"vintage": 20190}, "final.vintage: should lie between"),
        ("first", {"sureness": 4}, "first.sureness: should be 1"),
        ("first", {"sureness": True}, "first.sureness: should be 1"),
        ("first", {"sureness": [1]}, "first.sureness: should be 1"),
        ("reveal", {"wine": 5}, "reveal.wine: should be text"),
        ("label_alcohol", -1, "label_alcohol: should lie between"),
        ("seconds", "long", "seconds: should be a number"),
        ("price", 18, "price: should be text"),
    ],
)
def test_a_pour_that_cannot_be_meant_is_refused_by_name(
    field: str, value: object, words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        FullPour.from_plain({"position": 1, field: value})


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | ANY_TEXTS,
    lambda inside: st.lists(inside, max_size=3) | st.dictionaries(ANY_TEXTS, inside, max_size=3),
    max_leaves=8,
)
names = st.sampled_from(
    ["position", "note", "final", "first", "candidates", "reveal", "seconds", "label_alcohol"]
)


@given(st.dictionaries(names, json_values))
def test_any_json_is_a_pour_or_a_value_error(plain: dict[str, Any]) -> None:
    try:
        pour = FullPour.from_plain({"position": 1} | plain)
    except ValueError:
        return
    assert FullPour.from_plain(pour.to_plain()) == pour
